package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/emulators/modbus"
)

// impair maps what happens on the wire; false for any other effect. A station
// that is not served has no wire, and nothing happens to it. Devices behind one
// address share its cable and its connections, but fall silent each by itself.
func (s *Station) impair(effect fault.Effect, on bool) bool {
	switch e := effect.(type) {
	case fault.Silence:
		s.silence(e, on)
	case fault.Delay:
		s.eachWay(e.Device, e.Direction, func(way *link.Impairment) { delay(way, e, on) })
	case fault.Refuse:
		s.change(e.Device, func(c *link.Conditions) { c.Refuse = on })
	case fault.PulledCable:
		s.change(e.Device, func(c *link.Conditions) { c.Pulled = on })
	case fault.Reset:
		if f := s.front(targeted(e.Device)); f != nil && on {
			f.listener.Impairments().Reset()
		}
	default:
		return false
	}
	return true
}

func (s *Station) change(d fault.Device, edit func(*link.Conditions)) {
	if f := s.front(targeted(d)); f != nil {
		f.listener.Impairments().Change(edit)
	}
}

func delay(way *link.Impairment, e fault.Delay, on bool) {
	way.Delay, way.Jitter = either(on, e.By, 0), either(on, e.Jitter, 0)
}

func (s *Station) silence(e fault.Silence, on bool) {
	f := s.front(targeted(e.Device))
	if f == nil {
		return
	}
	toDevice := e.Direction.Includes(fault.ToDevice)
	toController := e.Direction.Includes(fault.ToController)
	if f.units > 1 {
		d := targeted(e.Device)
		unit := s.set.Seat(d.Role, d.Index).Unit
		if toDevice {
			f.deaf[unit] = on
		}
		if toController {
			f.dumb[unit] = on
		}
		return
	}
	f.listener.Impairments().Change(func(c *link.Conditions) {
		if toDevice {
			c.ToDevice.Silent = on
		}
		if toController {
			c.ToController.Silent = on
		}
	})
}

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
