package verdict_test

import (
	"testing"

	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// A station's figures in a statement, worked by hand: one for all axes, axes of the same
// figure together, sums, both ends of a range, and none.
func TestState(t *testing.T) {
	limits := verdict.Limits(func(path string) (float64, quantity.Dimension, bool) {
		row, ok := map[string]struct {
			si float64
			d  quantity.Dimension
		}{
			"brake.time": {0.11, quantity.DimSpan}, "standstill.hold": {0.2, quantity.DimSpan},
			"azimuth.lost_motion":        {0.06 * deg, quantity.DimAngle},
			"elevation.lost_motion":      {0.06 * deg, quantity.DimAngle},
			"polarization_h.lost_motion": {0.2 * deg, quantity.DimAngle},
			"azimuth.soft.lower":         {-205 * deg, quantity.DimAngle},
			"azimuth.soft.upper":         {12.5 * deg, quantity.DimAngle},
		}[path]
		return row.si, row.d, ok
	})
	for want, q := range map[string]verdict.Requirement{
		"shall in 110 ms": {Limit: []string{"brake.time"}},
		"shall in 310 ms": {Limit: []string{"standstill.hold", "brake.time"}},
		"shall in -205 deg to 12.5 deg": {Limit: []string{"<axis>.soft.<end>"},
			Comparison: verdict.Inside},
		"shall in 0.06 deg in azimuth and elevation, 0.2 deg in polarization H": {
			Limit: []string{"<axis>.lost_motion"}},
		"shall in a figure that this station does not give": {Limit: []string{"stow.time"}},
	} {
		q.Statement = "shall in {limit}"
		if got := limits.State(q); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	q := verdict.Requirement{Statement: "for {standstill.hold + brake.time}, as {brake.time}"}
	if got := limits.State(q); got != "for 310 ms, as 110 ms" {
		t.Errorf("%q", got)
	}
}
