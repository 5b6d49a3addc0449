// Package fault is the form of what can be broken on the bench.
//
// It owns how a kind of fault is declared: its name, what it does, where it acts (physics,
// device or wire), what it can be done to, its parameters with dimension, unit, range and
// default; how a catalogue of kinds turns words into a Fault; and the plan of when each fault
// begins and ends. Ending one waits for nobody.
//
// The kinds themselves are at home in package station, each with its effect and with what a
// station must have for it. No lower package learns a fault's name.
package fault
