package fault

import "haltmark/bench/quantity"

// troubles are further faults of drives.
func troubles() []Kind { return append(misbehaviours(), wrongTorques()...) }

func misbehaviours() []Kind {
	one := func(name, does string, how Misbehaviour) Kind {
		return Kind{Name: name, Place: PlaceDevice, On: OnMotor, Does: does,
			effect: func(t target, _ []float64) Effect { return DriveMisbehaves{t.motor, how} }}
	}
	return []Kind{
		one("drive_feedback_frozen", "the motor's speed and position keep their last values",
			FeedbackFrozen),
		one("drive_feedback_reversed", "the motor's speed and position have the wrong sign",
			FeedbackReversed),
		one("drive_feedback_dead", "the motor's speed reads nought and nobody notices",
			FeedbackDead),
		one("drive_torque_reversed", "the drive's torque has the wrong sign", TorqueReversed),
		one("drive_ignores_command", "the drive goes on as it does, whatever it is told",
			IgnoresCommand),
		one("drive_ignores_stop", "the drive hears no stop, halt or disabling", IgnoresStop),
		one("drive_sto_dead", "the drive's safe torque off input does nothing", STODead),
		one("drive_status_stale", "the drive tells of itself what was, and looks alive",
			StatusStale),
		one("drive_warning", "the drive raises the warning bit of its statusword",
			WarningRaised),
	}
}

func wrongTorques() []Kind {
	offset := func(name, does string, by quantity.Ratio) Kind {
		return Kind{Name: name, Place: PlaceDevice, On: OnMotor, Does: does,
			effect: func(t target, _ []float64) Effect { return DriveOffsetWrong{t.motor, by} }}
	}
	return []Kind{
		{Name: "drive_torque_lost", Place: PlaceDevice, On: OnMotor,
			Does: "part of the drive's torque is missing",
			Parameters: []Parameter{{Name: "share", Does: "what is missing",
				Dimension: quantity.DimRatio, Default: "100 %", Lowest: "0 %", Highest: "100 %"}},
			effect: func(t target, v []float64) Effect {
				return DriveTorqueLost{t.motor, quantity.Ratio(v[0])}
			}},
		offset("drive_offset_lost", "the torque offset that biases the gear is lost", -1),
		offset("drive_offset_doubled", "the torque offset that biases the gear is doubled", 1),
		{Name: "drive_trip_held", Place: PlaceDevice, On: OnMotor,
			Does: "the drive goes to its fault state and no reset helps",
			Parameters: []Parameter{{Name: "code", Does: "error code of CiA 402",
				Whole: true, Default: "0x2310", Lowest: "1"}},
			effect: func(t target, v []float64) Effect {
				return DriveTripHeld{t.motor, uint16(v[0])}
			}},
	}
}
