package plant

import (
	"errors"
	"math"
	"strings"
	"testing"

	"haltmark/bench/quantity"
)

// pinned is a small elevation with a stow pin at 90 deg, a tenth of a degree of
// play, that shears at 60 kN m.
func pinned(t testing.TB) (*Plant, *Input) {
	a := stations(t)[1].parameters()
	a.Pin = PinParameters{At: 90 * quantity.Degree, Play: 0.1 * quantity.Degree, Shear: 60e3}
	p := mustNew(t, station(a), step)
	in := &Input{}
	release(p, in)
	return p, in
}

func steps(p *Plant, in *Input, n int) {
	for range n {
		p.Step(in)
	}
}

// Common practice: pins go in only at standstill. In motion, out of line, or too soon
// after motion the pin does not go in, and says so; still and aligned it does.
func TestPin_OnlyStillAndAligned(t *testing.T) {
	for _, c := range []struct {
		name     string
		at, rate float64 // deg, deg/s
		steps    int
		in       bool
	}{
		{"still and aligned", 90, 0, 1, true},
		{"within the play", 90.04, 0, 1, true},
		{"out of line", 90.06, 0, 4000, false},
		{"out of line, lower", 89.94, 0, 4000, false},
		{"passing through", 89.5, 3, 1300, false},
	} {
		p, in := pinned(t)
		p.Place(Elevation, c.at*degree)
		p.Step(in)
		if c.rate != 0 {
			p.turn(Elevation, c.rate*degree)
		}
		in.Pin[Elevation] = true
		was := false
		for range c.steps {
			p.Step(in)
			was = was || p.Pin(Elevation).In
		}
		if was != c.in || p.Pin(Elevation).Missed == c.in {
			t.Errorf("%s: %+v", c.name, p.Pin(Elevation))
		}
	}
}

// A load that creeps more slowly than a standstill switch sees, as under a drive
// that holds, is still after 200 ms and not before.
func TestPin_SlowIsStillAfterAWhile(t *testing.T) {
	p, in := pinned(t)
	p.Place(Elevation, 90*degree)
	p.turn(Elevation, 1*degree)
	p.Step(in)
	in.Pin[Elevation] = true
	n := 0
	for ; !p.Pin(Elevation).In && n < 4000; n++ {
		p.turn(Elevation, 1e-4)
		p.Step(in)
	}
	if n < 795 || n > 802 {
		t.Errorf("in after %d steps, want 800", n)
	}
	in.Pin[Elevation] = false
	p.Step(in)
	if p.Pin(Elevation).In {
		t.Error("does not come out")
	}
}

// A pin that is in holds the load within its play, brakes open, against anything
// below its shear torque, without creep; what it took is the push.
func TestPin_Holds(t *testing.T) {
	for _, push := range []float64{50e3, -50e3} {
		p, in := pinned(t)
		p.Place(Elevation, 90*degree)
		in.Pin[Elevation] = true
		steps(p, in, 10)
		for n := range 40_000 { // grows over 10 s, so that nothing swings
			in.External[Elevation] = push * math.Min(1, float64(n)/40_000)
			p.Step(in)
		}
		steps(p, in, 40_000)
		s := p.State()
		if !p.Pin(Elevation).In || s.Rate[Elevation] != 0 {
			t.Fatalf("%+v at %g rad/s", p.Pin(Elevation), s.Rate[Elevation])
		}
		at := s.Position[Elevation]
		off := math.Copysign(0.05, push) +
			(push-math.Copysign(400, push))/p.main[Elevation].optional.pin.hole.structure/degree
		near(t, "where it leans", at/degree-90, off, 1e-3)
		near(t, "torque", p.Pin(Elevation).PeakNm, math.Abs(push)-400, 0.1*math.Abs(push))
		steps(p, in, 240_000)
		if p.State().Position[Elevation] != at {
			t.Error("creeps on its pin")
		}
	}
}

// Driven through, it shears: recorded with the torque, no resistance after it, it
// does not go in again, and the books close with what it took.
func TestPin_Shears(t *testing.T) {
	p, in := pinned(t)
	p.Place(Elevation, 90*degree)
	in.Pin[Elevation] = true
	steps(p, in, 10)
	p.OpenBooks()
	for n := range 40_000 { // leant on gently the pin bears what both motors have
		each := 16e3 * float64(n) / 40_000
		in.MotorTorque[2], in.MotorTorque[3] = each, each
		p.Step(in)
	}
	if p.Pin(Elevation).Sheared {
		t.Fatalf("sheared by drives alone: %+v", p.Pin(Elevation))
	}
	in.External[Elevation] = 70e3
	steps(p, in, 400)
	pin := p.Pin(Elevation)
	if !pin.Sheared || pin.In || pin.ShearNm < 60e3 || pin.ShearNm > 120e3 {
		t.Errorf("%+v", pin)
	}
	if p.State().Position[Elevation] < 90.2*degree {
		t.Error("held by a pin that is gone")
	}
	e := p.Energy(Elevation)
	closes(t, "sheared", e)
	if !(e.Pin > 0) {
		t.Error("took nothing")
	}
	// The spring of a pin is stiff and holds little: what it held is heat too.
	near(t, "missing", e.Missing(), 0, 0.02)
	in.External[Elevation], in.MotorTorque = 0, [MotorCount]float64{}
	in.Pin[Elevation] = false
	p.Step(in)
	p.turn(Elevation, 0)
	p.state.Position[Elevation] = 90 * degree
	p.main[Elevation].optional.pin.rested = true // as if it had come back and stood
	in.Pin[Elevation] = true
	p.Step(in)
	if p.Pin(Elevation).In || !p.Pin(Elevation).Sheared {
		t.Error("whole again")
	}
	p.Place(Elevation, 90*degree)
	if p.Pin(Elevation).Sheared {
		t.Error("placed anew it is whole")
	}
}

// One message for each thing that New does not take.
func TestNew_RefusesMore(t *testing.T) {
	for _, c := range []struct {
		says   string
		change func(*Parameters)
	}{
		{"elevation: inertia that goes", func(p *Parameters) { p.Axes[1].LighterAtZenith = 1 }},
		{"polarization_h: reflector, gr", func(p *Parameters) { p.Axes[2].Gravity = 1 }},
		{"azimuth: mount has", func(p *Parameters) { p.Axes[0].Reflector.MountShare = 1 }},
		{"azimuth: reflector apart", func(p *Parameters) { p.Axes[0].Reflector.MountShare = 0.5 }},
		{"azimuth: damping of", func(p *Parameters) { p.Axes[0].Reflector.DampingRatio = -1 }},
		{"azimuth: azimuth is lighter", func(p *Parameters) {
			p.Axes[0].LighterAtZenith = p.Axes[0].LoadInertia
		}},
		{"azimuth: reflector swings", func(p *Parameters) {
			p.Axes[0].Reflector = ReflectorParameters{MountShare: 0.5, Frequency: 200}
		}},
		{"azimuth: gear swings", func(p *Parameters) {
			p.Axes[0].Reflector = ReflectorParameters{MountShare: 0.0005, Frequency: 5}
		}},
		{"elevation: play or shear", func(p *Parameters) { p.Axes[1].Pin.Play = -1 }},
		{"elevation: play or shear", func(p *Parameters) { p.Axes[1].Wrap.Reach = -1 }},
	} {
		set := station(stations(t)[2].parameters())
		c.change(&set)
		_, err := New(set, step)
		if !errors.Is(err, ErrParameters) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
}
