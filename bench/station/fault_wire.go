package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/quantity"
)

// Directions of traffic, as the parameter of that name has them.
const (
	bothWays = iota
	toDevice
	toController
)

// direction is which messages a fault is about.
func direction(standard string) fault.Parameter {
	return fault.Parameter{Name: "direction", Does: "which messages",
		Choices: []string{"both", "to_device", "to_controller"}, Default: standard}
}

func includes(e fault.Edge, one float64) bool {
	d := e.Value("direction")
	return d == bothWays || d == one
}

// wireFaults are of a device's connections. Devices behind one address share its cable and
// its connections, but fall silent each by itself. A station that is not served has no
// wire yet, and nothing happens to it.
func wireFaults() []faultKind {
	jitter := fault.Parameter{Name: "jitter", Does: "added too, evenly from zero to this",
		Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h", Idle: "0 s"}
	by := jitter
	by.Name, by.Does, by.Default, by.Example = "by", "time added to each message", "", "50 ms"
	reset := wireFault("reset", "every connection of the device is broken", nil)
	reset.Event, reset.act = true, func(s *Station, e fault.Edge) {
		if f := s.targetFront(e); f != nil && e.Began {
			f.listener.Impairments().Reset()
		}
	}
	halfOpen := wireFault("half_open",
		"connections that stand go dead without an error at either end; new ones are sound", nil)
	halfOpen.act, halfOpen.adds = leaveHalfOpen, true
	return []faultKind{
		silent("encoder_silent", "the encoder no longer answers", onAxis(),
			func(t fault.Target) Device { return Device{RoleEncoder, t.Axis} }),
		silent("drive_silent", "the drive no longer answers and no longer hears", onMotor(),
			func(t fault.Target) Device { return Device{RoleDrive, t.Motor} }),
		silent("interlock_silent", "the interlock unit no longer answers and no longer hears",
			onInterlock(), func(fault.Target) Device { return Device{Role: RoleInterlock} }),
		{
			Kind: fault.Kind{Name: "silence", Place: fault.PlaceWire, On: onDevice(),
				Does:       "the device's messages are lost",
				Parameters: []fault.Parameter{direction("both")}},
			act: func(s *Station, e fault.Edge) {
				d, _ := deviceOf(e.Target())
				s.silence(d, includes(e, toDevice), includes(e, toController), e.Began)
			},
		},
		wayFault("delay", "the device's messages come late",
			func(way *link.Impairment, e fault.Edge) {
				way.Delay = either(e.Began, e.Span("by"), 0)
				way.Jitter = either(e.Began, e.Span("jitter"), 0)
			}).with(by, jitter, direction("both")),
		wireFault("refuse", "new connections are refused",
			func(c *link.Conditions, e fault.Edge) { c.Refuse = e.Began }),
		reset,
		wireFault("pulled_cable", "the device's cable is out of its socket",
			func(c *link.Conditions, e fault.Edge) { c.Pulled = e.Began }),
		wayFault("slow_bytes", "messages come byte by byte",
			func(way *link.Impairment, e fault.Edge) {
				way.ByteInterval = either(e.Began, e.Span("every"), 0)
			}).with(fault.Parameter{Name: "every", Does: "time between two bytes",
			Dimension: quantity.DimSpan, Default: "2 ms", Lowest: "0 s", Highest: "1 h",
			Idle: "0 s"},
			direction("to_controller")),
		halfOpen,
	}
}

// messageFaults happen to messages one by one, each with a probability.
func messageFaults() []faultKind {
	return []faultKind{
		messageFault("messages_lost", "messages are lost",
			func(way *link.Impairment) *float64 { return &way.DropProbability }),
		messageFault("messages_repeated", "messages come twice",
			func(way *link.Impairment) *float64 { return &way.RepeatProbability }),
		messageFault("messages_truncated", "messages lose their end",
			func(way *link.Impairment) *float64 { return &way.TruncateProbability }),
		messageFault("messages_corrupted", "messages have one bit turned over",
			func(way *link.Impairment) *float64 { return &way.CorruptProbability }),
		messageFault("messages_merged",
			"messages wait for the next and come in one piece with it",
			func(way *link.Impairment) *float64 { return &way.MergeProbability }),
		messageFault("answers_late", "messages wait for the next and come just before it: "+
			"whoever takes one for the answer to the last request stays behind for ever",
			func(way *link.Impairment) *float64 { return &way.LateProbability }),
		// Lines of NMEA have neither transactions nor units.
		messageFault("transactions_swapped",
			"two messages in turn carry each other's transaction identifier",
			func(way *link.Impairment) *float64 { return &way.SwapProbability }).on(onPolled()),
		messageFault("transaction_repeated",
			"messages carry the transaction identifier of the one before",
			func(way *link.Impairment) *float64 { return &way.SameTransactionProbability }).
			on(onPolled()),
		messageFault("wrong_unit", "messages carry a unit identifier that is one too high",
			func(way *link.Impairment) *float64 { return &way.WrongUnitProbability }).
			on(onPolled()),
	}
}

// wireFault changes the conditions of a device's address.
func wireFault(name, does string, set func(*link.Conditions, fault.Edge)) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlaceWire, On: onDevice(), Does: does},
		act: func(s *Station, e fault.Edge) {
			s.change(s.targetFront(e), func(c *link.Conditions) { set(c, e) })
		},
	}
}

// wayFault changes one direction of a device's address, or both.
func wayFault(name, does string, set func(*link.Impairment, fault.Edge)) faultKind {
	return wireFault(name, does, func(c *link.Conditions, e fault.Edge) {
		if includes(e, toDevice) {
			set(&c.ToDevice, e)
		}
		if includes(e, toController) {
			set(&c.ToController, e)
		}
	})
}

func messageFault(name, does string, of func(*link.Impairment) *float64) faultKind {
	return wayFault(name, does, func(way *link.Impairment, e fault.Edge) {
		*of(way) = either(e.Began, e.Value("probability"), 0)
	}).with(fault.Parameter{Name: "probability", Does: "of it for each message",
		Dimension: quantity.DimRatio, Default: "100 %", Lowest: "0 %", Highest: "100 %", Idle: "0 %"},
		direction("to_controller"))
}

// silent is a device that neither answers nor hears.
func silent(name, does string, on fault.On, device func(fault.Target) Device) faultKind {
	return faultKind{
		Kind:  fault.Kind{Name: name, Place: fault.PlaceWire, On: on, Does: does},
		needs: func(p *Parameters, f fault.Fault) error { return p.needSeat(device(f.Target())) },
		act: func(s *Station, e fault.Edge) {
			s.silence(device(e.Target()), true, true, e.Began)
		},
	}
}

// targetFront is the address of the device that a fault is done to.
func (s *Station) targetFront(e fault.Edge) *front {
	d, _ := deviceOf(e.Target())
	return s.front(d)
}

func (s *Station) change(f *front, edit func(*link.Conditions)) {
	if f != nil {
		f.listener.Impairments().Change(edit)
	}
}

// silence switches the silence of a device on or off, in each direction that is meant.
func (s *Station) silence(d Device, toDevice, toController, on bool) {
	f := s.front(d)
	if f == nil {
		return
	}
	if f.units > 1 {
		unit := s.set.Seat(d.Role, d.Index).Unit
		if toDevice {
			f.deaf[unit] = on
		}
		if toController {
			f.dumb[unit] = on
		}
		return
	}
	s.change(f, func(c *link.Conditions) {
		if toDevice {
			c.ToDevice.Silent = on
		}
		if toController {
			c.ToController.Silent = on
		}
	})
}

// leaveHalfOpen counts the faults that want it: switched on again, it would catch the
// connections made since.
func leaveHalfOpen(s *Station, e fault.Edge) {
	if f := s.targetFront(e); f != nil {
		f.halfOpen += either(e.Began, 1, -1)
		s.change(f, func(c *link.Conditions) { c.HalfOpen = f.halfOpen > 0 })
	}
}
