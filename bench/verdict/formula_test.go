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
	below := func(limit float64) verdict.Formula { return verdict.Below(v, limit) }
	cases := []struct {
		name string
		f    verdict.Formula
		want float64
	}{
		{"G[0.4,0.6](v<0.2)", verdict.Always(window(400*ms, 600*ms), below(0.2)), 0.08},
		{"G[0.3,0.6](v<0.2)", verdict.Always(window(300*ms, 600*ms), below(0.2)), -0.10},
		{"not", verdict.Not(below(0.2)), 0.8},
		{"or", verdict.Or(verdict.Not(below(0.7)), below(1.1)), 0.3},
		{"implies", verdict.Implies(verdict.Not(below(0.7)), below(0.9)), -0.1},
	}
	for _, c := range cases {
		if got := verdict.RobustnessAt(c.f, 0); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: robustness %+.15f, want %+.2f", c.name, got, c.want)
		}
	}
}

// value is that of a signal, straight from its definition.
func value(s verdict.Signal, t time.Duration) float64 {
	v := s.Value[0]
	for i, at := range s.At {
		if at <= t {
			v = s.Value[i]
		}
	}
	return v
}

// Signals that change at whole nanoseconds can be checked at every nanosecond.
func TestRobustness_AgainstItsDefinition(t *testing.T) {
	stream := seed.Seed(17).Stream("formula")
	for range 300 {
		s := verdict.Signal{End: 40}
		for at := time.Duration(0); at <= 40; at += time.Duration(1 + stream.IntN(9)) {
			s.At = append(s.At, at)
			s.Value = append(s.Value, float64(stream.IntN(21)-10))
		}
		from := time.Duration(stream.IntN(12))
		w := window(from, from+time.Duration(stream.IntN(15)))
		always := verdict.Always(w, verdict.Below(s, 0)).Robustness()
		for at := time.Duration(0); at <= 40-w.From; at++ {
			want := math.Inf(1)
			for when := at + w.From; when <= min(at+w.Until, s.End); when++ {
				want = math.Min(want, -value(s, when))
			}
			if got := value(always, at); got != want {
				t.Fatalf("always %v of %v at %d: %v, want %v", w, s, at, got, want)
			}
		}
	}
}
