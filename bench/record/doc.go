// Package record holds what was observed of one run of one scenario, and nothing
// of what it means: samples at 100 Hz, the least and the greatest value of every
// interval between samples, every discrete edge with the plant step at which it
// came, marks (cause, fault, command, step, release, report) and the measurements
// that the scenario asked for.
//
// A Recorder is fed by the station and writes the raw form as it goes; Read gets
// back what a killed run left. A Record is the finished thing, by columns, with a
// hash over its canonical bytes: same build, seed and fixtures, same hash.
//
// All values are SI (rad, rad/s, N m); instants count from the world's start.
package record
