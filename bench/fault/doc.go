// Package fault is the one catalogue of what can be broken on the bench.
//
// It owns the faults' names, what each does, where it acts (physics, device or
// wire), what it can be done to, its parameters with dimension, unit, range and
// default, and the plan of when each begins and ends. New turns words into a
// Fault whose Effect is a plain struct; Plan says at each plant step which ones
// began and ended. A plan is loaded before any port opens and is always complete
// at the step it acts in; ending a fault waits for nobody.
//
// What an effect means to the fields of plant, device and link stands in package
// station as an explicit list. No lower package knows a fault's name.
package fault
