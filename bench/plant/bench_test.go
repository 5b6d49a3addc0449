package plant

import (
	"math"
	"testing"
)

// benchmarkStep steps all four axes in motion, ns per step.
func benchmarkStep(b *testing.B, moving bool) {
	s := stations(b)
	set := station(s[2].parameters())
	set.Axes[Elevation] = s[3].parameters()
	p := mustNew(b, set, step)
	in := &Input{}
	if moving {
		release(p, in)
	}
	var torque [4096]float64
	for i := range torque {
		torque[i] = 4000 * math.Sin(2*math.Pi*float64(i)/4096)
	}
	for n := 0; b.Loop(); n++ {
		if moving {
			t := torque[n%4096]
			in.MotorTorque = [MotorCount]float64{
				t + 8000, t - 8000, t + 7000, t - 7000, t / 100, -t / 100,
			}
		}
		p.Step(in)
	}
}

func BenchmarkStep_Moving(b *testing.B) { benchmarkStep(b, true) }

func BenchmarkStep_AtRest(b *testing.B) { benchmarkStep(b, false) }

func TestStep_DoesNotAllocate(t *testing.T) {
	p := mustNew(t, station(stations(t)[2].parameters()), step)
	in := &Input{}
	n := 0
	allocated := testing.AllocsPerRun(2000, func() {
		if n++; n%100 == 0 {
			in.BrakeCoil[0] = !in.BrakeCoil[0]
		}
		in.MotorTorque[0] = float64(n)
		p.Step(in)
	})
	if allocated != 0 {
		t.Errorf("%v allocations a step", allocated)
	}
}
