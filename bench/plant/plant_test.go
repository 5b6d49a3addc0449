package plant

import (
	"errors"
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

func TestNew_Refuses(t *testing.T) {
	for name, spoil := range map[string]func(a *AxisParameters){
		"one motor":           func(a *AxisParameters) { a.Motors = a.Motors[:1] },
		"no inertia":          func(a *AxisParameters) { a.LoadInertia = 0 },
		"no motor inertia":    func(a *AxisParameters) { a.Motors[1].Inertia = 0 },
		"inertia no number":   func(a *AxisParameters) { a.LoadInertia = quantity.Inertia(math.NaN()) },
		"friction below 0":    func(a *AxisParameters) { a.LoadCoulomb = -1 },
		"play no number":      func(a *AxisParameters) { a.Backlash = quantity.Angle(math.NaN()) },
		"too stiff":           func(a *AxisParameters) { a.Stiffness = 1e15 },
		"brake below 0":       func(a *AxisParameters) { a.Motors[0].BrakeTorque = -1 },
		"delay below 0":       func(a *AxisParameters) { a.Motors[0].BrakeEngage = -1 },
		"buffer past the end": func(a *AxisParameters) { a.Limits.Buffer[Upper] *= 2 },
		"breakaway for ever":  func(a *AxisParameters) { a.LoadBreakaway = 1 },
	} {
		a := stations(t)[2].parameters()
		spoil(&a)
		if _, err := New(station(a), step); !errors.Is(err, ErrParameters) {
			t.Errorf("%s: error %v", name, err)
		}
	}
	set := station(stations(t)[2].parameters())
	for _, h := range []time.Duration{0, 2 * time.Millisecond, -step} {
		if _, err := New(set, h); !errors.Is(err, ErrParameters) {
			t.Errorf("step %v: error %v", h, err)
		}
	}
	set.Axes[PolarizationV].LoadCoulomb = 0
	if _, err := New(set, step); !errors.Is(err, ErrParameters) {
		t.Errorf("self-holding gear without friction: error %v", err)
	}
}

// A plant begins at rest, brakes set, within the software limits, and owns its
// parameters.
func TestNew_Begins(t *testing.T) {
	s := stations(t)
	set := station(s[2].parameters())
	set.Axes[Elevation] = s[3].parameters()
	p := mustNew(t, set, step)
	near(t, "azimuth", p.State().Position[Azimuth], 0, 0)
	near(t, "elevation", p.State().Position[Elevation]/degree, 5, 1e-12)
	if p.State().BrakeSet != [MotorCount]bool{true, true, true, true, true, true} {
		t.Error("not all brakes set")
	}
	set.Axes[Azimuth].Motors[0].Inertia = 0
	p.Step(&Input{})
	if p.set.Axes[Azimuth].Motors[0].Inertia == 0 {
		t.Error("parameters are shared with the caller")
	}
}

func TestAxis_MotorsAgreeWithTables(t *testing.T) {
	seen := 0
	for axis := Azimuth; axis < AxisCount; axis++ {
		first, count := axis.Motors()
		for k := first; k < first+count; k++ {
			seen++
			want := axis.String() + "." + string(rune('1'+k-first))
			if MotorAxis[k] != axis || MotorNames[k] != want {
				t.Errorf("motor %d: %v %s, want %v %s", k, MotorAxis[k], MotorNames[k], axis, want)
			}
		}
	}
	if seen != MotorCount {
		t.Errorf("%d motors, want %d", seen, MotorCount)
	}
}

// What is no number must show, not hide as an axis at rest.
func TestStep_NoNumberStaysNone(t *testing.T) {
	for _, rigid := range []bool{true, false} {
		a := stations(t)[2].parameters()
		if rigid {
			a.Stiffness = 0
		}
		p := mustNew(t, station(a), step)
		in := &Input{}
		in.External[Azimuth] = math.NaN()
		p.Step(in)
		p.Step(in)
		if !math.IsNaN(p.State().Rate[Azimuth]) {
			t.Errorf("rigid %v: rate %v", rigid, p.State().Rate[Azimuth])
		}
		if p.State().Rate[Elevation] != 0 {
			t.Error("another axis was touched")
		}
	}
}

// An axis left out of a step because nothing acts on it anew moves as if it had
// been stepped: the same run with every axis stepped every time, bit for bit, while
// torques, coils and faults come and go.
func TestStep_RestIsBitIdentical(t *testing.T) {
	s := stations(t)
	for _, stiffness := range []float64{1, 0} {
		set := station(s[2].parameters())
		set.Axes[Elevation] = s[5].parameters()
		for i := range MainAxes {
			set.Axes[i].Stiffness *= quantity.Stiffness(stiffness)
		}
		skips, steps := mustNew(t, set, step), mustNew(t, set, step)
		in := &Input{}
		skipped := 0
		for n := range 400_000 {
			busy := n/8000%3 == 1
			drive(in, n, busy)
			scale := 1.0
			if n/16000%5 == 4 {
				scale = 0.25
			}
			skips.Faults.BrakeScale[0], steps.Faults.BrakeScale[0] = scale, scale
			steps.wake()
			skips.Step(in)
			steps.Step(in)
			if *skips.State() != *steps.State() {
				t.Fatalf("stiffness %v: runs part at step %d", stiffness, n)
			}
			if skips.main[Azimuth].still {
				skipped++
			}
		}
		if skipped < 10_000 || skipped > 390_000 {
			t.Errorf("%d of 400000 steps at rest: the test shows nothing", skipped)
		}
	}
}

// drive sets torques and coils: a busy span with brakes off, a quiet one with them
// set under a steady push.
func drive(in *Input, n int, busy bool) {
	*in = Input{}
	in.External[Azimuth] = 2e4
	in.External[Elevation] = -1e5 * float64(n/40_000%2)
	if !busy {
		return
	}
	coils(in)
	swing := math.Sin(float64(n) / 900)
	in.MotorTorque = [MotorCount]float64{
		4e4 * swing, 3e4 * swing, 2e5 * swing, -1e5 * swing, 30 * swing, -40 * swing,
	}
}
