package station

import (
	"time"

	"haltmark/bench/plant"
)

// encoderSteps is the multiple of the plant step at which encoders sample.
const encoderSteps = 4

// glance is what the encoders have before their eyes between two looks and not yet
// taken in: nobody reads them there, and one angle will do for many.
type glance struct {
	position [plant.AxisCount]float64
	at       time.Duration
	steps    uint64        // not taken in, the last of them at at
	due      time.Duration // then a step of an encoder does more than take in an angle
}

// openGlance finds out how long the encoders can do without their steps.
func (s *Station) openGlance() {
	g := &s.glance
	g.due = s.Encoders[0].Holds()
	for _, e := range s.Encoders[1:] {
		g.due = min(g.due, e.Holds())
	}
	if len(s.agenda.waiting) > 0 { // for what may read them
		g.due = 0
	}
}

// glanceAt is a step of the encoders between two looks.
func (s *Station) glanceAt(now time.Duration) {
	g := &s.glance
	if now < g.due {
		g.position, g.at = s.Plant.State().Position, now
		g.steps++
		return
	}
	s.closeGlance()
	for a := range s.Encoders {
		s.stepEncoder(a, now)
	}
	s.openGlance()
}

// closeGlance has the encoders take in what they have seen.
func (s *Station) closeGlance() {
	g := &s.glance
	if g.steps == 0 {
		return
	}
	for a, e := range &s.Encoders {
		e.Skip(g.steps - 1)
		e.Step(g.at, g.position[a])
	}
	g.steps = 0
}
