package config

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// What the rules of testdata/SOURCES.md ask for.
const (
	rampReserve     = 1.25
	brakeReserve    = 1.6
	holdReserve     = 1.25
	ss1Reserve      = 40 * time.Millisecond
	movesOutward    = "move the outer one outward"
	slowerOrFarther = "lower full_rate or move it outward"
)

// enforce reports every rule that the station breaks.
func (s *Station) enforce(r *report) {
	for axis := range plant.Axis(plant.MainAxes) {
		if !s.ruleOrder(axis, r) {
			continue // the distances that other rules weigh make no sense
		}
		s.ruleReaction(axis, r)
		s.ruleRampStop(axis, r)
		s.ruleCategoryZero(axis, r)
		s.ruleLateBrakes(axis, r)
		s.ruleBufferEnergy(axis, r)
		s.ruleBrakesHold(axis, r)
		s.ruleMotors(axis, r)
		s.ruleWatchdog(axis, r)
	}
	for axis := range plant.Axis(plant.AxisCount) {
		s.ruleRamp(axis, r)
		s.contradict(axis, r)
		s.owed(axis, r)
	}
	s.owedByAll(r)
	s.ruleStow(r)
	s.pace(r)
	s.contradictWeather(r)
	s.countable(r)
	h, v := &s.form.Axes.PolarizationH, &s.form.Axes.PolarizationV
	s.contradictTravel(plant.PolarizationH, h.Travel, h.SoftwareLimit, r)
	s.contradictTravel(plant.PolarizationV, v.Travel, v.SoftwareLimit, r)
	s.ruleAddresses(r)
}

// broken reports a rule at the key of an axis.
func (s *Station) broken(r *report, axis plant.Axis, key, format string, args ...any) {
	line := s.doc.line("axes." + axis.String() + "." + key)
	r.add(s.doc.file, line, "%v.%s %s", axis, key, fmt.Sprintf(format, args...))
}

// ruleReaction is rule 1.
func (s *Station) ruleReaction(axis plant.Axis, r *report) {
	a, d := s.mainAxis(axis), s.duty(axis)
	reaction := quantity.Angle(float64(d.FullRate) * d.Reaction.Seconds())
	need := max(reaction, ruleReactionMin)
	if got := quantity.Angle(a.PreLimit.value); got < need {
		s.broken(r, axis, "pre_limit", "is %v past the software limit; the controller's reaction "+
			"at full rate needs %v; %s (rule 1)", got, need, slowerOrFarther)
	}
}

// ruleRampStop is rule 2.
func (s *Station) ruleRampStop(axis plant.Axis, r *report) {
	a := s.mainAxis(axis)
	stop := s.figures[axis].RampStop.Travel
	need := rampReserve * stop
	if got := quantity.Angle(a.FinalLimit.value - a.PreLimit.value); got < need {
		s.broken(r, axis, "final_limit", "is %v past the pre-limit; 1.25 ramp stops of %v need %v; "+
			"%s (rule 2)", got, stop, need, slowerOrFarther)
	}
}

// ruleCategoryZero is rule 3.
func (s *Station) ruleCategoryZero(axis plant.Axis, r *report) {
	a, zero := s.mainAxis(axis), &s.figures[axis].CategoryZero
	got := quantity.Angle(a.Buffer.value - a.FinalLimit.value)
	for _, variant := range []struct {
		index int
		name  string
	}{{plant.WeakBrakes, "brakes at 80 %"}, {plant.OneBrake, "one brake"}} {
		stop := zero[variant.index].Travel
		if need := brakeReserve * stop; got < need {
			s.broken(r, axis, "buffer", "is %v past the final limit; 1.6 category 0 stops of %v with "+
				"%s need %v; %s (rule 3)", got, stop, variant.name, need, slowerOrFarther)
		}
	}
}

// ruleLateBrakes is rule 4.
func (s *Station) ruleLateBrakes(axis plant.Axis, r *report) {
	a := s.mainAxis(axis)
	need := s.figures[axis].CategoryZero[plant.LateBrakes].Travel
	got := quantity.Angle(a.Buffer.value + a.BufferStroke.value - a.FinalLimit.value)
	if got < need {
		s.broken(r, axis, "buffer_stroke", "ends %v past the final limit; the category 0 stop with "+
			"both brakes 200 ms late takes %v; %s (rule 4)", got, need, slowerOrFarther)
	}
}

// ruleBufferEnergy is rule 5.
func (s *Station) ruleBufferEnergy(axis plant.Axis, r *report) {
	got := quantity.Energy(s.mainAxis(axis).BufferEnergy.value)
	if need := s.figures[axis].BufferEnergyNeeded; got < need {
		s.broken(r, axis, "buffer_energy", "is %v; the kinetic energy of the axis and the work of "+
			"motors, wind and unbalance over the stroke are %v; fit a larger buffer or lower full_rate "+
			"(rule 5)", got, need)
	}
}

// ruleBrakesHold is rule 6.
func (s *Station) ruleBrakesHold(axis plant.Axis, r *report) {
	a := s.mainAxis(axis)
	brake, unbalance := quantity.Torque(a.BrakeTorque.value), quantity.Torque(a.Unbalance.value)
	if need := holdReserve * (unbalance + s.wind(axis, ruleWind)); brake < need {
		s.broken(r, axis, "brake_torque", "is %v; one brake alone must hold %v, 1.25 of unbalance "+
			"and 20 m/s; fit a larger brake (rule 6)", brake, need)
	}
	if need := holdReserve * (unbalance + s.wind(axis, ruleBrakeWind)); 2*brake < need {
		s.broken(r, axis, "brake_torque", "is %v; both brakes must hold %v, 1.25 of unbalance and "+
			"30 m/s; fit larger brakes (rule 6)", brake, need)
	}
}

// ruleMotors is rule 7.
func (s *Station) ruleMotors(axis plant.Axis, r *report) {
	a := s.mainAxis(axis)
	still := quantity.Torque(a.Unbalance.value + a.Coulomb.value +
		a.Viscous.value*a.FullRate.value + s.wholeInertia(axis)*a.StopRamp.value)
	have, need := quantity.Torque(2*a.RatedTorque.value), still+s.wind(axis, ruleWind)
	if have < need {
		s.broken(r, axis, "rated_torque", "gives %v with both motors; 20 m/s, unbalance, friction "+
			"and the stop ramp need %v; fit larger motors or lower stop_ramp (rule 7)", have, need)
	}
	have, need = quantity.Torque(2*a.PeakTorque.value), still+s.wind(axis, ruleGust)
	if have < need {
		s.broken(r, axis, "peak_torque", "gives %v with both motors; 25 m/s, unbalance, friction "+
			"and the stop ramp need %v; fit larger motors or lower stop_ramp (rule 7)", have, need)
	}
}

// ruleRamp is rule 8.
func (s *Station) ruleRamp(axis plant.Axis, r *report) {
	a := s.axis(axis)
	least := quantity.Rate(a.StopRamp.value * a.StopRamp.value / a.StopJerk.value)
	if got := quantity.Rate(a.FullRate.value); got < least {
		s.broken(r, axis, "stop_ramp", "is never reached from %v; ramp^2/jerk is %v; lower the ramp "+
			"or raise stop_jerk (rule 8)", got, least)
	}
	ss1 := s.form.Interlock.SS1Time.span()
	need := s.rampStop(axis).Time + s.form.Standstill.Hold.span() + s.form.Brake.Engage.span() +
		ss1Reserve
	if ss1 < need {
		r.add(s.doc.file, s.doc.line("interlock.ss1_time"), "interlock.ss1_time is %s; the ramp of "+
			"%v, standstill, brakes and 40 ms take %s; lengthen it or raise stop_ramp (rule 8)",
			printed(ss1), axis, printed(need))
	}
}

func printed(span time.Duration) string {
	return quantity.Format(quantity.DimSpan, span.Seconds())
}

// ruleStow is rule 9.
func (s *Station) ruleStow(r *report) {
	a := s.axis(plant.Elevation)
	limits, stow := a.SoftwareLimit.angles(), quantity.Angle(s.form.Stow.Elevation.value)
	if stow < limits[plant.Lower] || stow > limits[plant.Upper] {
		r.add(s.doc.file, s.doc.line("stow.elevation"), "stow.elevation is %v; the software limits "+
			"are %v and %v; stow between them (rule 9)", stow, limits[plant.Lower],
			limits[plant.Upper])
		return
	}
	farther := math.Max(float64(stow-limits[plant.Lower]), float64(limits[plant.Upper]-stow))
	v, ramp := a.FullRate.value, a.Acceleration.value
	// The halves of the way below v^2/a are all ramp.
	need := farther/v + v/ramp
	if farther < v*v/ramp {
		need = 2 * math.Sqrt(farther/ramp)
	}
	if got := s.form.Stow.Time.value; got < need {
		r.add(s.doc.file, s.doc.line("stow.time"), "stow.time is %s; elevation needs %s from its "+
			"farther limit; allow more time or stow nearer (rule 9)",
			quantity.Format(quantity.DimSpan, got), quantity.Format(quantity.DimSpan, need))
	}
}

// ruleOrder is the first part of rule 10; true when it holds.
func (s *Station) ruleOrder(axis plant.Axis, r *report) bool {
	a, ordered := s.mainAxis(axis), true
	for _, pair := range []struct {
		key, inner      string
		inside, outside float64
	}{
		{"final_limit", "pre_limit", a.PreLimit.value, a.FinalLimit.value},
		{"buffer", "final_limit", a.FinalLimit.value, a.Buffer.value},
	} {
		if pair.outside <= pair.inside {
			ordered = false
			s.broken(r, axis, pair.key, "is at %v and %s at %v; limits are ordered outward; %s "+
				"(rule 10)", quantity.Angle(pair.outside), pair.inner, quantity.Angle(pair.inside),
				movesOutward)
		}
	}
	return ordered
}

// ruleWatchdog is the third part of rule 10.
func (s *Station) ruleWatchdog(axis plant.Axis, r *report) {
	a := s.mainAxis(axis)
	crossing := (a.FinalLimit.value - a.PreLimit.value) / a.FullRate.value
	first, motors := axis.Motors()
	for motor := first; motor < first+motors; motor++ {
		sheet := &s.sheets[motor]
		if got := sheet.form.Watchdog.value; got >= crossing || got == 0 {
			r.add(sheet.doc.file, sheet.doc.line("watchdog"), "watchdog of %s is %s; the axis crosses "+
				"from pre-limit to final limit in %s; shorten it; 0 is no watchdog (rule 10)",
				plant.MotorNames[motor], quantity.Format(quantity.DimSpan, got),
				quantity.Format(quantity.DimSpan, crossing))
		} else if cycle := s.form.Controller.Cycle.value; got < 2*cycle &&
			2*cycle <= s.form.Interlock.Watchdog.value { // otherwise it is the cycle that is odd
			r.add(sheet.doc.file, sheet.doc.line("watchdog"), "watchdog of %s is %s; two control cycles "+
				"of %s must fit in; lengthen it", plant.MotorNames[motor],
				quantity.Format(quantity.DimSpan, got), quantity.Format(quantity.DimSpan, cycle))
		}
	}
}
