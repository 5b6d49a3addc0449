package station

import (
	"strings"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// interlockFaults are of the interlock unit and its safety relay.
func interlockFaults() []faultKind {
	return []faultKind{
		{
			Kind: fault.Kind{Name: "input_stuck", Place: fault.PlaceDevice, On: onInterlock(),
				Does: "the unit reports one input at one level; its relay is not misled",
				Parameters: []fault.Parameter{
					{Name: "input", Does: "by its quantity", Example: "hatch",
						Choices: interlock.Quantities()[:interlock.InputCount]},
					{Name: "at", Does: "the level; 1 is pressed, opened, actuated or set",
						Choices: []string{"0", "1"}, Default: "0"}}},
			needs: wiredInput,
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.Inputs[int(e.Value("input"))] =
					either(e.Began, stuckAt(e.Value("at")), interlock.Free)
			},
		},
		{
			Kind: fault.Kind{Name: "relay_late", Place: fault.PlaceDevice, On: onInterlock(),
				Does: "the contacts of the safety relay open later than they should",
				Parameters: []fault.Parameter{{Name: "by", Does: "how much later",
					Dimension: quantity.DimSpan, Default: "200 ms", Lowest: "0 s",
					Highest: "24 h", Idle: "0 s"}}},
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.RelayLate = either(e.Began, e.Span("by"), 0)
			},
		},
		{
			Kind: fault.Kind{Name: "emergency_stop_welded", Place: fault.PlaceDevice,
				On:   onChannel(),
				Does: "this channel's contact of the emergency stop never opens"},
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.EmergencyStopWelded[e.Target().Channel] = e.Began
			},
		},
	}
}

// stuckAt is the level 0 or 1 at which something is stuck.
func stuckAt(level float64) interlock.Stuck {
	if level == 1 {
		return interlock.StuckAt1
	}
	return interlock.StuckAt0
}

// brakeFeedbackOf is the quantity of a motor's brake.
func brakeFeedbackOf(motor string) string {
	return "brake_feedback_" + strings.ReplaceAll(motor, ".", "_")
}

// wiredInput wants what is at the other end of an input's wire.
func wiredInput(p *Parameters, f fault.Fault) error {
	name := interlock.Quantities()[int(f.Value("input"))]
	if err := p.needReport(Device{Role: RoleInterlock}, name); err != nil {
		return err
	}
	switch name {
	case "enabling_device":
		return anEnablingDevice(p, f)
	case "override_key":
		return anOverrideKey(p, f)
	}
	for motor, of := range plant.MotorNames {
		if name == brakeFeedbackOf(of) {
			return p.needBrake(motor)
		}
	}
	for axis, of := range plant.AxisNames {
		switch name {
		case "isolator_" + of:
			return p.needIsolator(axis)
		case "pin_" + of:
			return p.needStowPin(axis)
		case "final_limit_" + of + "_lower", "final_limit_" + of + "_upper":
			return p.needFinalLimit(axis)
		}
	}
	return nil
}
