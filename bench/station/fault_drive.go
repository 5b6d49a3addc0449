package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/drive"
)

// driveFaults are of motor drives and of their motor feedback.
func driveFaults() []faultKind {
	code := fault.Parameter{Name: "code", Does: "error code of CiA 402", Whole: true,
		Default: "0x2310", Lowest: "1"}
	trip := driveFault("drive_trip", "the drive goes to its fault state", nil).with(code)
	trip.Event, trip.act = true, func(s *Station, e fault.Edge) {
		if e.Began {
			s.Drives[e.Target().Motor].Trip(uint16(e.Value("code")))
		}
	}
	return []faultKind{
		trip,
		driveFault("drive_trip_held", "the drive goes to its fault state and no reset helps",
			func(f *drive.Faults, e fault.Edge) {
				f.HeldTrip = either(e.Began, uint16(e.Value("code")), 0)
			}).with(code),
		driveFault("drive_watchdog_ignored", "the drive runs on when its controller falls silent",
			func(f *drive.Faults, e fault.Edge) { f.WatchdogDead = e.Began }).need(aDriveWatchdog),
		driveFault("drive_runaway", "the drive pulls while its power is on, whatever it is commanded",
			func(f *drive.Faults, e fault.Edge) {
				f.Runaway = either(e.Began, quantity.Ratio(e.Value("torque")), 0)
			}).with(fault.Parameter{Name: "torque", Dimension: quantity.DimRatio,
			Does:    "share of peak torque, positive towards the upper end",
			Default: "100 %", Lowest: "-100 %", Highest: "100 %", Idle: "0 %"}),
		feedbackFault("drive_feedback_frozen",
			"the motor's speed and position keep their last values",
			func(f *drive.Feedback, on bool) { f.Frozen = on }),
		feedbackFault("drive_feedback_reversed",
			"the motor's speed and position have the wrong sign",
			func(f *drive.Feedback, on bool) { f.Reversed = on }),
		feedbackFault("drive_feedback_dead", "the motor's speed reads zero and nobody notices",
			func(f *drive.Feedback, on bool) { f.Dead = on }),
		driveFault("drive_torque_reversed", "the drive's torque has the wrong sign",
			func(f *drive.Faults, e fault.Edge) { f.ReversedTorque = e.Began }),
		driveFault("drive_torque_lost", "part of the drive's torque is missing",
			func(f *drive.Faults, e fault.Edge) {
				f.TorqueLoss = either(e.Began, quantity.Ratio(e.Value("share")), 0)
			}).with(fault.Parameter{Name: "share", Does: "what is missing",
			Dimension: quantity.DimRatio, Default: "100 %", Lowest: "0 %", Highest: "100 %",
			Idle: "0 %"}),
		driveFault("drive_offset_lost", "the torque offset that biases the gear is lost",
			func(f *drive.Faults, e fault.Edge) { f.OffsetError = either[quantity.Ratio](e.Began, -1, 0) }).
			need(aTorqueOffset),
		driveFault("drive_offset_doubled", "the torque offset that biases the gear is doubled",
			func(f *drive.Faults, e fault.Edge) { f.OffsetError = either[quantity.Ratio](e.Began, 1, 0) }).
			need(aTorqueOffset),
		driveFault("drive_ignores_command", "the drive goes on as it did, whatever it is commanded",
			func(f *drive.Faults, e fault.Edge) { f.IgnoreCommand = e.Began }),
		driveFault("drive_ignores_stop", "the drive hears no stop, halt or disabling",
			func(f *drive.Faults, e fault.Edge) { f.IgnoreStop = e.Began }),
		driveFault("drive_sto_dead", "the drive's safe torque off input does nothing",
			func(f *drive.Faults, e fault.Edge) { f.STODead = e.Began }),
		driveFault("drive_status_stale",
			"the drive reports what was, and looks alive",
			func(f *drive.Faults, e fault.Edge) { f.Stale = e.Began }),
		driveFault("drive_warning", "the drive raises the warning bit of its statusword",
			func(f *drive.Faults, e fault.Edge) { f.Warning = e.Began }),
	}
}

// driveFault changes the faults of a motor's drive, or of the servo unit that turns it.
func driveFault(name, does string, set func(*drive.Faults, fault.Edge)) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlaceDevice, On: onMotor(), Does: does},
		act: func(s *Station, e fault.Edge) {
			set(&s.Drives[e.Target().Motor].Faults, e)
		},
	}
}

// feedbackFault is of one motor's feedback, in its own drive or in the servo unit of its axis.
func feedbackFault(name, does string, set func(f *drive.Feedback, on bool)) faultKind {
	k := driveFault(name, does, nil)
	k.act = func(s *Station, e fault.Edge) {
		m := e.Target().Motor
		axis := plant.MotorAxis[m]
		first, _ := axis.Motors()
		feedback := &s.Drives[m].Faults.Feedback
		if u := s.servoOf(axis); u != nil {
			feedback = &u.Feedback[m-first]
		}
		set(feedback, e.Began)
	}
	return k
}

func aDriveWatchdog(p *Parameters, f fault.Fault) error {
	if m := f.Target().Motor; p.Drives[m].Watchdog == 0 {
		return p.lacks("watchdog in the drive of " + plant.MotorNames[m])
	}
	return nil
}

// aTorqueOffset wants a drive that its controller biases against a partner. A servo unit
// makes the bias inside.
func aTorqueOffset(p *Parameters, f fault.Fault) error {
	m := f.Target().Motor
	_, motors := plant.MotorAxis[m].Motors()
	if motors < 2 || p.Drives[m].Servo {
		return p.lacks("torque offset in the drive of " + plant.MotorNames[m] +
			": a single motor has no partner, a servo unit biases its gear inside")
	}
	return nil
}
