package config

import (
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// What is said here stands in no list of rules of the trade; without it a station
// loads that no controller could steer.

// windConstantMax is the wind that peak torque must turn an axis against (rule 7).
const windConstantMax = 25 // m/s

// pace refuses a control cycle that its own supervision would trip over.
func (s *Station) pace(r *report) {
	cycle := s.form.Controller.Cycle.value
	for _, one := range []struct {
		what  string
		value float64
	}{
		{"controller.reaction", s.form.Controller.Reaction.value},
		{"controller.silence", s.form.Controller.Silence.value},
		{"interlock.watchdog", s.form.Interlock.Watchdog.value},
	} {
		if 2*cycle > one.value {
			r.add(s.doc.file, s.doc.line("controller.cycle"), "controller.cycle is %s; two cycles "+
				"must fit into %s, %s; shorten it", quantity.Format(quantity.DimSpan, cycle),
				one.what, quantity.Format(quantity.DimSpan, one.value))
		}
	}
	if got := s.form.Wind.Constant.value; got > windConstantMax {
		r.add(s.doc.file, s.doc.line("wind.constant"), "wind.constant is %s; the motors turn an "+
			"axis against %d m/s at most (rule 7); lower it",
			quantity.Format(quantity.DimSpeed, got), windConstantMax)
	}
}

// contradictWeather refuses limits of the wind that are out of order, and a stow pin that
// is not where the antenna is stowed.
func (s *Station) contradictWeather(r *report) {
	w := &s.form.Wind
	speed := func(si float64) string { return quantity.Format(quantity.DimSpeed, si) }
	refuse := func(at, format string, args ...any) {
		r.add(s.doc.file, s.doc.line(at), at+" "+format, args...)
	}
	if w.StowGust.value < w.StowMean.value {
		refuse("wind.stow_gust", "is %s and stow_mean %s; a gust is no slower than the mean; raise it",
			speed(w.StowGust.value), speed(w.StowMean.value))
	}
	if w.Survival.value < w.StowGust.value {
		refuse("wind.survival", "is %s; the antenna is only stowed at %s; raise it",
			speed(w.Survival.value), speed(w.StowGust.value))
	}
	pin, attitude := s.form.Axes.Elevation.StowPin, quantity.Angle(s.form.Stow.Elevation.value)
	if pin == nil {
		return
	}
	at, play := quantity.Angle(pin.At.value), quantity.Angle(pin.Play.value)
	if apart := at - attitude; apart > play || apart < -play {
		refuse("axes.elevation.stow_pin.at", "is %v; the antenna is stowed at %v; put the pin there",
			at, attitude)
	}
}

// The encoders that an antenna is steered by, and that a register of 32 bits tells.
const (
	bitsLeast   = 12
	bitsMost    = 31
	countsRange = 32 // bits, of all turns together
)

// countable refuses encoders that no axis can be steered by, or no register can tell.
func (s *Station) countable(r *report) {
	for axis := range plant.Axis(plant.AxisCount) {
		seat, at := s.encoderSeat(int(axis)), "encoders."+axis.String()
		bits, turns := seat.Bits.value, seat.Turns.value
		refuse := func(key, format string, args ...any) {
			r.add(s.doc.file, s.doc.line(at+key), at+key+" "+format+"; correct it", args...)
		}
		switch {
		case bits < bitsLeast || bits > bitsMost:
			refuse(".bits", "is %d; plausible is %d to %d", bits, bitsLeast, bitsMost)
		case turns < 1:
			refuse(".turns", "is %d; need 1 or more", turns)
		case !seat.countable():
			refuse(".turns", "is %d; with %d bits a turn the range needs more than %d bits", turns, bits,
				countsRange)
		}
	}
}

// countable tells that counts and turns are figures that an encoder can have.
func (e *encoderSeatSection) countable() bool {
	bits, turns := e.Bits.value, e.Turns.value
	return bits > 0 && bits <= bitsMost && turns > 0 && turns < 1<<(countsRange-bits)
}

// contradictTravel refuses a polarization axis that meets its end before its limit.
func (s *Station) contradictTravel(axis plant.Axis, travel, limit ends, r *report) {
	end, soft := travel.angles(), limit.angles()
	if end[plant.Lower] > soft[plant.Lower] || end[plant.Upper] < soft[plant.Upper] {
		s.broken(r, axis, "travel", "is %v to %v, software_limit %v to %v; the axis would reach its "+
			"mechanical end first; widen the travel", end[plant.Lower], end[plant.Upper],
			soft[plant.Lower],
			soft[plant.Upper])
	}
}

// brakeToPeak is how many times the peak torque of its motor a brake may have; beyond
// that one of the two figures is wrong.
const brakeToPeak = 20

// contradict refuses figures of an axis, and of the sheets of its drives, of which each
// by itself could be.
func (s *Station) contradict(axis plant.Axis, r *report) {
	a := s.axis(axis)
	peak := quantity.Torque(a.PeakTorque.value)
	if a.PositionLoop.value >= a.SpeedLoop.value {
		s.broken(r, axis, "position_loop", "is %v and speed_loop %v; the outer loop is the slower "+
			"one; lower it", quantity.Frequency(a.PositionLoop.value),
			quantity.Frequency(a.SpeedLoop.value))
	}
	if axis.Main() {
		m := s.mainAxis(axis)
		brake, bias := quantity.Torque(m.BrakeTorque.value), quantity.Torque(m.TorqueBias.value)
		if brake > brakeToPeak*peak {
			s.broken(r, axis, "brake_torque", "is %v, the motor's peak_torque %v; no gear transmits "+
				"both; give at most %d times the peak", brake, peak, brakeToPeak)
		}
		if 2*bias > peak {
			s.broken(r, axis, "torque_bias", "is %v, peak_torque %v; too little is left to turn the "+
				"axis; give at most half of the peak", bias, peak)
		}
		hand := quantity.Rate(handRateShare * a.FullRate.value)
		if still := quantity.Rate(s.form.Standstill.Rate.value); still >= hand {
			r.add(s.doc.file, s.doc.line("standstill.rate"), "standstill.rate is %v; the hand control "+
				"moves %v at %v, which would count as standstill; lower it", still, axis, hand)
		}
	}
	first, motors := axis.Motors()
	for m := first; m < first+motors; m++ {
		s.contradictSheet(axis, m, r)
	}
}

// contradictSheet holds the sheet of a motor's drive against the station.
func (s *Station) contradictSheet(axis plant.Axis, motor int, r *report) {
	a, sheet := s.axis(axis), &s.sheets[motor]
	if sheet.doc == nil || !sheet.form.Sheet.set {
		return
	}
	complain := func(key, format string, args ...any) {
		args = append([]any{key, plant.MotorNames[motor]}, args...)
		r.add(sheet.doc.file, sheet.doc.line(key), "%s of %s "+format, args...)
	}
	_, motors := axis.Motors()
	ramp := quantity.Acceleration(a.StopRamp.value * sheet.form.QuickStopDeceleration.value)
	most := quantity.Acceleration(float64(motors) * a.PeakTorque.value / s.wholeInertia(axis))
	if ramp > most {
		complain("quick_stop_deceleration", "makes a ramp of %v; at peak torque the motors "+
			"decelerate the axis by %v; lower it", ramp, most)
	}
	owed := s.form.Stop.FinalLimitTorqueOff
	if delay := sheet.form.STODelay; delay.value > owed.value {
		complain("sto_delay", "is %s; the station demands torque off %s after a final limit; use a "+
			"faster drive", quantity.Format(quantity.DimSpan, delay.value),
			quantity.Format(quantity.DimSpan, owed.value))
	}
	full := a.FullRate.value
	stop := quantity.Energy(s.wholeInertia(axis) * full * full / 2)
	if l := sheet.form.Link; l != nil && quantity.Energy(l.ResistorHeat.value) < stop {
		complain("link.resistor_heat", "is %v; one stop from full rate dissipates %v; fit a resistor "+
			"rated for it", quantity.Energy(l.ResistorHeat.value), stop)
	}
	if fast := sheet.form.MaxVelocity; fast.value < 1 {
		complain("max_velocity", "is %s; the axis would never reach its full_rate; give 100 %% or "+
			"more", percent(fast.value))
	}
}

// ratedBelowPeak refuses a motor that bears more for long than for a moment.
func (s *Station) ratedBelowPeak(axis plant.Axis, r *report) {
	a := s.axis(axis)
	rated, peak := quantity.Torque(a.RatedTorque.value), quantity.Torque(a.PeakTorque.value)
	if rated > peak {
		s.broken(r, axis, "rated_torque", "is %v and peak_torque %v; a motor's rated torque is at "+
			"most its peak; swap or correct them", rated, peak)
	}
}
