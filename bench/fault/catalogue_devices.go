package fault

import (
	"slices"

	"haltmark/bench/quantity"
)

func inDevices() []Kind {
	kinds := slices.Concat(encoders(), liars(), drives(), troubles(), interlocks())
	return append(kinds,
		Kind{Name: "emergency_stop_welded", Place: PlaceDevice, On: OnChannel,
			Does: "this channel's contact of the emergency stop never opens",
			effect: func(t target, _ []float64) Effect {
				return EmergencyStopWelded{t.channel}
			}},
		Kind{Name: "brake_feedback_stuck", Place: PlaceDevice, On: OnMotor,
			Does: "the brake's feedback tells one state for ever",
			Parameters: []Parameter{{Name: "at", Does: "the state told",
				Choices: []string{"released", "set"}, Example: "released"}},
			effect: func(t target, v []float64) Effect {
				return BrakeFeedbackStuck{t.motor, stuckAt(v[0])}
			}},
	)
}

func encoders() []Kind {
	by := Parameter{Name: "by", Does: "angle added", Dimension: quantity.DimAngle,
		Example: "5 deg"}
	return []Kind{
		{Name: "encoder_offset", Place: PlaceDevice, On: OnAxis,
			Does: "the position told is off by a constant", Parameters: []Parameter{by},
			effect: func(t target, v []float64) Effect {
				return EncoderOffset{t.axis, quantity.Angle(v[0])}
			}},
		{Name: "encoder_frozen", Place: PlaceDevice, On: OnAxis,
			Does:   "the position told no longer changes",
			effect: func(t target, _ []float64) Effect { return EncoderFrozen{t.axis} }},
		{Name: "encoder_stepping", Place: PlaceDevice, On: OnAxis,
			Does: "the position told jumps, once or again and again",
			Parameters: []Parameter{by, {Name: "every", Does: "time between jumps; 0 s is one jump",
				Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}},
			effect: func(t target, v []float64) Effect {
				return EncoderStepping{t.axis, quantity.Angle(v[0]), span(v[1])}
			}},
		{Name: "encoder_drift", Place: PlaceDevice, On: OnAxis,
			Does: "the position told walks away from the truth",
			Parameters: []Parameter{{Name: "rate", Does: "how fast",
				Dimension: quantity.DimRate, Example: "0.8 deg/s"}},
			effect: func(t target, v []float64) Effect {
				return EncoderDrift{t.axis, quantity.Rate(v[0])}
			}},
		{Name: "encoder_alarm", Place: PlaceDevice, On: OnAxis,
			Does: "the encoder raises its alarm while its data are good",
			Parameters: []Parameter{{Name: "bits", Does: "alarm bits, bit 0 is position error",
				Whole: true, Default: "0x0001", Lowest: "1"}},
			effect: func(t target, v []float64) Effect { return EncoderAlarm{t.axis, uint16(v[0])} }},
		{Name: "encoder_reversed", Place: PlaceDevice, On: OnAxis,
			Does:   "the encoder counts backwards",
			effect: func(t target, _ []float64) Effect { return EncoderReversed{t.axis} }},
		{Name: "encoder_silent", Place: PlaceWire, On: OnAxis,
			Does: "the encoder no longer answers",
			effect: func(t target, _ []float64) Effect {
				return Silence{Device: Device{Encoder, t.axis}}
			}},
	}
}

func drives() []Kind {
	return []Kind{
		{Name: "drive_trip", Place: PlaceDevice, On: OnMotor, Event: true,
			Does: "the drive goes to its fault state",
			Parameters: []Parameter{{Name: "code", Does: "error code of CiA 402",
				Whole: true, Default: "0x2310", Lowest: "1"}},
			effect: func(t target, v []float64) Effect { return DriveTrip{t.motor, uint16(v[0])} }},
		{Name: "drive_silent", Place: PlaceWire, On: OnMotor,
			Does: "the drive no longer answers and no longer hears",
			effect: func(t target, _ []float64) Effect {
				return Silence{Device: Device{Drive, t.motor}}
			}},
		{Name: "drive_watchdog_ignored", Place: PlaceDevice, On: OnMotor,
			Does:   "the drive runs on when its controller falls silent",
			effect: func(t target, _ []float64) Effect { return DriveWatchdogIgnored{t.motor} }},
		{Name: "drive_runaway", Place: PlaceDevice, On: OnMotor,
			Does: "the drive pulls while its power is on, whatever it is told",
			Parameters: []Parameter{{Name: "torque", Dimension: quantity.DimRatio,
				Does:    "share of peak torque, positive toward the upper end",
				Default: "100 %", Lowest: "-100 %", Highest: "100 %"}},
			effect: func(t target, v []float64) Effect {
				return DriveRunaway{t.motor, quantity.Ratio(v[0])}
			}},
	}
}

func wire() []Kind {
	direction := Parameter{Name: "direction", Does: "which messages",
		Choices: []string{"both", "to_device", "to_controller"}, Default: "both"}
	positive := Parameter{Name: "jitter", Does: "added too, evenly from nought to this",
		Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}
	by := positive
	by.Name, by.Does, by.Default, by.Example = "by", "time added to each message", "", "50 ms"
	kinds := []Kind{
		{Name: "interlock_silent", Place: PlaceWire, On: OnInterlock,
			Does: "the interlock unit no longer answers and no longer hears",
			effect: func(target, []float64) Effect {
				return Silence{Device: Device{Role: Interlock}}
			}},
		{Name: "silence", Place: PlaceWire, On: OnDevice,
			Does: "the device's messages are lost", Parameters: []Parameter{direction},
			effect: func(t target, v []float64) Effect {
				return Silence{t.device, Direction(v[0])}
			}},
		{Name: "delay", Place: PlaceWire, On: OnDevice, Does: "the device's messages come late",
			Parameters: []Parameter{by, positive, direction},
			effect: func(t target, v []float64) Effect {
				return Delay{t.device, Direction(v[2]), span(v[0]), span(v[1])}
			}},
		{Name: "refuse", Place: PlaceWire, On: OnDevice, Does: "new connections are refused",
			effect: func(t target, _ []float64) Effect { return Refuse{t.device} }},
		{Name: "reset", Place: PlaceWire, On: OnDevice, Event: true,
			Does:   "every connection of the device is broken",
			effect: func(t target, _ []float64) Effect { return Reset{t.device} }},
		{Name: "pulled_cable", Place: PlaceWire, On: OnDevice,
			Does:   "the device's cable is out of its socket",
			effect: func(t target, _ []float64) Effect { return PulledCable{t.device} }},
	}
	return slices.Concat(kinds, spoilings(), connections())
}
