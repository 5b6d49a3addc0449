package interlock

import (
	"testing"
	"time"

	"haltmark/bench/plant"
)

// The budget of one step is 40 ns, without allocation.
func BenchmarkStep(b *testing.B) {
	u, err := New(demo())
	if err != nil {
		b.Fatal(err)
	}
	horn := id(b, "horn")
	in := Input{Standstill: [plant.AxisCount]bool{}}
	b.ReportAllocs()
	now := time.Duration(0)
	for n := 0; b.Loop(); n++ {
		if n%80 == 0 { // a controller's cycle of 20 ms
			if err := u.Store(horn, 0); err != nil {
				b.Fatal(err)
			}
		}
		now += step
		u.Step(now, &in)
	}
}
