package config

import (
	"math"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// What a station owes, and what it is watched by, must fit the antenna: a limit that
// nothing could miss makes every verdict about it empty. The shares are common practice,
// stretched, as is the beam of a dish: 70 degrees times wavelength over diameter.
const (
	ss1Share       = 3   // of the longest ramp stop
	rampShare      = 4   // of a ramp stop's travel
	brakeShare     = 6   // of the travel of a category 0 stop with both brakes
	fullRateTime   = 60  // s, to full rate
	peakShare      = 10  // of the rated torque
	speedLoopShare = 4   // of the locked-rotor frequency
	doubtShare     = 0.5 // of full rate
	beamFactor     = 70  // deg
	beamSlack      = 3
	lightSpeed     = 299792458 // m/s, SI

	motorSlowest, motorFastest = 60, 12000 // turns a minute, at full rate
)

// owed refuses what an axis is watched by and is never caught by.
func (s *Station) owed(axis plant.Axis, r *report) {
	a := s.axis(axis)
	if a.FullRate.value > fullRateTime*a.Acceleration.value {
		s.broken(r, axis, "acceleration", "is %v; full_rate would take more than %d s; raise it",
			quantity.Acceleration(a.Acceleration.value), fullRateTime)
	}
	rated, peak := quantity.Torque(a.RatedTorque.value), quantity.Torque(a.PeakTorque.value)
	if peak > peakShare*rated {
		s.broken(r, axis, "peak_torque", "is %v, rated_torque %v; a motor's peak is at most %d times "+
			"its rated torque; correct one of them", peak, rated, peakShare)
	}
	_, motors := axis.Motors()
	friction := quantity.Torque(a.Coulomb.highest + a.Viscous.value*a.FullRate.value)
	if all := quantity.Torque(motors) * peak; friction >= all {
		s.broken(r, axis, "coulomb_friction", "is, with viscous_friction at full rate, %v; the motors "+
			"have %v and would not turn the axis; lower it", friction, all)
	}
	if loop, mode := a.SpeedLoop.value, a.LockedRotor.value; loop > speedLoopShare*mode {
		s.broken(r, axis, "speed_loop", "is %v, locked_rotor %v; a loop so far above the structural "+
			"mode is unstable; lower it", quantity.Frequency(loop), quantity.Frequency(mode))
	}
	turns := a.Gear.value * a.FullRate.value / (2 * math.Pi) * 60
	if turns < motorSlowest || turns > motorFastest {
		s.broken(r, axis, "gear", "is %g; the motor would run at %.0f rpm at full rate; plausible is "+
			"%d to %d rpm; correct it or full_rate", a.Gear.value, turns, motorSlowest, motorFastest)
	}
	if axis.Main() {
		s.owedMain(axis, r)
	}
}

// owedMain is owed for what only a main axis has: limit switches, a pin, a second opinion.
func (s *Station) owedMain(axis plant.Axis, r *report) {
	m, full := s.mainAxis(axis), s.axis(axis).FullRate.value
	refuse := func(at, format string, args ...any) {
		r.add(s.doc.file, s.doc.line(at), at+" "+format, args...)
	}
	if got := quantity.Rate(s.form.Disagreement.Rate.value); float64(got) > doubtShare*full {
		refuse("disagreement.rate", "is %v, the full rate of %v %v; an error of half the speed would "+
			"go undetected; lower it", got, axis, quantity.Rate(full))
	}
	got, room := quantity.Angle(s.form.Following.Angle.value), quantity.Angle(m.FinalLimit.value)
	if got > room {
		refuse("following_error.angle", "is %v; %v is at its final limit %v past the software limit; "+
			"lower it", got, axis, room)
	}
	s.owedTravel(axis, r)
	crossing := (m.FinalLimit.value - m.PreLimit.value) / full
	if watchdog := s.form.Interlock.Watchdog.value; crossing > 0 && watchdog >= crossing {
		refuse("interlock.watchdog", "is %s; %v crosses from pre-limit to final limit in %s; shorten "+
			"it",
			quantity.Format(quantity.DimSpan, watchdog), axis, quantity.Format(quantity.DimSpan, crossing))
	}
	if pin := m.StowPin; pin != nil {
		wind := s.wind(axis, quantity.Speed(s.form.Wind.Survival.value))
		if shear := quantity.Torque(pin.Shear.value); shear < wind {
			s.broken(r, axis, "stow_pin.shear", "is %v; the survival wind loads it with %v; fit a "+
				"stronger pin", shear, wind)
		}
	}
}

// owedTravel refuses distances between limits that no stop could use up: they are what the
// travel of stops is held to.
func (s *Station) owedTravel(axis plant.Axis, r *report) {
	m := s.mainAxis(axis)
	ramp, brakes := s.rampStop(axis).Travel, s.figures[axis].CategoryZero[plant.BothBrakes].Travel
	if room := quantity.Angle(m.FinalLimit.value - m.PreLimit.value); room > rampShare*ramp {
		s.broken(r, axis, "final_limit", "is %v beyond the pre-limit; a ramp from full rate takes %v; "+
			"give at most %d times that", room, ramp, rampShare)
	}
	if room := quantity.Angle(m.Buffer.value - m.FinalLimit.value); room > brakeShare*brakes {
		s.broken(r, axis, "buffer", "is %v beyond the final limit; both brakes stop the axis within %v; "+
			"give at most %d times that", room, brakes, brakeShare)
	}
}

// owedByAll refuses a ramp time that no stop ever needs, and a beam of another dish.
func (s *Station) owedByAll(r *report) {
	longest := s.rampStop(plant.Azimuth).Time
	for axis := range plant.Axis(plant.AxisCount) {
		longest = max(longest, s.rampStop(axis).Time)
	}
	if ss1 := s.form.Interlock.SS1Time.span(); ss1 > ss1Share*longest {
		r.add(s.doc.file, s.doc.line("interlock.ss1_time"), "interlock.ss1_time is %s; the longest "+
			"ramp takes %s; give at most %d times that", printed(ss1), printed(longest), ss1Share)
	}
	t := &s.form.Antenna
	beam := beamFactor * lightSpeed / t.Beacon.value / t.Dish.value * math.Pi / 180
	if got := t.BeamWidth.value; got > beamSlack*beam || got < beam/beamSlack {
		r.add(s.doc.file, s.doc.line("antenna.beam_width"), "antenna.beam_width is %v; a dish of %v "+
			"has about %v at its beacon; correct one of the three", quantity.Angle(got),
			quantity.Length(t.Dish.value), quantity.Angle(beam))
	}
}
