package fault

import (
	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// people is what is done by hand, at the panel and elsewhere.
func people() []Kind {
	station := func(name, does string, e Effect) Kind {
		return Kind{Name: name, Place: PlacePhysics, On: OnStation, Does: does,
			effect: func(target, []float64) Effect { return e }}
	}
	return []Kind{
		station("emergency_stop_pressed", "the emergency stop is pressed, both channels",
			EmergencyStopPressed{[2]bool{true, true}}),
		{Name: "emergency_stop_one_channel", Place: PlacePhysics, On: OnChannel,
			Does: "one contact of the emergency stop opens and the other does not",
			effect: func(t target, _ []float64) Effect {
				var e EmergencyStopPressed
				e.Channel[t.channel] = true
				return e
			}},
		station("hatch_opened", "the hatch is opened", HatchOpened{}),
		station("ladder_opened", "the ladder is let down or its gate opened", LadderOpened{}),
		{Name: "pin_inserted", Place: PlacePhysics, On: OnMainAxis,
			Does:   "the contact of a stow pin says that the pin is not withdrawn",
			effect: func(t target, _ []float64) Effect { return PinInserted{t.axis} }},
		{Name: "stow_pin_in", Place: PlacePhysics, On: OnMainAxis,
			Does: "the stow pin is driven in, which opens its contact, and drawn out at the end; " +
				"it goes into its hole at standstill only",
			effect: func(t target, _ []float64) Effect { return StowPinIn{t.axis} }},
		{Name: "isolator_opened", Place: PlacePhysics, On: OnAxis,
			Does:   "the local isolator of the axis is opened",
			effect: func(t target, _ []float64) Effect { return IsolatorOpened{t.axis} }},
		{Name: "mode_turned", Place: PlacePhysics, On: OnStation,
			Does: "the mode selector is turned and turned back at the end",
			Parameters: []Parameter{{Name: "mode", Does: "to where",
				Choices: []string{"remote", "local", "maintenance"}, Example: "local"}},
			effect: func(_ target, v []float64) Effect {
				return ModeTurned{interlock.Mode(v[0])}
			}},
		station("enabling_released", "the enabling device is let go or squeezed through",
			EnablingReleased{}),
		station("override_key_left_on", "the override key of the final limits stays turned",
			OverrideLeft{}),
		station("reset_button_stuck", "the reset button stays down", ResetHeld{}),
	}
}

// swaps are limit switches wired to the wrong ends.
func swaps() []Kind {
	one := func(name, does string, s Switch) Kind {
		return Kind{Name: name, Place: PlacePhysics, On: OnMainAxis, Does: does,
			effect: func(t target, _ []float64) Effect { return SwitchesSwapped{t.axis, s} }}
	}
	return []Kind{
		one("pre_limits_swapped", "the pre-limit switches of both ends are exchanged", PreLimit),
		one("final_limits_swapped", "the final-limit switches of both ends are exchanged",
			FinalLimit),
	}
}

func stuckBrakes() []Kind {
	one := func(name, does string, open bool) Kind {
		return Kind{Name: name, Place: PlacePhysics, On: OnMotor, Does: does,
			effect: func(t target, _ []float64) Effect { return BrakeStuck{t.motor, open} }}
	}
	return []Kind{
		one("brake_stuck_open", "the brake never closes", true),
		one("brake_stuck_set", "the brake never opens", false),
	}
}

// interlocks are faults of the interlock unit and its relay.
func interlocks() []Kind {
	return []Kind{
		{Name: "input_stuck", Place: PlaceDevice, On: OnInterlock,
			Does: "the unit reports one input at one level; its relay is not misled",
			Parameters: []Parameter{
				{Name: "input", Does: "by its quantity", Example: "hatch",
					Choices: interlock.Quantities()[:interlock.InputCount]},
				{Name: "at", Does: "the level; 1 is pressed, opened, actuated or set",
					Choices: []string{"0", "1"}, Default: "0"}},
			effect: func(_ target, v []float64) Effect {
				return InputStuck{int(v[0]), stuckAt(v[1])}
			}},
		{Name: "relay_late", Place: PlaceDevice, On: OnInterlock,
			Does: "the contacts of the safety relay open later than they should",
			Parameters: []Parameter{{Name: "by", Does: "how much later",
				Dimension: quantity.DimSpan, Default: "200 ms", Lowest: "0 s", Highest: "24 h"}},
			effect: func(_ target, v []float64) Effect { return RelayLate{span(v[0])} }},
	}
}

// stuckAt is the level 0 or 1 at which something is stuck.
func stuckAt(level float64) interlock.Stuck {
	if level == 1 {
		return interlock.StuckAt1
	}
	return interlock.StuckAt0
}
