// Package channel names what a record holds: samples and levels of an axis, of one
// of its ends, of a motor, of a device. Who writes a channel and who reads it take its
// name from here; nobody takes one apart.
package channel
