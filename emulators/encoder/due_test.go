package encoder

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// An encoder that leaves out the steps that it can do without tells, wherever it is
// read, to the bit what one that takes every step does, before it lies and while.
func TestDue_StepsLeftOutLeaveNoTrace(t *testing.T) {
	p := demo()
	p.SecondHead, p.SpeedGate = true, 7*time.Millisecond
	stepped, lazy := New(p), New(p)
	left, skipped := uint64(0), 0
	for n := range 4000 {
		now, angle := time.Duration(n)*h, 5*math.Sin(float64(n)/900)
		for _, e := range []*Encoder{stepped, lazy} {
			if n == 3000 {
				e.Faults.Scatter = 0.1 * quantity.Degree
				e.Second.Faults.Scatter = 0.2 * quantity.Degree
			}
		}
		stepped.Step(now, angle)
		read := n%17 == 0
		if now < lazy.Due() && !read {
			left++
			skipped++
			continue
		}
		lazy.Skip(left)
		left = 0
		lazy.Step(now, angle)
		if !read {
			continue
		}
		for id := range stepped.Quantities() {
			if got, want := lazy.Load(id), stepped.Load(id); got != want {
				t.Fatalf("step %d: %s %g, want %g", n, stepped.Quantities()[id], got, want)
			}
		}
		if got, want := lazy.Second.Told(), stepped.Second.Told(); got != want {
			t.Fatalf("step %d: the second head tells %g, want %g", n, got, want)
		}
	}
	if skipped < 2500 || skipped > 3000 {
		t.Errorf("%d steps of 3000 left out; nothing is shown by that", skipped)
	}
}
