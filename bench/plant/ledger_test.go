package plant

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// complete is a column's axis with all that is optional on it.
func (s sheet) complete() AxisParameters {
	a := s.parameters()
	a.Reflector = ReflectorParameters{
		MountShare: 0.35, Frequency: 2 * quantity.Frequency(s.get("locked_rotor_hz")),
		DampingRatio: 0.01,
	}
	a.Gravity = quantity.Torque(s.get("unbalance_kn_m")) * quantity.KilonewtonMetre
	if s.axis() == Azimuth {
		a.LighterAtZenith = 0.3 * a.LoadInertia
	}
	a.Wrap = WrapParameters{Reach: 5 * quantity.Radian}
	return a
}

// closes fails where an account is open by more than half a percent of what went
// through it.
func closes(t *testing.T, what string, e Energy) {
	t.Helper()
	through := math.Abs(e.Drive) + math.Abs(e.Wind) + math.Abs(e.Coupled) + e.Heat()
	if !(math.Abs(e.Missing()) <= 0.005*through) {
		t.Errorf("%s: %.3g J of %.3g J missing: %+v", what, e.Missing(), through, e)
	}
	for _, heat := range []float64{e.Brake, e.Friction, e.Damping, e.End, e.Pin} {
		if heat < -1e-9*through {
			t.Errorf("%s: heat below zero: %+v", what, e)
		}
	}
}

// Every replayed scenario of the reference, and so every kind of stop, closes its
// books to 0.5 %: gear and reflector damping, buffers and drive work included.
func TestEnergy_ScenariosClose(t *testing.T) {
	for _, r := range references(t) {
		in := &Input{}
		p, axis := r.begin(t, step, in)
		p.OpenBooks()
		next := 0
		first, _ := axis.Motors()
		for n := range int(math.Round(r.Lasts / step.Seconds())) {
			for now := float64(n) * step.Seconds(); next < len(r.Inputs) &&
				now > r.Inputs[next].At-step.Seconds()/2; next++ {
				in.External[axis] = r.Inputs[next].External
				copy(in.MotorTorque[first:], r.Inputs[next].Motor)
				copy(in.BrakeCoil[first:first+2], r.Inputs[next].Coil)
			}
			p.Step(in)
		}
		e := p.Energy(axis)
		closes(t, r.Name, e)
		if e.Friction == 0 {
			t.Errorf("%s: no friction at all", r.Name)
		}
	}
}

// Category 0 stops from full rate of every design station, as it is and complete,
// rigid and elastic, with and against 20 m/s. What brakes took is what they say.
func TestEnergy_CategoryZeroStopsClose(t *testing.T) {
	for _, s := range stations(t) {
		for variant := range 8 {
			a, d := s.parameters(), s.duty()
			if variant&1 != 0 {
				a = s.complete()
			}
			if variant&2 != 0 {
				a.Stiffness = 0
			}
			wind := float64(d.WindTorque)
			if variant&4 != 0 {
				wind = -wind
			}
			set := station(a)
			set.Axes[1-s.axis()] = plain(a)
			p := mustNew(t, set, step)
			in := &Input{}
			release(p, in)
			axis := s.axis()
			p.turn(axis, float64(d.FullRate))
			p.OpenBooks()
			in.External[axis], in.BrakeCoil = wind, [MotorCount]bool{}
			for range int(3 * time.Second / step) {
				p.Step(in)
			}
			e := p.Energy(axis)
			closes(t, s.name, e)
			first, _ := axis.Motors()
			took := p.State().BrakeEnergy[first] + p.State().BrakeEnergy[first+1]
			near(t, s.name+" brake heat", e.Brake, took, 1e-6*took)
		}
	}
}

// plain is an axis without what only one main axis can have.
func plain(a AxisParameters) AxisParameters {
	a.LighterAtZenith, a.Gravity = 0, 0
	return a
}

// Terms by hand: a rigid axis without friction takes J w^2/2 and gives it all to
// one brake; a mass lifted against gravity by 30 deg holds G sin 30 deg more.
func TestEnergy_TermsByHand(t *testing.T) {
	a := stations(t)[3].rigid()
	a.Gravity = 9000
	p := mustNew(t, station(plain(a)), step)
	in := &Input{}
	release(p, in)
	p.turn(Elevation, 0.02)
	p.OpenBooks()
	inertia := float64(a.LoadInertia + 2*a.Motors[0].Inertia)
	near(t, "kinetic", p.Energy(Elevation).Kinetic, inertia*0.02*0.02/2, 1e-9*inertia)
	in.BrakeCoil = [MotorCount]bool{}
	for range 4000 {
		p.Step(in)
	}
	near(t, "brake", p.Energy(Elevation).Brake, inertia*0.02*0.02/2, 1e-9*inertia)

	set := station(plain(a))
	set.Axes[Elevation].Gravity = 9000
	p = mustNew(t, set, step)
	p.OpenBooks()
	p.Place(Elevation, 30*degree)
	from := p.Energy(Elevation).Gravity
	p.Place(Elevation, 60*degree)
	want := 9000 * (math.Sin(30*degree) - math.Sin(60*degree))
	near(t, "gravity", p.Energy(Elevation).Gravity-from, want, 1e-9)
}

// A polarization axis closes too: driven, stopped by its brake, driven into its end.
func TestEnergy_PolarizationCloses(t *testing.T) {
	p := mustNew(t, station(stations(t)[0].parameters()), step)
	in := &Input{}
	release(p, in)
	p.Place(PolarizationV, 85*degree)
	p.OpenBooks()
	motor, _ := PolarizationV.Motors()
	for n := range 40_000 {
		in.MotorTorque[motor] = 30
		if n > 20_000 {
			in.MotorTorque[motor], in.BrakeCoil[motor] = 0, false
		}
		p.Step(in)
	}
	if e := p.Energy(PolarizationV); e.End == 0 || e.Drive == 0 {
		t.Errorf("no end was reached: %+v", e)
	} else {
		closes(t, "polarization", e)
	}
}

// Keeping books changes nothing: the same motion with and without, bit for bit.
func TestEnergy_BooksDoNotMove(t *testing.T) {
	s := stations(t)[2]
	a := s.complete()
	set := station(a)
	set.Axes[Elevation] = plain(a)
	p, q := mustNew(t, set, step), mustNew(t, set, step)
	q.OpenBooks()
	in := &Input{}
	for n := range 20_000 {
		if n%1000 == 0 {
			coils(in)
			in.BrakeCoil[n/1000%4] = false
			for m := range in.MotorTorque {
				in.MotorTorque[m] = 9000 * math.Sin(float64(n+m))
			}
			in.External[n/1000%2] = 20e3 * math.Cos(float64(n))
		}
		p.Step(in)
		q.Step(in)
		if *p.State() != *q.State() {
			t.Fatalf("step %d: the motion differs", n)
		}
	}
	if p.Energy(Azimuth) != (Energy{}) {
		t.Error("books that nobody opened")
	}
}
