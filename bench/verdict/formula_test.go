package verdict_test

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

const ms = time.Millisecond

// stl is the signal of the worked values: t = 0, 0.1 ... 0.6.
func stl() verdict.Signal {
	s := verdict.Signal{End: 600 * ms}
	for i, v := range []float64{1, 0.8, 0.55, 0.3, 0.12, 0.04, 0} {
		s.At = append(s.At, time.Duration(i)*100*ms)
		s.Value = append(s.Value, v)
	}
	return s
}

func window(from, until time.Duration) verdict.Window {
	return verdict.Window{From: from, Until: until}
}

// Worked by hand from the robustness semantics of Fainekos and Pappas (TCS 410,
// 2009) and Donze and Maler (2010); exact to 1e-12.
func TestRobustness_WorkedValues(t *testing.T) {
	v := stl()
	cases := []struct {
		name string
		f    verdict.Formula
		want float64
	}{
		{"G[0.4,0.6](v<0.2)", verdict.Always(window(400*ms, 600*ms), verdict.Below(v, 0.2)), 0.08},
		{"F[0,0.5](v<0.05)", verdict.Eventually(window(0, 500*ms), verdict.Below(v, 0.05)), 0.01},
		{"(v<1.2)U[0,0.5](v<0.05)", verdict.Until(window(0, 500*ms), verdict.Below(v, 1.2),
			verdict.Below(v, 0.05)), 0.01},
		{"G[0.3,0.6](v<0.2)", verdict.Always(window(300*ms, 600*ms), verdict.Below(v, 0.2)), -0.10},
		// The same semantics on the operators beside them.
		{"not", verdict.Not(verdict.Below(v, 0.2)), 0.8},
		{"and", verdict.And(verdict.Above(v, 0.7), verdict.Below(v, 1.1)), 0.1},
		{"or", verdict.Or(verdict.Above(v, 0.7), verdict.Below(v, 1.1)), 0.3},
		{"implies", verdict.Implies(verdict.Above(v, 0.7), verdict.Below(v, 0.9)), -0.1},
		{"(v>0.5)U[0,0.5](v<0.05), f fails first", verdict.Until(window(0, 500*ms),
			verdict.Above(v, 0.5), verdict.Below(v, 0.05)), -0.2},
	}
	for _, c := range cases {
		if got := verdict.RobustnessAt(c.f, 0); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: robustness %+.15f, want %+.2f", c.name, got, c.want)
		}
	}
}

// definition evaluates a temporal operator straight from its definition, on a
// grid that holds every instant at which a piecewise constant signal can change.
type definition struct{ f, g verdict.Signal }

func (d definition) value(s verdict.Signal, t time.Duration) float64 {
	v := s.Value[0]
	for i, at := range s.At {
		if at <= t {
			v = s.Value[i]
		}
	}
	return v
}

func (d definition) always(w verdict.Window, t time.Duration) float64 {
	least := math.Inf(1)
	for when := t + w.From; when <= min(t+w.Until, d.f.End); when++ {
		least = math.Min(least, d.value(d.f, when))
	}
	return least
}

func (d definition) until(w verdict.Window, t time.Duration) float64 {
	best := math.Inf(-1)
	for when := t + w.From; when <= min(t+w.Until, d.f.End); when++ {
		before := math.Inf(1)
		for x := t; x < when; x++ {
			before = math.Min(before, d.value(d.f, x))
		}
		best = math.Max(best, math.Min(d.value(d.g, when), before))
	}
	return best
}

// Signals that change at whole nanoseconds can be checked at every nanosecond.
func TestRobustness_AgainstItsDefinition(t *testing.T) {
	stream := seed.Seed(17).Stream("formula")
	random := func() verdict.Signal {
		s := verdict.Signal{End: 40}
		for at := time.Duration(0); at <= 40; at += time.Duration(1 + stream.IntN(9)) {
			s.At = append(s.At, at)
			s.Value = append(s.Value, float64(stream.IntN(21)-10))
		}
		return s
	}
	for range 300 {
		d := definition{random(), random()}
		from := time.Duration(stream.IntN(12))
		w := window(from, from+time.Duration(stream.IntN(15)))
		f, g := verdict.Above(d.f, 0), verdict.Above(d.g, 0)
		always, until := verdict.Always(w, f).Robustness(), verdict.Until(w, f, g).Robustness()
		for at := time.Duration(0); at <= 40-w.From; at++ {
			if got, want := d.value(always, at), d.always(w, at); got != want {
				t.Fatalf("always %v of %v at %d: %v, want %v", w, d.f, at, got, want)
			}
			if got, want := d.value(until, at), d.until(w, at); got != want {
				t.Fatalf("until %v of %v, %v at %d: %v, want %v", w, d.f, d.g, at, got, want)
			}
		}
	}
}
