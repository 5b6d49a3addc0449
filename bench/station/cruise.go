package station

import (
	"math"
	"slices"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// Between two looks nothing reaches the station from outside, so that most steps
// have little to do: one in which everything rests can be left out, and one in
// motion needs the plant, the drives in operation, and what follows from speed and
// position. What is found out of this order ends the cruise, and a step of the
// ordinary kind takes over.

// cruise is what holds from an ordinary step on.
type cruise struct {
	until        int64                   // a watchdog acts in that step
	lower, upper [plant.MainAxes]float64 // no switch or buffer answers between, rad
	held         []int                   // motors of those axes, by their brakes
	axes         []plant.Axis            // that may move, or whose drives do something
	sleeps       [plant.AxisCount]bool   // with all its drives
	alike        [plant.AxisCount]bool   // all its drives cruise, one for each motor
	pace         [plant.MotorCount]pace
}

// pace is how a drive goes on.
type pace uint8

const (
	paceSteps   pace = iota // by ordinary steps
	paceSleeps              // as long as its motor stands
	paceCruises             // drive.Cruise
)

// hurry goes on until the next look, or less far, by what it knows of the steps from
// the last one on. The last one before the look wakes drives that sleep.
func (s *Station) hurry(look int64) {
	last := min(look, s.quiet())
	if s.n >= last {
		return
	}
	s.openGlance()
	defer s.closeGlance()
	if s.resting && s.Plant.Rests(&s.in) {
		s.rest(last)
		if s.n == look {
			for m := range s.Drives {
				s.wake(m, s.Now()-s.step)
			}
		}
		return
	}
	if s.setOut() {
		last = min(last, s.cruise.until)
		for s.n < last && s.cruiseOn(s.n+1 == look) {
		}
	}
}

// quiet is the first step in which something may happen beside motion, as far as
// it is known; the present one where it is not.
func (s *Station) quiet() int64 {
	state := s.Plant.State()
	if s.air.changed || !s.Plant.BrakesSettled() ||
		state.BrakeSet != s.unit.BrakeFeedback || s.field.supplyLost {
		return s.n
	}
	at := min(s.nextDue(), s.plan.Next())
	if len(s.agenda.timed) > 0 {
		at = min(at, s.agenda.timed[0].at)
	}
	first := s.firstStep(at)
	if s.air.blows {
		first = min(first, (s.n+s.air.every-1)/s.air.every*s.air.every)
	}
	return first
}

// firstStep is the first step that is not before an instant.
func (s *Station) firstStep(at time.Duration) int64 {
	n := int64(at / s.step)
	if at%s.step != 0 {
		n++
	}
	return n
}

// rest leaves out steps in which everything rests: only the encoders look, and
// rows are written.
func (s *Station) rest(last int64) {
	each := int64(encoderSteps)
	if len(s.agenda.waiting) > 0 {
		each = 1
	}
	for s.n < last && s.agenda.waits() {
		now := s.Now()
		if s.n%encoderSteps == 0 {
			s.glanceAt(now)
		}
		s.watch.pass(s, now)
		next := s.n - s.n%each + each
		if s.watch != nil {
			next = min(next, s.firstStep(s.watch.next))
		}
		s.n = min(last, next)
	}
}

// setOut looks whether the motion can go on by a cruise.
func (s *Station) setOut() bool {
	state, c := s.Plant.State(), &s.cruise
	for a := range plant.Axis(plant.AxisCount) {
		if s.unit.Standstill[a] != s.still[a].told {
			return false
		}
		if a.Main() && !s.clearance(a) {
			return false
		}
	}
	none := [plant.MotorCount]bool{}
	if state.BrakeDragging != none || s.watch.owes(none) ||
		s.in.Pin != [plant.MainAxes]bool{} || s.pinsBusy() {
		return false
	}
	c.until = math.MaxInt64
	for m := range c.pace {
		c.pace[m] = s.paceOf(m)
		if c.pace[m] == paceCruises {
			c.until = min(c.until, s.firstStep(s.Drives[m].Due()))
		}
	}
	s.callAxes()
	s.resting = false
	return true
}

// callAxes finds what each axis has to do. A polarization axis that lies does so for the
// whole cruise, as no other body turns it.
func (s *Station) callAxes() {
	state, c := s.Plant.State(), &s.cruise
	c.held, c.axes = c.held[:0], c.axes[:0]
	for a := range plant.Axis(plant.AxisCount) {
		first, count := a.Motors()
		paces := c.pace[first : first+count]
		c.sleeps[a] = all(paces, paceSleeps)
		c.alike[a] = all(paces, paceCruises) && s.servoOf(a) == nil
		if !a.Main() && s.lies(a) {
			continue
		}
		c.axes = append(c.axes, a)
		for m := first; m < first+count; m++ {
			if state.BrakeSet[m] && s.set.brakeTorque(m) > 0 {
				c.held = append(c.held, m)
			}
		}
	}
}

func all(paces []pace, one pace) bool {
	return !slices.ContainsFunc(paces, func(p pace) bool { return p != one })
}

func (s *Station) paceOf(m int) pace {
	u := s.servoOf(plant.MotorAxis[m])
	switch {
	case u != nil && u.SetOut(), u == nil && s.Drives[m].SetOut():
		return paceCruises
	case s.sleeps(m, s.driving.demanded[m]):
		return paceSleeps
	}
	return paceSteps
}

// clearance finds where an axis can be without meeting a switch or a buffer, and
// tells whether it stands there.
func (s *Station) clearance(a plant.Axis) bool {
	at, chain := quantity.Angle(s.Plant.State().Position[a]), &s.limits[a]
	if s.field.readAt[a] != float64(at) && s.switchesAt(a, at) {
		return false
	}
	lower, upper := chain.Buffer[plant.Lower], chain.Buffer[plant.Upper]
	for _, point := range [...]quantity.Angle{chain.PreLimit[0], chain.PreLimit[1],
		chain.FinalLimit[0], chain.FinalLimit[1]} {
		if point <= at {
			lower = max(lower, point)
		}
		if point >= at {
			upper = min(upper, point)
		}
	}
	s.cruise.lower[a], s.cruise.upper[a] = float64(lower), float64(upper)
	return lower < at && at < upper
}

// switchesAt tells whether the switches have changed since they were last read.
func (s *Station) switchesAt(a plant.Axis, at quantity.Angle) bool {
	seen := s.limits[a].Actuated(at)
	return seen.PreLimit != s.unit.PreLimit[a] || seen.FinalLimit != s.unit.FinalLimit[a]
}

// cruiseOn is one step, in the order of an ordinary one. It tells whether the next
// may be another; false without a step where this one may not.
func (s *Station) cruiseOn(last bool) bool {
	state, c := s.Plant.State(), &s.cruise
	for a := range c.lower {
		if at := state.Position[a]; !(c.lower[a] < at && at < c.upper[a]) {
			return false
		}
	}
	for _, m := range c.held {
		if state.MotorRate[m] != 0 { // its brake may drag
			return false
		}
	}
	if len(s.agenda.waiting) > 0 && !s.agenda.waits() {
		return false
	}
	now := s.Now()
	if s.n%encoderSteps == 0 {
		s.glanceAt(now)
	}
	on := s.axesOn(now, last)
	if w := s.watch; w != nil && (!on || now >= w.next) {
		w.follow(s, now, !on)
	}
	if on {
		s.Plant.Carry(&s.in)
	} else {
		s.Plant.Step(&s.in) // brake coils may have changed
	}
	s.n++
	return on
}

// axesOn carries every axis on; at the last step before the look also those that lie.
func (s *Station) axesOn(now time.Duration, last bool) bool {
	on := true
	if last {
		for a := range plant.Axis(plant.AxisCount) {
			on = s.axisOn(a, now, true) && on
		}
		return on
	}
	for _, a := range s.cruise.axes {
		if !s.lies(a) {
			on = s.axisOn(a, now, false) && on
		}
	}
	return on
}

// lies tells that neither an axis nor its drives do anything.
func (s *Station) lies(a plant.Axis) bool {
	return s.cruise.sleeps[a] && s.still[a].told && s.still[a].below && s.Plant.Stands(a)
}

// axisOn carries the drives of an axis on and looks at its motion. It tells whether
// the drives go on as they did and the axis did not come to rest or leave it.
func (s *Station) axisOn(a plant.Axis, now time.Duration, last bool) bool {
	first, count := a.Motors()
	on := true
	switch c := &s.cruise; {
	case c.alike[a]:
		state := s.Plant.State()
		for m := first; m < first+count; m++ {
			g := s.field.gearing[m]
			s.in.MotorTorque[m] = g * s.Drives[m].Cruise(now, g*state.MotorRate[m],
				g*state.MotorPosition[m])
		}
	case s.servoOf(a) != nil && c.pace[first] == paceCruises && s.cruiseServo(a, now):
	default:
		for m := first; m < first+count; m++ {
			on = s.driveOn(m, now, last) && on
		}
	}
	below, q := s.seen(a), &s.still[a]
	if below == q.below && below == q.told {
		return on
	}
	s.turnStillness(a, below, now)
	return on && q.told == s.unit.Standstill[a]
}

// seen takes down the extremes of an axis, and tells whether its motors are below the
// standstill rate.
func (s *Station) seen(a plant.Axis) bool {
	state, w, limit := s.Plant.State(), s.watch, s.stillRate[a]
	first, count := a.Motors()
	below := true
	for m := first; m < first+count; m++ {
		rate := state.MotorRate[m]
		below = below && math.Abs(rate) < limit
		if w != nil {
			w.seen[atMotorRate+m].add(rate)
			w.seen[atTorque+m].add(s.in.MotorTorque[m])
		}
	}
	if w != nil {
		w.seen[atPosition+int(a)].add(state.Position[a])
		w.seen[atRate+int(a)].add(state.Rate[a])
	}
	return below
}

// wake has a drive that sleeps look at the clock.
func (s *Station) wake(m int, now time.Duration) { s.stepOne(m, s.driving.demanded[m], now) }

// driveOn carries a drive on that does not cruise: it sleeps, or takes an ordinary
// step. It tells whether it goes on as it did.
func (s *Station) driveOn(m int, now time.Duration, last bool) bool {
	a, is := plant.MotorAxis[m], &s.driving
	first, count := a.Motors()
	demanded, sto, powered, ready, state := is.demanded[m], is.sto[m], is.powered[m], is.ready[m],
		is.state[m]
	sleeps := s.sleeps(m, demanded)
	if s.servoOf(a) != nil { // it sleeps with both its motors
		sleeps = s.sleeps(first, demanded) && s.sleeps(first+1, demanded)
	}
	if !last && sleeps {
		return true
	}
	s.stepOne(m, demanded, now)
	if is.sto[m] == sto && is.powered[m] == powered && is.ready[m] == ready && is.state[m] == state {
		return true
	}
	for k := first; k < first+count; k++ {
		s.in.BrakeCoil[k] = s.enableChain(a) && is.ready[k] && s.Interlock.BrakeRelease[k]
	}
	return false
}
