package plant

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// modes is the two frequencies (Hz) of a mount and a reflector with motors held:
// the roots of (k+c-mx)(c-rx) = c^2 in x = w^2, any text on vibration has it.
func modes(k, c, mount, reflector float64) (low, high float64) {
	b, d := k*reflector+c*reflector+c*mount, k*c
	root := math.Sqrt(b*b - 4*mount*reflector*d)
	hz := func(x float64) float64 { return math.Sqrt(x) / (2 * math.Pi) }
	return hz((b - root) / (2 * mount * reflector)), hz((b + root) / (2 * mount * reflector))
}

// The stiffness from a mode puts the lowest of the two there.
func TestStiffnessFromMode_LowestRoot(t *testing.T) {
	for _, share := range []float64{0.1, 0.35, 0.8} {
		r := ReflectorParameters{MountShare: quantity.Ratio(share), Frequency: 6}
		k := StiffnessFromMode(95e3, r, 3.6)
		mount, reflector := share*95e3, (1-share)*95e3
		c := reflector * math.Pow(2*math.Pi*6, 2)
		low, _ := modes(float64(k), c, mount, reflector)
		near(t, "lowest mode", low, 3.6, 1e-9)
	}
	r := ReflectorParameters{MountShare: 0.5, Frequency: 3}
	near(t, "softer than the mode", float64(StiffnessFromMode(95e3, r, 3.6)), 0, 0)
	near(t, "one load", float64(StiffnessFromMode(95e3, ReflectorParameters{}, 3.6)),
		float64(StiffnessFrom(95e3, 3.6)), 0)
}

// Locked rotors, a reflector let go: load and reflector swing at the two modes and
// nothing else. Each is taken by starting in its shape; 40 swings to 0.1 %.
func TestStep_ReflectorModes(t *testing.T) {
	a := twoMass()
	a.Reflector = ReflectorParameters{MountShare: 0.4, Frequency: 5}
	mount, reflector := 0.4*1.2e5, 0.6*1.2e5
	c := reflector * math.Pow(2*math.Pi*5, 2)
	low, high := modes(1e7, c, mount, reflector)
	for _, hz := range []float64{low, high} {
		p := mustNew(t, station(a), step)
		omega := 2 * math.Pi * hz
		const twist = 1e-5
		p.state.Position[Azimuth] = twist
		p.main[Azimuth].optional.reflector.position = twist * c / (c - reflector*omega*omega)
		p.wake()
		in, crossings, was := &Input{}, 0, twist
		n := 0
		for crossings < 80 && n < 400_000 {
			p.Step(in)
			n++
			if at := p.State().Position[Azimuth]; at*was < 0 {
				crossings, was = crossings+1, at
			}
		}
		// The first crossing is after a quarter of a swing, the last after 39.75.
		near(t, "mode", 39.75/(float64(n)*step.Seconds()), hz, 0.001*hz)
	}
}

// On a mount that brakes hold the reflector's swing falls from peak to peak by
// exp(-2 pi zeta/sqrt(1 - zeta^2)), as any text on vibration has it.
func TestStep_ReflectorDampingRatio(t *testing.T) {
	const zeta = 0.03
	a := stations(t)[2].rigid()
	a.Reflector = ReflectorParameters{MountShare: 0.4, Frequency: 5, DampingRatio: zeta}
	p := mustNew(t, station(plain(a)), step)
	in, was := &Input{}, 0.0
	p.main[Azimuth].optional.reflector.position = 1e-5
	var peaks []float64
	for n := 0; len(peaks) < 6 && n < 40_000; n++ {
		p.Step(in)
		position, rate := p.Reflector(Azimuth)
		if was > 0 && rate <= 0 {
			peaks = append(peaks, position)
		}
		was = rate
	}
	if len(peaks) < 6 || p.State().Position[Azimuth] != 0 {
		t.Fatalf("%d peaks, mount at %g", len(peaks), p.State().Position[Azimuth])
	}
	for i := 1; i < len(peaks); i++ {
		want := math.Exp(-2 * math.Pi * zeta / math.Sqrt(1-zeta*zeta))
		near(t, "ratio of peaks", peaks[i]/peaks[i-1], want, 2e-3)
	}
}

// Held by its brakes under a constant wind, a complete axis comes to rest for good.
func TestStep_ReflectorComesToRest(t *testing.T) {
	a := stations(t)[2].complete()
	set := station(a)
	set.Axes[Elevation] = plain(a)
	p := mustNew(t, set, step)
	in := &Input{}
	in.External[Azimuth] = 30e3
	for range int(240 * time.Second / step) {
		p.Step(in)
	}
	at, rate := p.Reflector(Azimuth)
	load := p.State().Position[Azimuth]
	if rate != 0 || !p.main[Azimuth].still {
		t.Fatalf("still turns at %g rad/s after 240 s", rate)
	}
	k := p.main[Azimuth].optional.reflector.stiffness
	near(t, "wound by the wind", at-load, 30e3/k, 1e-9)
	for range int(60 * time.Second / step) {
		p.Step(in)
	}
	if now, _ := p.Reflector(Azimuth); now != at || p.State().Position[Azimuth] != load {
		t.Error("creeps")
	}
	if now, _ := p.Reflector(PolarizationH); now != p.State().Position[PolarizationH] {
		t.Error("a polarization axis has no reflector of its own")
	}
}

// An azimuth that turns freely keeps its momentum while the dish goes up, so it
// turns faster by the ratio of inertias, and elevation and azimuth together keep
// their energy: what one gains the other gave.
func TestStep_AzimuthLighterAtZenith(t *testing.T) {
	a := stations(t)[0].rigid()
	a.LoadInertia, a.LighterAtZenith = 50e3, 30e3
	elevation := plain(stations(t)[1].rigid())
	for _, apart := range []bool{false, true} {
		if apart {
			a.Reflector = ReflectorParameters{MountShare: 0.2, Frequency: 8, DampingRatio: 0.2}
		}
		set := station(a)
		set.Axes[Elevation] = elevation
		p := mustNew(t, set, step)
		in := &Input{}
		release(p, in)
		p.Place(Elevation, 10*degree)
		p.Step(in)
		p.turn(Azimuth, 0.2)
		p.turn(Elevation, 0.5)
		p.OpenBooks()
		for n := 0; n < 80_000 && p.State().Position[Elevation] < 80*degree; n++ {
			p.Step(in)
		}
		motors := 2 * float64(a.Motors[0].Inertia)
		at := func(el float64) float64 {
			return 50e3 - 30e3*math.Pow(math.Sin(el*degree), 2) + motors
		}
		near(t, "rate", p.State().Rate[Azimuth], 0.2*at(10)/at(80), 1e-3)
		az, el := p.Energy(Azimuth), p.Energy(Elevation)
		closes(t, "azimuth", az)
		closes(t, "elevation", el)
		if !(az.Coupled > 100) {
			t.Errorf("azimuth gained %g J", az.Coupled)
		}
		near(t, "given and taken", (az.Coupled+el.Coupled)/az.Coupled, 0, 1e-3)
	}
}

// Over the top is travel only: through 90 deg the rate stays, and gravity's torque,
// G cos(el), changes its sign.
func TestStep_OverTheTop(t *testing.T) {
	a := stations(t)[1].rigid()
	p := mustNew(t, station(plain(a)), step)
	in := &Input{}
	release(p, in)
	p.Place(Elevation, 80*degree)
	p.turn(Elevation, 2*degree)
	for p.State().Position[Elevation] < 120*degree {
		p.Step(in)
	}
	near(t, "rate past the top", p.State().Rate[Elevation], 2*degree, 1e-12)

	for _, at := range []float64{30, 90, 150} {
		set := station(plain(a))
		set.Axes[Elevation].Gravity = 1800
		p := mustNew(t, set, step)
		release(p, in)
		p.Place(Elevation, at*degree)
		p.Step(in)
		inertia := float64(a.LoadInertia + 2*a.Motors[0].Inertia)
		near(t, "gravity", p.State().Rate[Elevation]/step.Seconds()*inertia,
			1800*math.Cos(at*degree), 1e-6)
	}
}

// More than one turn of wrap: the angle counts on past 180 and 360 deg, the margin
// is what is left, the least of it stays, and beyond the reach it is torn.
func TestWrap_BeyondOneTurn(t *testing.T) {
	a := stations(t)[0].rigid()
	a.Limits.Buffer[Upper], a.Limits.Structure[Upper] = 500*quantity.Degree, 501*quantity.Degree
	a.Wrap = WrapParameters{Neutral: -20 * quantity.Degree, Reach: 400 * quantity.Degree}
	p := mustNew(t, station(plain(a)), step)
	in := &Input{}
	release(p, in)
	p.turn(Azimuth, 1)
	check := func(angle, margin, least float64, torn bool) {
		t.Helper()
		w, has := p.Wrap(Azimuth)
		near(t, "angle", w.Angle/degree, angle, 0.02)
		near(t, "margin", w.Margin/degree, margin, 0.02)
		near(t, "least margin", w.Least/degree, least, 0.02)
		if w.Torn != torn || !has {
			t.Errorf("torn %v, want %v", w.Torn, torn)
		}
	}
	to := func(deg float64) {
		for (p.State().Position[Azimuth]-deg*degree)*p.State().Rate[Azimuth] < 0 {
			p.Step(in)
		}
	}
	to(350)
	check(370, 30, 30, false)
	p.turn(Azimuth, -1)
	to(300)
	check(320, 80, 30, false)
	p.turn(Azimuth, 1)
	to(381)
	check(401, -1, -1, true)
	p.Place(Azimuth, 0)
	check(20, 380, 380, false)
	if _, has := p.Wrap(PolarizationV); has {
		t.Error("a polarization axis has no wrap")
	}
}

// What runs with everything on it does not allocate either.
func TestStep_CompleteDoesNotAllocate(t *testing.T) {
	a := stations(t)[2].complete()
	set := station(a)
	set.Axes[Elevation] = plain(a)
	p := mustNew(t, set, step)
	p.OpenBooks()
	in := &Input{}
	release(p, in)
	n := 0
	if allocated := testing.AllocsPerRun(2000, func() {
		n++
		in.MotorTorque[0], in.MotorTorque[2] = float64(n*10), float64(n)
		p.Step(in)
	}); allocated != 0 {
		t.Errorf("%v allocations a step", allocated)
	}
}

func BenchmarkStep_CompleteMoving(b *testing.B) {
	a := stations(b)[2].complete()
	set := station(a)
	set.Axes[Elevation] = plain(a)
	p := mustNew(b, set, step)
	in := &Input{}
	release(p, in)
	for n := 0; b.Loop(); n++ {
		torque := 4000 * math.Sin(float64(n)/1000)
		in.MotorTorque = [MotorCount]float64{
			torque + 8000, torque - 8000, torque + 7000, torque - 7000, 0, 0,
		}
		p.Step(in)
	}
}
