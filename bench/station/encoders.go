package station

import (
	"time"

	"haltmark/bench/plant"
)

// encoderSteps is the multiple of the plant step at which encoders sample.
const encoderSteps = 4

// unread is what the encoders have seen between two looks and not yet taken in: nobody
// reads them there, and one angle will do for many.
type unread struct {
	position [plant.AxisCount]float64
	at       time.Duration
	steps    uint64        // not taken in, the last of them at at
	due      time.Duration // of the first encoder
}

// deferEncoders lets the encoders do without their steps until one is due.
func (s *Station) deferEncoders() {
	u := &s.unread
	u.due = s.Encoders[0].Due()
	for _, e := range s.Encoders[1:] {
		u.due = min(u.due, e.Due())
	}
}

// sampleEncoders is a step of the encoders between two looks.
func (s *Station) sampleEncoders(now time.Duration) {
	u := &s.unread
	if now < u.due {
		u.position, u.at = s.Plant.State().Position, now
		u.steps++
		return
	}
	s.settleEncoders()
	s.stepEncoders(now)
	s.deferEncoders()
}

// settleEncoders has the encoders take in what they have seen.
func (s *Station) settleEncoders() {
	u := &s.unread
	if u.steps == 0 {
		return
	}
	for a, e := range &s.Encoders {
		e.Skip(u.steps - 1)
		e.Step(u.at, u.position[a])
	}
	u.steps = 0
}

func (s *Station) stepEncoders(now time.Duration) {
	for a := range s.Encoders {
		s.stepEncoder(a, now)
	}
}

func (s *Station) stepEncoder(axis int, now time.Duration) {
	s.Encoders[axis].Step(now, s.Plant.State().Position[axis])
}
