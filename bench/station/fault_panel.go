package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/interlock"
)

// panelFaults are what people do by hand at the antenna, and contacts that they open.
func panelFaults() []faultKind {
	return []faultKind{
		panelFault("emergency_stop_pressed", "the emergency stop is pressed, both channels",
			func(p *interlock.PanelFaults, e fault.Edge) {
				p.EmergencyStop = [2]bool{e.Began, e.Began}
			}),
		panelFault("emergency_stop_one_channel",
			"one contact of the emergency stop opens and the other does not",
			func(p *interlock.PanelFaults, e fault.Edge) {
				p.EmergencyStop[e.Target().Channel] = e.Began
			}).on(onChannel()),
		panelFault("hatch_opened", "the hatch is opened",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Hatch = e.Began }),
		panelFault("ladder_opened", "the ladder is let down or its gate opened",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Ladder = e.Began }),
		panelFault("pin_inserted", "the contact of a stow pin says that the pin is not withdrawn",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Pin[e.Target().Axis] = e.Began }).
			on(onMainAxis()).need(aStowPin),
		{
			Kind: fault.Kind{Name: "stow_pin_in", Place: fault.PlacePhysics, On: onMainAxis(),
				Does: "the stow pin is driven in, which opens its contact, and drawn out at the " +
					"end; it goes into its hole at standstill only"},
			needs: aStowPin,
			act: func(s *Station, e fault.Edge) {
				axis := e.Target().Axis
				s.in.Pin[axis], s.Interlock.Faults.Panel.Pin[axis] = e.Began, e.Began
			},
		},
		panelFault("isolator_opened", "the local isolator of the axis is opened",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Isolator[e.Target().Axis] = e.Began }).
			on(onAxis()).need(anIsolator),
		panelFault("mode_turned", "the mode selector is turned and turned back at the end",
			func(p *interlock.PanelFaults, e fault.Edge) {
				p.ModeTurned = e.Began
				p.Mode = either(e.Began, interlock.Mode(e.Value("mode")), interlock.Remote)
			}).with(fault.Parameter{Name: "mode", Does: "to where",
			Choices: interlock.ModeNames[:], Example: "local"}),
		panelFault("enabling_released", "the enabling device is released or fully pressed",
			func(p *interlock.PanelFaults, e fault.Edge) { p.EnablingReleased = e.Began }).
			need(anEnablingDevice),
		panelFault("override_key_left_on", "the override key of the final limits stays turned",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Override = e.Began }).
			need(anOverrideKey),
		panelFault("reset_button_stuck", "the reset button stays down",
			func(p *interlock.PanelFaults, e fault.Edge) { p.Reset = e.Began }),
	}
}

// panelFault is one of the station's panel until more is said.
func panelFault(
	name, does string, act func(p *interlock.PanelFaults, e fault.Edge),
) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlacePhysics, On: onStation(), Does: does},
		act:  func(s *Station, e fault.Edge) { act(&s.Interlock.Faults.Panel, e) },
	}
}

func aStowPin(p *Parameters, f fault.Fault) error { return p.needStowPin(f.Target().Axis) }

func (p *Parameters) needStowPin(axis int) error {
	if p.Plant.Axes[axis].Pin.Shear == 0 {
		return p.lacks("stow pin on " + plant.AxisNames[axis])
	}
	return nil
}

func anIsolator(p *Parameters, f fault.Fault) error { return p.needIsolator(f.Target().Axis) }

// needIsolator wants the isolator of an axis: wired, or reported by the interlock unit. One
// that is there and not wired can be opened, and whether torque goes is what is asked then.
func (p *Parameters) needIsolator(axis int) error {
	name := plant.AxisNames[axis]
	if p.Wiring.Isolator[axis] || p.selectsBy(ContactIsolator, plant.Axis(axis)) ||
		p.needReport(Device{Role: RoleInterlock}, "isolator_"+name) == nil {
		return nil
	}
	return p.lacks("isolator on " + name)
}

// selectsBy reports whether a contact selects a safe function of an axis.
func (p *Parameters) selectsBy(c Contact, axis plant.Axis) bool {
	for _, one := range p.Wiring.Safe {
		if one.Contact == c && one.Axis == axis {
			return true
		}
	}
	return false
}

func anEnablingDevice(p *Parameters, _ fault.Fault) error {
	if !p.Interlock.EnablingDevice {
		return p.lacks("enabling device")
	}
	return nil
}

// anOverrideKey is one that has something to override.
func anOverrideKey(p *Parameters, _ fault.Fault) error {
	for axis := range plant.Axis(plant.AxisCount) {
		if p.Wiring.FinalLimit[axis] || p.selectsBy(ContactOverride, axis) {
			return nil
		}
	}
	return p.lacks("final limit for its override key")
}
