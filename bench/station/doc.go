// Package station assembles one simulated station: the plant, the devices that
// watch and drive it, the interlock wiring between them, and the agenda that
// stands inside the passing of time.
//
// The station exists only at multiples of the plant step. Whoever touches it
// first advances it to now; within a step the order is fixed: agenda and faults,
// switches, the devices place by place (interlock, encoders, drives), the watch over
// edges and extremes, plant. Looking at a station never changes its motion, and neither
// does recording it.
//
// What kinds of devices there are stands in one list, device.go.
//
// The package owns order, wiring and the catalogue of faults (fault*.go), one file for a
// family: mechanics stand in plant, behaviour in the device packages.
package station
