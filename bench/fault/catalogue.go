package fault

import (
	"slices"

	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// Catalogue lists every fault, by place and then in the order of what it breaks;
// weather and its mast come last.
func Catalogue() []Kind {
	return slices.Concat(physics(), inDevices(), wire(), weather())
}

func physics() []Kind {
	kinds := slices.Concat(switches(), swaps(), brakes(), stuckBrakes(), people(), dips())
	return append(kinds,
		Kind{Name: "external_torque", Place: PlacePhysics, On: OnAxis,
			Does: "a constant torque, as of a steady wind, pushes the axis",
			Parameters: []Parameter{{Name: "torque", Does: "positive toward the upper end",
				Dimension: quantity.DimTorque, Example: "30 kN m"}},
			effect: func(t target, v []float64) Effect {
				return ExternalTorque{t.axis, quantity.Torque(v[0])}
			}},
		Kind{Name: "gear_changed", Place: PlacePhysics, On: OnAxis,
			Does: "the motors turn more or less often than the controller thinks",
			Parameters: []Parameter{{Name: "ratio", Does: "true turns over believed turns",
				Dimension: quantity.DimRatio, Lowest: "0.1", Highest: "10", Example: "1.5"}},
			effect: func(t target, v []float64) Effect {
				return GearChanged{t.axis, quantity.Ratio(v[0])}
			}},
		Kind{Name: "direction_changed", Place: PlacePhysics, On: OnMotor,
			Does:   "the motor turns the other way, torque and feedback alike",
			effect: func(t target, _ []float64) Effect { return DirectionChanged{t.motor} }},
		Kind{Name: "supply_lost", Place: PlacePhysics, On: OnStation,
			Does:   "the supply of every drive, brake and interlock output is gone",
			effect: func(target, []float64) Effect { return SupplyLost{} }},
		Kind{Name: "mains_lost", Place: PlacePhysics, On: OnStation,
			Does:   "the supply of every drive is gone; interlock unit and brakes keep theirs",
			effect: func(target, []float64) Effect { return MainsLost{} }},
		Kind{Name: "drive_supply_lost", Place: PlacePhysics, On: OnMotor,
			Does:   "the supply of one drive is gone",
			effect: func(t target, _ []float64) Effect { return DriveSupplyLost{t.motor} }},
	)
}

// dips lower the voltage of what feeds the drives.
func dips() []Kind {
	to := Parameter{Name: "to", Does: "voltage left, as a share of the nominal; 0 % is none",
		Dimension: quantity.DimRatio, Default: "40 %", Lowest: "0 %", Highest: "100 %"}
	length := Parameter{Name: "length", Does: "how long; 0 s is as long as the fault stands",
		Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}
	return []Kind{
		{Name: "supply_dip", Place: PlacePhysics, On: OnStation,
			Does:       "the supply of every drive dips; interlock unit and brakes keep theirs",
			Parameters: []Parameter{to, length},
			effect: func(_ target, v []float64) Effect {
				return SupplyDip{-1, quantity.Ratio(v[0]), span(v[1])}
			}},
		{Name: "drive_supply_dip", Place: PlacePhysics, On: OnMotor,
			Does: "the supply of one drive dips", Parameters: []Parameter{to, length},
			effect: func(t target, v []float64) Effect {
				return SupplyDip{t.motor, quantity.Ratio(v[0]), span(v[1])}
			}},
	}
}

func switches() []Kind {
	one := func(name, does string, s Switch, how interlock.SwitchFault) Kind {
		return Kind{Name: name, Place: PlacePhysics, On: OnEnd, Does: does,
			effect: func(t target, _ []float64) Effect {
				return LimitSwitch{t.axis, t.end, s, how}
			}}
	}
	return []Kind{
		one("pre_limit_welded", "the pre-limit switch never opens",
			PreLimit, interlock.SwitchWeldedClosed),
		one("final_limit_welded", "the final-limit switch never opens",
			FinalLimit, interlock.SwitchWeldedClosed),
		one("pre_limit_inverted", "the pre-limit switch opens inside and closes outside",
			PreLimit, interlock.SwitchInverted),
		one("final_limit_inverted", "the final-limit switch opens inside and closes outside",
			FinalLimit, interlock.SwitchInverted),
		one("pre_limit_open", "the pre-limit switch never closes",
			PreLimit, interlock.SwitchWeldedOpen),
		one("final_limit_open", "the final-limit switch never closes",
			FinalLimit, interlock.SwitchWeldedOpen),
		{Name: "limit_chain_shifted", Place: PlacePhysics, On: OnEnd,
			Does: "switches, buffer and structure stand further in than the controller knows",
			Parameters: []Parameter{{Name: "inward", Does: "how much further in",
				Dimension: quantity.DimAngle, Lowest: "0 deg", Highest: "360 deg",
				Example: "20 deg"}},
			effect: func(t target, v []float64) Effect {
				return LimitChainShift{t.axis, t.end, quantity.Angle(v[0])}
			}},
	}
}

func brakes() []Kind {
	share := Parameter{Name: "torque", Does: "share of the brake's torque",
		Dimension: quantity.DimRatio, Lowest: "0 %", Highest: "100 %"}
	left, dragged := share, share
	left.Default, dragged.Default = "80 %", "20 %"
	return []Kind{
		{Name: "brake_late", Place: PlacePhysics, On: OnMotor,
			Does: "the brake closes later than its engage delay",
			Parameters: []Parameter{{Name: "by", Does: "how much later",
				Dimension: quantity.DimSpan, Default: "200 ms", Lowest: "0 s", Highest: "24 h"}},
			effect: func(t target, v []float64) Effect { return BrakeLate{t.motor, span(v[0])} }},
		{Name: "brake_worn", Place: PlacePhysics, On: OnMotor,
			Does: "the closed brake has only a share of its torque", Parameters: []Parameter{left},
			effect: func(t target, v []float64) Effect {
				return BrakeWorn{t.motor, quantity.Ratio(v[0])}
			}},
		{Name: "brake_dragging", Place: PlacePhysics, On: OnMotor,
			Does:       "the released brake keeps a share of its torque",
			Parameters: []Parameter{dragged},
			effect: func(t target, v []float64) Effect {
				return BrakeDragging{t.motor, quantity.Ratio(v[0])}
			}},
	}
}
