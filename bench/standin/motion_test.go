package standin

import (
	"fmt"
	"math"
	"testing"

	"haltmark/bench/seed"
)

const testCycle = 0.02 // s, the control cycle of the three stations

// stop runs the motion to rest and returns what it took.
func (m motion) stop(t *testing.T, s shape, dt float64) (travel, took float64) {
	t.Helper()
	start := m.position
	for n := 0; m.rate != 0 || m.acceleration != 0; n++ {
		if n > 20000 {
			t.Fatalf("never at rest: %+v", m)
		}
		m.towardRate(0, s, dt)
		took += dt
	}
	return m.position - start, took
}

// The kinematics of a ramp with limited jerk, of two round cases and of the
// stations' ramps, by their closed forms: travel v^2/(2a) + v*a/(2j),
// time v/a + a/j, one control cycle more or less.
func TestTowardRate_StopsAsTheKinematicsSay(t *testing.T) {
	for _, c := range []struct{ v, a, j, travel, took float64 }{
		{1, 0.5, 1, 1.450 - 1*0.20, 2.70 - 0.20},
		{2, 1, 4, 2.550 - 2*0.15, 2.40 - 0.15},
		{2.4, 2.2, 10, 2.4*2.4/4.4 + 2.4*2.2/20, 2.4/2.2 + 0.22},
		{1.6, 1.8, 8, 1.6*1.6/3.6 + 1.6*1.8/16, 1.6/1.8 + 0.225},
	} {
		t.Run(fmt.Sprint(c.v, c.a, c.j), func(t *testing.T) {
			for _, sign := range []float64{1, -1} {
				travel, took := motion{rate: sign * c.v}.stop(t, shape{c.a, c.j}, testCycle)
				if math.Abs(sign*travel-c.travel) > c.v*testCycle {
					t.Errorf("travel %.4f, want %.4f within %.4f", travel, c.travel, c.v*testCycle)
				}
				if math.Abs(took-c.took) > testCycle {
					t.Errorf("took %.4f s, want %.4f s within a cycle", took, c.took)
				}
			}
			travel, took := motion{rate: c.v}.stop(t, shape{c.a, c.j}, testCycle/100)
			if math.Abs(travel-c.travel) > 0.001 || math.Abs(took-c.took) > 0.001 {
				t.Errorf("at a fine step %.5f in %.5f s, want %.5f in %.5f s",
					travel, took, c.travel, c.took)
			}
		})
	}
}

func TestTowardRate_KeepsItsShape(t *testing.T) {
	draw := seed.Seed(1).Stream("rates")
	s := shape{0.04, 0.18}
	m := motion{}
	wanted := 0.0
	for n := range 20000 {
		if n%60 == 0 {
			wanted = 0.09 * (draw.Float64() - 0.5)
		}
		was := m
		m.towardRate(wanted, s, testCycle)
		arrived := m.rate == wanted && m.acceleration == 0
		if math.Abs(m.acceleration) > s.acceleration*(1+1e-9) {
			t.Fatalf("step %d: acceleration %g above %g", n, m.acceleration, s.acceleration)
		}
		if !arrived && math.Abs(m.acceleration-was.acceleration) > s.jerk*testCycle*(1+1e-9) {
			t.Fatalf("step %d: acceleration from %g to %g in one cycle", n, was.acceleration,
				m.acceleration)
		}
		if math.Abs(m.rate-was.rate) > s.acceleration*testCycle*(1+1e-9) {
			t.Fatalf("step %d: rate from %g to %g in one cycle", n, was.rate, m.rate)
		}
	}
}

// The distance that the closed form gives for the rate of brakingRate is the distance
// that brakingRate was given.
func TestBrakingRate_IsTheInverseOfTheStopDistance(t *testing.T) {
	draw := seed.Seed(2).Stream("distances")
	for range 2000 {
		a, j := 0.01+draw.Float64(), 0.05+5*draw.Float64()
		distance := 3 * draw.Float64()
		v := brakingRate(distance, shape{a, j})
		if back := v*v/(2*a) + v*a/(2*j); math.Abs(back-distance) > 1e-12+1e-9*distance {
			t.Fatalf("a %g, j %g: %g rad gives %g rad/s, which stops in %g rad", a, j, distance, v, back)
		}
	}
	// By hand: 1 deg/s, 0.5 deg/s^2, 1 deg/s^3 in 1.25 deg.
	if v := brakingRate(1.25, shape{0.5, 1}); math.Abs(v-1) > 1e-12 {
		t.Errorf("%g deg/s from 1.25 deg, want 1", v)
	}
	for _, none := range []float64{0, -1} {
		if v := brakingRate(none, shape{0.5, 1}); v != 0 {
			t.Errorf("%g rad/s from %g rad", v, none)
		}
	}
}

// settle runs the motion to its target and fails where it passes it, is too fast
// or never comes.
func settle(t *testing.T, target, rateMax float64, s shape) {
	t.Helper()
	m := motion{}
	// Generous: accelerate, travel, brake, creep.
	limit := math.Abs(target)/rateMax + 4*rateMax/s.acceleration + 4*s.acceleration/s.jerk + 5
	for n := 0; m.position != target || m.rate != 0 || m.acceleration != 0; n++ {
		if float64(n)*testCycle > limit {
			t.Fatalf("target %g at %g rad/s with %+v: not there after %.1f s: %+v",
				target, rateMax, s, limit, m)
		}
		m.towardPosition(target, rateMax, s, testCycle)
		if past := math.Copysign(1, target) * (m.position - target); past > 1e-9 {
			t.Fatalf("target %g at %g rad/s with %+v: passed by %g", target, rateMax, s, past)
		}
		// A rate wanted lower in the last cycle before it is met is passed by this.
		if math.Abs(m.rate) > rateMax*(1+1e-9)+s.jerk*testCycle*testCycle/8 {
			t.Fatalf("target %g: %g rad/s, allowed %g", target, m.rate, rateMax)
		}
	}
}

func TestTowardPosition_SettlesAndNeverPasses(t *testing.T) {
	const deg = math.Pi / 180
	draw := seed.Seed(3).Stream("targets")
	for range 100 {
		target := 60 * deg * (2*draw.Float64() - 1)
		settle(t, target, deg*(0.05+2.4*draw.Float64()),
			shape{deg * (0.5 + 3*draw.Float64()), deg * (5 + 35*draw.Float64())})
	}
	for _, target := range []float64{1e-9, 0.0001 * deg, 0.001 * deg, 0.01 * deg, 0.1 * deg} {
		settle(t, target, 2.4*deg, shape{1.5 * deg, 10 * deg})
		settle(t, -target, 2.4*deg, shape{1.5 * deg, 10 * deg})
	}
}

func FuzzTowardPosition(f *testing.F) {
	f.Add(12.5, 2.4, 1.5, 10.0)
	f.Add(-0.003, 0.2, 3.0, 40.0)
	f.Add(0.000415, 3.6, 0.79, 47.1) // nearer than a motion of one cycle
	f.Fuzz(func(t *testing.T, target, rate, acceleration, jerk float64) {
		inside := func(x, low, high float64) bool { return x >= low && x <= high }
		if !inside(math.Abs(target), 0.0001, 100) || !inside(rate, 0.05, 5) ||
			!inside(acceleration, 0.5, 5) || !inside(jerk, 2.5*acceleration, 50) {
			t.Skip("beyond what stations have")
		}
		const deg = math.Pi / 180
		settle(t, target*deg, rate*deg, shape{acceleration * deg, jerk * deg})
	})
}
