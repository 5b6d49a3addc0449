package config

import (
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
