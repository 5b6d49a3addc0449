// Package registers maps the quantities of a device to Modbus addresses, as
// data, for both ends of the wire.
//
// A Map says for each quantity where it lies (space, address, bit), how it is
// coded (type, word order) and what it measures (scale, offset, sign, side of
// the gear). Bind puts a map over a Device and gives the Bank that a
// modbus.Server serves; NewClient plans the fewest requests that read and write
// chosen quantities. Several devices behind one address are several units of
// one server. Inside, values are SI, or the device's own integers, as float64.
//
// The package owns these rules. An address without a point is refused with
// exception 02, or reads as zero between the first and the last point where
// the map says so. A write is refused with exception 02 if it touches a
// read-only point or only some words of a point (bench rules). Values that a
// type cannot hold saturate, and what is not a number is sent as zero.
package registers
