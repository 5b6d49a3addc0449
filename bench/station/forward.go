package station

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/emulators/drive"
)

// Between two looks nothing reaches the station from outside, so that most steps have
// little to do. Fast-forward stands in for them. Steps in which everything is at rest are
// passed over; in motion, a step moves the plant, the drives and what follows from speed
// and position alone. Each device says itself until when it does nothing of its own, and
// whether a drive may go on so. Every other step is an ordinary one.

// fastForward goes on after an ordinary step until the next look, or less far.
func (s *Station) fastForward(look int64) {
	last := min(look, int64(s.due()/s.step))
	if s.n >= last || !s.takenIn() {
		return
	}
	for m := range s.regimes {
		s.regimes[m] = s.regimeOf(m)
	}
	s.deferEncoders()
	if s.atRest() {
		s.passOver(last)
		if s.n == look {
			s.wakeDrives(s.Now() - s.step)
		}
	} else if s.beginSteady() {
		for s.n < last && s.steadyStep(s.n+1 == look) {
		}
	}
	s.settleEncoders()
}

// due is the first instant at which anything happens by itself, motion, encoders and the
// record's rows apart.
func (s *Station) due() time.Duration {
	return min(s.nextDue(), s.plan.Due(), s.agenda.due(), s.air.due(s))
}

// takenIn tells that what came of the last step has reached whom it concerns: the
// interlock unit, the brakes and the record.
func (s *Station) takenIn() bool {
	state := s.Plant.State()
	if !s.Plant.BrakesSettled() || s.unit.BrakeFeedback != state.BrakeSet || s.watch.owes() {
		return false
	}
	for a := range s.standstill {
		if s.unit.Standstill[a] != s.standstill[a].reached {
			return false
		}
	}
	for a := range plant.Axis(plant.MainAxes) {
		if s.pins.told[a] != levelsOf(s.Plant.Pin(a)) {
			return false
		}
	}
	return true
}

// regimeOf is how the drive of a motor goes on, or the unit of its axis.
func (s *Station) regimeOf(m int) drive.Regime {
	if u := s.servoOf(plant.MotorAxis[m]); u != nil {
		return u.Regime()
	}
	return s.Drives[m].Regime()
}

// atRest tells that nothing moves, no drive does anything and standstill is reported: a
// step would write the record's rows alone.
func (s *Station) atRest() bool {
	for m := range s.regimes {
		if s.regimes[m] != drive.AtRest {
			return false
		}
	}
	for a := range s.standstill {
		if !s.standstill[a].reached {
			return false
		}
	}
	return s.Plant.AtRest(&s.in)
}

// passOver leaves out steps in which everything is at rest: only the encoders sample, and
// rows are written.
func (s *Station) passOver(last int64) {
	for ; s.n < last; s.n++ {
		now := s.Now()
		if s.n%encoderSteps == 0 {
			s.sampleEncoders(now)
		}
		s.watch.sampleWhenDue(s, now)
	}
}

// wakeDrives has drives at rest look at the clock, before anybody looks at them.
func (s *Station) wakeDrives(now time.Duration) {
	for m := range s.Drives {
		s.stepOne(m, s.driving.demanded[m], now)
	}
}
