// Package interlock is the interlock input/output unit of a station and the
// safety relay inside it.
//
// It owns what a person at the antenna can touch (Panel), what the field wiring
// tells it (Input), the two-channel relay with its instant and its delayed
// contact, the watchdog that opens the stop chain when the controller falls
// silent, and the outputs that the relay's delayed contact feeds. On the wire it
// is a device of named bits, see Quantities. It knows no register addresses, no
// sockets and no mechanics: Step takes the instant and the inputs, always in
// multiples of the plant step.
//
// A final limit does not pass through here: it acts on its own axis without
// relay or network. The unit only reports it, and says whether the override key
// bypasses it.
package interlock
