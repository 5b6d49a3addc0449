package station

import (
	"haltmark/bench/link"
	"haltmark/emulators/modbus"
)

// front is one address with the devices behind it.
type front struct {
	server     *modbus.Server
	listener   link.Listener
	units      int
	halfOpen   int       // faults that stand and want it
	deaf, dumb [256]bool // by unit: hears nothing; is not heard
}

// Respond is the server's, but for units that are silent.
func (f *front) Respond(dst, request []byte) []byte {
	if f.units < 2 || len(request) < modbus.HeaderSize {
		return f.server.Respond(dst, request)
	}
	unit := request[modbus.HeaderSize-1]
	if f.deaf[unit] {
		return dst
	}
	start := len(dst)
	dst = f.server.Respond(dst, request)
	if f.dumb[unit] {
		return dst[:start]
	}
	return dst
}
