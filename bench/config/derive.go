package config

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/weather"
)

// Conditions of the rules and of the figures that follow.
const (
	ruleWind        = 20 * quantity.MetrePerSecond
	ruleGust        = 25 * quantity.MetrePerSecond
	ruleBrakeWind   = 30 * quantity.MetrePerSecond
	ruleBrakesLate  = 200 * time.Millisecond
	ruleReactionMin = 0.3 * quantity.Degree
	biasBand        = 0.5                   // of the bias, by which it may be missed
	brakeTimeMargin = 20 * time.Millisecond // of the brake time, past the engage delay
	handRateShare   = 0.1                   // of full rate, with the override key
	plantStep       = 250 * time.Microsecond
)

// wind is the worst torque of a wind on an axis, N m.
func (s *Station) wind(axis plant.Axis, speed quantity.Speed) quantity.Torque {
	return plant.WindTorqueMax(axis, quantity.Length(s.form.Antenna.Dish.value), speed)
}

// duty is what rules and derived figures ask of a main axis.
func (s *Station) duty(axis plant.Axis) plant.Duty {
	a := s.axis(axis)
	return plant.Duty{
		FullRate:   quantity.Rate(a.FullRate.value),
		StopRamp:   quantity.Acceleration(a.StopRamp.value),
		StopJerk:   quantity.Jerk(a.StopJerk.value),
		PeakTorque: quantity.Torque(a.PeakTorque.value),
		WindTorque: s.wind(axis, ruleWind),
		Reaction:   s.form.Controller.Reaction.span(),
		Relay:      s.form.Interlock.RelayDelay.span(),
		BrakesLate: ruleBrakesLate,
	}
}

// derive adds what follows from the parameters to the table.
func (s *Station) derive() {
	weakest := quantity.MeasuredOnSite
	for _, p := range s.table {
		weakest = min(weakest, p.Origin)
	}
	add := func(at, path string, d quantity.Dimension, si float64) {
		s.table = append(s.table, Parameter{Path: path, Dimension: d, Value: si, Lowest: si,
			Highest: si, Origin: weakest, Derived: true,
			Where: fmt.Sprintf("%s:%d", s.doc.name, s.doc.line(at))})
	}
	s.deriveTimes(add)
	for axis := range plant.Axis(plant.AxisCount) {
		a, at := s.axis(axis), "axes."+axis.String()
		share := func(key string, part float64) {
			add(at, axis.String()+"."+key, quantity.DimRate, part*a.FullRate.value)
		}
		share("overspeed_rate", s.form.Overspeed.Ratio.value)
		share("hand_rate", handRateShare)
		add(at, axis.String()+".motor_rate", quantity.DimRate, a.FullRate.value*a.Gear.value)
		add(at, axis.String()+".inertia", quantity.DimInertia, s.wholeInertia(axis))
		add(at, axis.String()+".lost_motion", quantity.DimAngle, s.lostMotion(axis))
		add(at, axis.String()+".wind_up", quantity.DimAngle, s.windUp(axis))
		add(at, axis.String()+".sto_time", quantity.DimSpan, s.stoTime(axis).Seconds())
		stop := s.rampStop(axis)
		add(at, axis.String()+".derived.ramp_travel", quantity.DimAngle, float64(stop.Travel))
		add(at, axis.String()+".derived.ramp_time", quantity.DimSpan, stop.Time.Seconds())
	}
	plantParameters := s.plant()
	for axis := range plant.Axis(plant.MainAxes) {
		add("axes."+axis.String(), axis.String()+".bias_band", quantity.DimTorque,
			biasBand*s.mainAxis(axis).TorqueBias.value)
		s.figures[axis] = plant.Derive(plantParameters.Axes[axis], s.duty(axis))
		at, prefix := "axes."+axis.String(), axis.String()+"."
		s.deriveLimits(axis, plantParameters.Axes[axis].Limits,
			func(key string, si quantity.Angle) {
				add(at, prefix+key, quantity.DimAngle, float64(si))
			})
		s.deriveFigures(axis, func(key string, d quantity.Dimension, si float64) {
			add(at, prefix+"derived."+key, d, si)
		})
	}
}

// stoTime is how long the slowest drive of an axis takes from its safe torque off input to
// no torque.
func (s *Station) stoTime(axis plant.Axis) time.Duration {
	slowest := time.Duration(0)
	first, count := axis.Motors()
	for motor := first; motor < first+count; motor++ {
		slowest = max(slowest, s.driveParameters(motor).STODelay)
	}
	return slowest
}

// deriveTimes adds the times that several spans make together.
func (s *Station) deriveTimes(add func(at, path string, d quantity.Dimension, si float64)) {
	f := &s.form
	ss1, zero := f.Interlock.SS1Time.value, f.Stop.Category0TorqueOff.value
	one := ss1 + f.Stop.Category1Margin.value
	doubt := f.Disagreement.Time.value + f.Controller.DoubtMargin.value
	silence := f.Controller.Silence.value
	for _, row := range []struct {
		at, path string
		seconds  float64
	}{
		{"brake", "brake.time",
			f.Interlock.RelayDelay.value + f.Brake.Engage.value + brakeTimeMargin.Seconds()},
		{"stop", "stop.category1_torque_off", one},
		{"stop", "stop.category1_time", ss1},
		{"controller", "controller.doubt", doubt},
		{"stop", "stop.silence_category0_torque_off", silence + zero},
		{"stop", "stop.silence_category1_torque_off", silence + one},
		{"stop", "stop.doubt_torque_off", doubt + one},
		{"stop", "stop.interlock_watchdog_torque_off", f.Interlock.Watchdog.value + one},
		{"wind", "wind.gust", plant.WindGustSpan.Seconds()},
		{"wind", "wind.word", weather.Period.Seconds()},
		{"overspeed", "overspeed.time", f.Overspeed.Disable.value + f.Overspeed.TorqueOff.value},
	} {
		add(row.at, row.path, quantity.DimSpan, math.Round(row.seconds*1e9)/1e9)
	}
}

// deriveLimits adds the distances of the limit chain and where its parts stand.
func (s *Station) deriveLimits(
	axis plant.Axis, chain plant.LimitChain, add func(key string, si quantity.Angle),
) {
	a := s.mainAxis(axis)
	between := func(inner, outer value[angle]) quantity.Angle {
		return quantity.Angle(outer.value - inner.value)
	}
	add("software_to_pre", quantity.Angle(a.PreLimit.value))
	add("pre_to_final", between(a.PreLimit, a.FinalLimit))
	add("final_to_buffer", between(a.FinalLimit, a.Buffer))
	add("final_to_structure",
		between(a.FinalLimit, a.Buffer)+quantity.Angle(a.BufferStroke.value))
	for _, row := range []struct {
		key  string
		part [2]quantity.Angle
	}{
		{"pre_limit_at", chain.PreLimit}, {"final_limit_at", chain.FinalLimit},
		{"buffer_at", chain.Buffer}, {"structure_at", chain.Structure},
	} {
		add(row.key+".lower", row.part[plant.Lower])
		add(row.key+".upper", row.part[plant.Upper])
	}
}

// deriveFigures adds what follows for a main axis.
func (s *Station) deriveFigures(
	axis plant.Axis, add func(key string, d quantity.Dimension, si float64),
) {
	f := &s.figures[axis]
	add("wind_torque", quantity.DimTorque, float64(s.wind(axis, ruleWind)))
	add("assisting_acceleration", quantity.DimAcceleration, float64(f.AssistingAcceleration))
	add("brake_deceleration", quantity.DimAcceleration, float64(f.BrakeDeceleration))
	add("one_brake_deceleration", quantity.DimAcceleration, float64(f.OneBrakeDeceleration))
	add("brake_delay", quantity.DimSpan, f.BrakeDelay.Seconds())
	variants := [plant.Variants]string{plant.BothBrakes: "", plant.WeakBrakes: "_weak_brakes",
		plant.OneBrake: "_one_brake", plant.LateBrakes: "_late_brakes"}
	for v, name := range variants {
		add("category0_travel"+name, quantity.DimAngle, float64(f.CategoryZero[v].Travel))
		add("category0_time"+name, quantity.DimSpan, f.CategoryZero[v].Time.Seconds())
	}
	add("kinetic_energy", quantity.DimEnergy, float64(f.KineticEnergy))
	add("buffer_energy_needed", quantity.DimEnergy, float64(f.BufferEnergyNeeded))
	add("stiffness", quantity.DimStiffness, s.stiffness(axis))
}

// stiffness of a main axis, gear to load, N m/rad.
func (s *Station) stiffness(axis plant.Axis) float64 {
	a := s.mainAxis(axis)
	return float64(plant.StiffnessFromMode(quantity.Inertia(a.LoadInertia.value), a.reflector(),
		quantity.Frequency(a.LockedRotor.value)))
}

// lostMotion is how far an axis may move while its motors stand, rad: each motor's gear
// lets it go by its backlash.
func (s *Station) lostMotion(axis plant.Axis) float64 { return 2 * s.axis(axis).Backlash.value }

// windUp is how far an axis that nobody turns may move on its brakes, rad: by its lost
// motion and, in a wind of 30 m/s that comes at once, as far as the structure swings.
func (s *Station) windUp(axis plant.Axis) float64 {
	angle := s.lostMotion(axis)
	if axis.Main() {
		angle += 2 * float64(s.wind(axis, ruleBrakeWind)) / s.stiffness(axis)
	}
	return angle
}

// wholeInertia is that of load and motors together, kg m^2.
func (s *Station) wholeInertia(axis plant.Axis) float64 {
	_, motors := axis.Motors()
	a := s.axis(axis)
	return a.LoadInertia.value + float64(motors)*a.MotorInertia.value
}

// rampStop is the ramp stop of an axis from full rate.
func (s *Station) rampStop(axis plant.Axis) plant.Stop {
	d := s.duty(axis)
	return plant.RampStop(d.FullRate, d.Reaction, d.StopRamp, d.StopJerk)
}
