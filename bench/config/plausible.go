package config

import (
	"slices"
	"strings"

	"haltmark/bench/quantity"
)

// bound is what a parameter may be on any antenna with a dish of 1 to 100 m: wide
// enough for every sound one, narrow enough for a slip of the keyboard to fall out.
// The figures are common practice, stretched. A bound of a key and one of its section
// and key is meant by the latter.
type bound struct {
	key             string
	of              quantity.Dimension
	lowest, highest string
}

// bounds of station files and drive sheets. Torques and inertias are at the axis.
func plausible() []bound {
	return slices.Concat(siteBounds(), timeBounds(), axisBounds(), partBounds(), sheetBounds())
}

func siteBounds() []bound {
	speed, angle := quantity.DimSpeed, quantity.DimAngle
	return []bound{
		{"antenna.dish", quantity.DimLength, "1 m", "100 m"},
		{"antenna.beacon", quantity.DimFrequency, "0.1 GHz", "100 GHz"},
		{"antenna.beam_width", angle, "0.001 deg", "30 deg"},
		{"wind.stow_mean", speed, "1 m/s", "70 m/s"},
		{"wind.stow_gust", speed, "1 m/s", "100 m/s"},
		{"wind.survival", speed, "10 m/s", "150 m/s"},
		{"weather.mean", speed, "0 m/s", "100 m/s"},
		{"gusts.intensity", quantity.DimRatio, "0 %", "100 %"},
		{"gusts.length", quantity.DimLength, "1 m", "2000 m"},
		{"standstill.rate", quantity.DimRate, "0.0001 deg/s", "1 deg/s"},
		{"disagreement.rate", quantity.DimRate, "0.001 deg/s", "10 deg/s"},
		{"following_error.angle", angle, "0.001 deg", "20 deg"},
		{"overspeed.ratio", quantity.DimRatio, "101 %", "150 %"},
		{"mast.doubt", quantity.DimSpan, "3 s", "10 min"},
	}
}

func timeBounds() []bound {
	span := quantity.DimSpan
	return []bound{
		{"stow.time", span, "1 s", "1 h"},
		{"standstill.hold", span, "10 ms", "10 s"},
		{"brake.engage", span, "1 ms", "5 s"},
		{"brake.release", span, "1 ms", "5 s"},
		{"brake.feedback", span, "10 ms", "10 s"},
		{"interlock.relay_delay", span, "0 s", "0.2 s"},
		{"interlock.ss1_time", span, "0 s", "60 s"},
		{"interlock.discrepancy", span, "10 ms", "2 s"},
		{"watchdog", span, "0 s", "2 s"},
		{"final_limit_torque_off", span, "1 ms", "0.2 s"},
		{"category0_torque_off", span, "1 ms", "0.5 s"},
		{"category1_margin", span, "1 ms", "0.5 s"},
		{"stop.report", span, "10 ms", "10 s"},
		{"controller.cycle", span, "1 ms", "1 s"},
		{"controller.reaction", span, "1 ms", "0.5 s"},
		{"controller.silence", span, "10 ms", "1 s"},
		{"controller.doubt_margin", span, "1 ms", "1 s"},
		{"controller.partner_off", span, "1 ms", "0.5 s"},
		{"controller.start", span, "0.1 s", "30 s"},
		{"controller.horn", span, "2 s", "60 s"},
		{"controller.armed_window", span, "1 s", "1 h"},
		{"controller.receiver_silence", span, "10 ms", "60 s"},
		{"controller.permission_gone", span, "1 ms", "10 s"},
		{"disagreement.time", span, "10 ms", "2 s"},
		{"following_error.time", span, "1 ms", "2 s"},
		{"overspeed.disable", span, "1 ms", "0.5 s"},
		{"overspeed.torque_off", span, "1 ms", "0.2 s"},
	}
}

func axisBounds() []bound {
	angle, torque, ramp := quantity.DimAngle, quantity.DimTorque, quantity.DimAcceleration
	return []bound{
		{"lower", angle, "-1080 deg", "1080 deg"},
		{"upper", angle, "-1080 deg", "1080 deg"},
		{"elevation.software_limit.lower", angle, "-20 deg", "89 deg"},
		{"elevation.software_limit.upper", angle, "20 deg", "190 deg"}, // over the top
		{"full_rate", quantity.DimRate, "0.001 deg/s", "30 deg/s"},
		{"acceleration", ramp, "0.001 deg/s^2", "100 deg/s^2"},
		{"stop_ramp", ramp, "0.001 deg/s^2", "100 deg/s^2"},
		{"stop_jerk", quantity.DimJerk, "0.001 deg/s^3", "10000 deg/s^3"},
		{"load_inertia", quantity.DimInertia, "1 kg m^2", "1000000 t m^2"},
		{"motor_inertia", quantity.DimInertia, "1 kg m^2", "1000000 t m^2"},
		{"locked_rotor", quantity.DimFrequency, "0.1 Hz", "100 Hz"},
		{"gear_damping", quantity.DimRatio, "0 %", "100 %"},
		{"gear", quantity.DimNone, "10", "1000000"},
		{"backlash", angle, "0 deg", "1 deg"},
		{"rated_torque", torque, "1 N m", "100000 kN m"},
		{"peak_torque", torque, "1 N m", "100000 kN m"},
		{"torque_bias", torque, "0 N m", "100000 kN m"},
		{"brake_torque", torque, "1 N m", "100000 kN m"},
		{"coulomb_friction", torque, "0 N m", "10000 kN m"},
		{"viscous_friction", quantity.DimDamping, "0 N m s/rad", "1000000 kN m s/rad"},
		{"unbalance", torque, "0 N m", "100000 kN m"},
		{"speed_loop", quantity.DimFrequency, "0.05 Hz", "100 Hz"},
		{"position_loop", quantity.DimFrequency, "0.01 Hz", "20 Hz"},
		{"pre_limit", angle, "0 deg", "30 deg"},
		{"final_limit", angle, "0 deg", "40 deg"},
		{"buffer", angle, "0 deg", "50 deg"},
		{"buffer_stroke", angle, "0.01 deg", "10 deg"},
		{"buffer_energy", quantity.DimEnergy, "1 J", "100000000 J"},
	}
}

func partBounds() []bound {
	angle := quantity.DimAngle
	return []bound{
		{"reflector.frequency", quantity.DimFrequency, "0.1 Hz", "200 Hz"},
		{"reflector.damping", quantity.DimRatio, "0 %", "100 %"},
		{"stow_pin.play", angle, "0 deg", "5 deg"},
		{"stow_pin.shear", quantity.DimTorque, "1 N m", "1000000 kN m"},
		{"cable_wrap.reach", angle, "1 deg", "2000 deg"},
		{"zero", angle, "-10000 deg", "10000 deg"},
		{"phase", angle, "-360 deg", "360 deg"},
		{"from", angle, "-360 deg", "360 deg"},
		{"heading", angle, "-360 deg", "360 deg"},
	}
}

func sheetBounds() []bound {
	share, span := quantity.DimRatio, quantity.DimSpan
	return []bound{
		{"self_test", span, "0 s", "60 s"},
		{"brake_margin", span, "0 s", "0.5 s"},
		{"sto_delay", span, "0 s", "1 s"},
		{"max_velocity", share, "50 %", "300 %"},
		{"acceleration", share, "50 %", "10000 %"},
		{"deceleration", share, "50 %", "1000 %"},
		{"quick_stop_deceleration", share, "50 %", "10000 %"},
		{"torque_slope", quantity.DimNone, "0", "1000000"},
		{"velocity_window", share, "0 %", "50 %"},
		{"velocity_window_time", span, "0 s", "10 s"},
		{"integral_time", span, "0 s", "60 s"},
		{"interpolation_time", span, "0 s", "1 s"},
		{"max_motor_speed", share, "50 %", "500 %"},
		{"base_rate", share, "50 %", "1000 %"},
		{"overspeed", share, "101 %", "500 %"},
		{"blocked_time", span, "10 ms", "60 s"},
		{"i2t.peak_time", span, "0.1 s", "10 min"},
		{"link.energy", quantity.DimEnergy, "0.1 J", "10000000 J"},
		{"link.over", share, "50 %", "300 %"},
		{"link.efficiency", share, "50 %", "100 %"},
		{"link.dip", span, "0 s", "10 s"},
		{"ss1.time", span, "10 ms", "60 s"},
		{"ss2.time", span, "10 ms", "60 s"},
		{"sls.time", span, "0 s", "60 s"},
		{"window", quantity.DimAngle, "0.0001 deg", "10 deg"},
	}
}

// boundOf finds the bound of the parameter at a key; the one of its section first.
func boundOf(all []bound, at string, of quantity.Dimension) (found bound, ok bool) {
	for _, b := range all {
		if b.of == of && (at == b.key || strings.HasSuffix(at, "."+b.key)) &&
			len(b.key) > len(found.key) {
			found, ok = b, true
		}
	}
	return found, ok
}

// believe reports a value, its range included, that no antenna has.
func (d *document) believe(all []bound, at string, p parameter, r *report) {
	b, ok := boundOf(all, at, p.dimension())
	if !ok {
		return
	}
	lowest, _, err := quantity.Parse(b.of, b.lowest)
	highest, _, err2 := quantity.Parse(b.of, b.highest)
	in := p.inner()
	odd := in.lowest
	if odd >= lowest {
		odd = in.highest
	}
	if err == nil && err2 == nil && odd >= lowest && odd <= highest {
		return
	}
	printed := quantity.Format(b.of, odd)
	if b.of == quantity.DimRatio {
		printed = percent(odd)
	}
	r.add(d.file, d.line(at), "%s is %s; plausible is %s to %s; correct the figure",
		public(at), printed, b.lowest, b.highest)
}
