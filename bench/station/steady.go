package station

import (
	"math"
	"slices"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/drive"
)

// steady is what holds of a motion from an ordinary step on.
type steady struct {
	lower, upper [plant.MainAxes]float64 // no switch or buffer answers between, rad
	braked       []int                   // motors of those axes, by their brakes
	axes         []plant.Axis            // that may move, or whose drives do something
	rest         [plant.AxisCount]bool   // the regime of all its drives
	operating    [plant.AxisCount]bool   // the same, with a drive for each motor
}

// beginSteady looks whether the motion can go on by steady steps.
func (s *Station) beginSteady() bool {
	if s.in.Pin != [plant.MainAxes]bool{} {
		return false
	}
	for a := range plant.Axis(plant.MainAxes) {
		if !s.findClearance(a) {
			return false
		}
	}
	s.callAxes()
	return true
}

// callAxes finds what each axis has to do. A polarization axis at rest stays so, as no
// other body turns it.
func (s *Station) callAxes() {
	state, c := s.Plant.State(), &s.steady
	c.braked, c.axes = c.braked[:0], c.axes[:0]
	for a := range plant.Axis(plant.AxisCount) {
		first, count := a.Motors()
		regimes := s.regimes[first : first+count]
		c.rest[a] = all(regimes, drive.AtRest)
		c.operating[a] = all(regimes, drive.Steady) && s.servoOf(a) == nil
		if !a.Main() && s.axisRests(a) {
			continue
		}
		c.axes = append(c.axes, a)
		for m := first; m < first+count; m++ {
			if state.BrakeSet[m] && s.set.brakeTorque(m) > 0 {
				c.braked = append(c.braked, m)
			}
		}
	}
}

func all(regimes []drive.Regime, one drive.Regime) bool {
	return !slices.ContainsFunc(regimes, func(r drive.Regime) bool { return r != one })
}

// findClearance finds between which switches and buffers an axis is, and reports whether it
// was there already when the switches were read.
func (s *Station) findClearance(a plant.Axis) bool {
	at, chain := quantity.Angle(s.Plant.State().Position[a]), &s.limits[a]
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
	s.steady.lower[a], s.steady.upper[a] = float64(lower), float64(upper)
	return s.clear(a, s.field.readAt[a])
}

func (s *Station) clear(a plant.Axis, at float64) bool {
	return s.steady.lower[a] < at && at < s.steady.upper[a]
}

// steadyStep is one step, in the order of an ordinary one. It reports whether the next may
// be another; false without a step where this one may not.
func (s *Station) steadyStep(beforeLook bool) bool {
	state, c := s.Plant.State(), &s.steady
	for a := range c.lower {
		if !s.clear(plant.Axis(a), state.Position[a]) {
			return false
		}
	}
	for _, m := range c.braked {
		if state.MotorRate[m] != 0 { // its brake may drag
			return false
		}
	}
	now := s.Now()
	if s.n%encoderSteps == 0 {
		s.sampleEncoders(now)
	}
	on := s.stepAxes(now, beforeLook)
	if on {
		s.watch.sampleWhenDue(s, now)
		s.Plant.StepMotion(&s.in)
	} else {
		s.watch.lookAtLevels(s, now)
		s.watch.sampleWhenDue(s, now)
		s.Plant.Step(&s.in) // brake coils may have changed
	}
	s.n++
	return on
}

// stepAxes is the part of a steady step that drives and axes have; before a look also of
// those that rest.
func (s *Station) stepAxes(now time.Duration, beforeLook bool) bool {
	on := true
	if beforeLook {
		for a := range plant.Axis(plant.AxisCount) {
			on = s.stepAxis(a, now) && on
		}
		return on
	}
	for _, a := range s.steady.axes {
		if !s.axisRests(a) {
			on = s.stepAxis(a, now) && on
		}
	}
	return on
}

// axisRests tells that neither an axis nor its drives do anything.
func (s *Station) axisRests(a plant.Axis) bool {
	return s.steady.rest[a] && s.standstill[a].reached && s.Plant.Stands(a)
}

// stepAxis carries the drives of an axis on and looks at its motion. It reports whether
// the drives go on as they did and the axis did not reach standstill or leave it.
func (s *Station) stepAxis(a plant.Axis, now time.Duration) bool {
	first, count := a.Motors()
	on := true
	switch {
	case s.steady.operating[a]:
		state := s.Plant.State()
		for m := first; m < first+count; m++ {
			g := s.field.gearing[m]
			s.in.MotorTorque[m] = g * s.Drives[m].SteadyStep(now, g*state.MotorRate[m],
				g*state.MotorPosition[m])
		}
	case s.servoOf(a) != nil && s.regimes[first] == drive.Steady && s.steadyServo(a, now):
	default:
		for m := first; m < first+count; m++ {
			on = s.stepOrdinary(m, now) && on
		}
	}
	below, q := s.seen(a), &s.standstill[a]
	if below == q.below && below == q.reached {
		return on
	}
	s.changeStandstill(a, below, now)
	return on && q.reached == s.unit.Standstill[a]
}

// seen takes down the extremes of an axis, and reports whether its motors are below the
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

// stepOrdinary is an ordinary step of a motor's drive. It reports whether the drive goes on
// as it did; otherwise the coils of its axis follow it.
func (s *Station) stepOrdinary(m int, now time.Duration) bool {
	was := s.driving
	s.stepOne(m, was.demanded[m], now)
	if s.driving == was {
		return true
	}
	a := plant.MotorAxis[m]
	s.feedBrakes(a, s.enableChain(a))
	return false
}
