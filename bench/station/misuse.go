package station

import (
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
)

// misuse maps what people do and what is wired wrong; false for any other effect.
func (s *Station) misuse(effect fault.Effect, on bool) bool {
	f := &s.Interlock.Faults
	a := &f.Acts
	switch e := effect.(type) {
	case fault.SwitchesSwapped:
		if e.Switch == fault.PreLimit {
			f.PreLimitSwapped[e.Axis] = on
		} else {
			f.FinalLimitSwapped[e.Axis] = on
		}
	case fault.InputStuck:
		f.Inputs[e.Input] = either(on, e.At, interlock.Free)
	case fault.RelayLate:
		f.RelayLate = either(on, e.By, 0)
	case fault.EmergencyStopPressed:
		for k, channel := range e.Channel {
			a.EmergencyStop[k] = on && channel || !channel && a.EmergencyStop[k]
		}
	case fault.HatchOpened:
		a.Hatch = on
	case fault.LadderOpened:
		a.Ladder = on
	case fault.PinInserted:
		a.Pin[e.Axis] = on
	case fault.StowPinIn:
		s.in.Pin[e.Axis], a.Pin[e.Axis] = on, on
	case fault.IsolatorOpened:
		a.Isolator[e.Axis] = on
	case fault.ModeTurned:
		a.Turned, a.Mode = on, either(on, e.Mode, interlock.Remote)
	case fault.EnablingReleased:
		a.Released = on
	case fault.OverrideLeft:
		a.Override = on
	case fault.ResetHeld:
		a.Reset = on
	default:
		return false
	}
	return true
}

// spoilMachine maps what else goes wrong with brakes, supply and drives; false for
// any other effect.
func (s *Station) spoilMachine(effect fault.Effect, on bool) bool {
	switch e := effect.(type) {
	case fault.BrakeStuck:
		if e.Open {
			s.Plant.Faults.BrakeStuckOpen[e.Motor] = on
		} else {
			s.Plant.Faults.BrakeStuckSet[e.Motor] = on
		}
	case fault.MainsLost:
		for m := range s.field.driveDead {
			s.field.driveDead[m] = on
		}
	case fault.DriveMisbehaves:
		*s.misbehaviour(e) = on
	case fault.DriveTorqueLost:
		s.Drives[e.Motor].Faults.TorqueLoss = either(on, e.Share, 0)
	case fault.DriveOffsetWrong:
		s.Drives[e.Motor].Faults.OffsetError = either(on, e.By, 0)
	case fault.DriveTripHeld:
		s.Drives[e.Motor].Faults.HeldTrip = either(on, e.Code, 0)
	default:
		return false
	}
	return true
}

// misbehaviour is the field of a drive that stands for one.
func (s *Station) misbehaviour(e fault.DriveMisbehaves) *bool {
	f, told := &s.Drives[e.Motor].Faults, s.feedback(e.Motor)
	return map[fault.Misbehaviour]*bool{
		fault.FeedbackFrozen: &told.Frozen, fault.FeedbackReversed: &told.Reversed,
		fault.FeedbackDead: &told.Dead, fault.TorqueReversed: &f.ReversedTorque,
		fault.IgnoresCommand: &f.IgnoreCommand, fault.IgnoresStop: &f.IgnoreStop,
		fault.STODead: &f.STODead, fault.StatusStale: &f.Stale, fault.WarningRaised: &f.Warning,
	}[e.How]
}

// feedback is that of a motor, in its own drive or in the servo unit of its axis.
func (s *Station) feedback(motor int) *drive.Feedback {
	axis := plant.MotorAxis[motor]
	u := s.servoOf(axis)
	if u == nil {
		return &s.Drives[motor].Faults.Feedback
	}
	first, _ := axis.Motors()
	return &u.Feedback[motor-first]
}

// spoilEncoder maps further faults of encoders, which tell them from this very
// step on; false for any other effect. A second head that is not there does not
// mind.
func (s *Station) spoilEncoder(effect fault.Effect, on bool, now time.Duration) bool {
	axis := 0
	switch e := effect.(type) {
	case fault.EncoderEccentric:
		f := s.lie(e.Axis, &axis)
		f.Eccentricity = either(on, e.Amplitude, 0)
		f.EccentricityPhase = either(on, e.At, 0)
	case fault.EncoderLate:
		s.lie(e.Axis, &axis).Latency = either(on, e.By, 0)
	case fault.EncoderNoise:
		s.lie(e.Axis, &axis).Scatter = either(on, e.Within, 0)
	case fault.EncoderBitStuck:
		stuck := encoder.StuckBit{On: true, Number: e.Bit, High: e.High}
		s.lie(e.Axis, &axis).StuckBit = either(on, stuck, encoder.StuckBit{})
	case fault.EncoderHung:
		s.lie(e.Axis, &axis).Frozen = on
	case fault.EncoderBadData:
		s.lie(e.Axis, &axis).BadData = on
	case fault.EncoderWarning:
		s.lie(e.Axis, &axis).WarningBits = either(on, e.Bits, 0)
	case fault.EncoderTorn:
		s.lie(e.Axis, &axis).TornBy = either(on, e.By, 0)
	case fault.SecondHeadOffset:
		s.second(e.Axis, &axis, func(f *encoder.Faults) { f.Offset = either(on, e.By, 0) })
	case fault.SecondHeadFrozen:
		s.second(e.Axis, &axis, func(f *encoder.Faults) { f.FrozenPosition = on })
	case fault.SecondHeadAlarm:
		s.second(e.Axis, &axis, func(f *encoder.Faults) { f.Alarm = on })
	default:
		return false
	}
	s.stepEncoder(axis, now)
	return true
}

// lie gives the faults of an axis's encoder and notes the axis.
func (s *Station) lie(of int, axis *int) *encoder.Faults {
	*axis = of
	return &s.Encoders[of].Faults
}

func (s *Station) second(of int, axis *int, edit func(*encoder.Faults)) {
	*axis = of
	if head := s.Encoders[of].Second; head != nil {
		edit(&head.Faults)
	}
}
