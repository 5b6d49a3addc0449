package plant

import (
	"math"
	"testing"

	"haltmark/bench/quantity"
)

// runaway drives an axis at full rate into an end with everything that counts
// against the buffer: both motors at peak, wind and unbalance.
func runaway(t *testing.T, s sheet, a AxisParameters, way float64) *Plant {
	p := mustNew(t, station(a), step)
	in := &Input{}
	release(p, in)
	axis, d := s.axis(), s.duty()
	first, _ := axis.Motors()
	end := Upper
	if way < 0 {
		end = Lower
	}
	p.Place(axis, float64(a.Limits.Buffer[end])-way*1e-5)
	p.turn(axis, way*float64(d.FullRate))
	in.External[axis] = way * float64(d.WindTorque+a.Unbalance)
	for i := range 2 {
		in.MotorTorque[first+i] = way * float64(d.PeakTorque)
	}
	for range 8000 {
		p.Step(in)
	}
	return p
}

// Rule 5 of testdata/SOURCES.md: a buffer of the energy needed (its derived figure) takes a
// runaway at full rate within its stroke, and hardly less would not: nine tenths
// of it lets the axis through to the structure. Rigid axis without friction.
func TestEnds_BufferOfTheEnergyNeeded(t *testing.T) {
	for _, s := range stations(t) {
		for _, way := range []float64{1, -1} {
			a := s.rigid()
			// Half a joule of print, a hundredth of a millidegree of approach.
			a.BufferEnergy = 1.002 * quantity.Energy(s.get("buffer_needed_j"))
			if p := runaway(t, s, a, way); p.State().StructureHit[s.axis()] {
				t.Errorf("%s: structure hit behind a full buffer", s.name)
			}
			a.BufferEnergy *= 0.9
			p := runaway(t, s, a, way)
			if !p.State().StructureHit[s.axis()] {
				t.Errorf("%s: nine tenths of the buffer held", s.name)
			}
			if p.State().StructureDepth[s.axis()] > 0.05*degree {
				t.Errorf("%s: the structure gave way %.3f deg", s.name,
					p.State().StructureDepth[s.axis()]/degree)
			}
		}
	}
}

// The buffer's energy is what the axis lost going in: kinetic energy and the work
// of what pushes. It then stands against the push without creeping.
func TestEnds_BufferEnergyBalances(t *testing.T) {
	for _, s := range stations(t) {
		a, d := s.rigid(), s.duty()
		a.BufferEnergy *= 2
		p := mustNew(t, station(a), step)
		in := &Input{}
		release(p, in)
		axis := s.axis()
		p.Place(axis, float64(a.Limits.Buffer[Upper]))
		p.turn(axis, float64(d.FullRate))
		in.External[axis] = float64(d.WindTorque)
		for p.State().Rate[axis] > 0 {
			p.Step(in)
		}
		depth := p.State().BufferDepth[axis]
		kinetic := float64(KineticEnergy(Derive(a, d).Inertia, d.FullRate))
		want := kinetic + float64(d.WindTorque)*depth
		near(t, s.name+" energy", p.State().BufferEnergy[axis], want, 0.005*want)
		stroke := float64(a.Limits.Structure[Upper] - a.Limits.Buffer[Upper])
		law := float64(a.BufferEnergy) * (depth / stroke) * (depth / stroke)
		near(t, s.name+" energy by depth", p.State().BufferEnergy[axis], law, 1e-9*law)
	}
}

// On return a buffer gives back a fifth of what it took, the structure a tenth, as
// this package chose; more than it took would be a defect in any case. Without
// push or friction that is the kinetic energy of the rebound.
func TestEnds_DissipateOnReturn(t *testing.T) {
	s := stations(t)[2]
	for _, c := range []struct {
		name   string
		energy quantity.Energy
		back   float64
	}{{"buffer", 500, 0.2}, {"structure", 0, 0.1}} {
		a := s.rigid()
		a.BufferEnergy = c.energy
		p := mustNew(t, station(a), step)
		in := &Input{}
		release(p, in)
		p.Place(Azimuth, float64(a.Limits.Buffer[Upper]))
		p.turn(Azimuth, float64(s.duty().FullRate))
		for range 12_000 {
			p.Step(in)
		}
		rebound := p.State().Rate[Azimuth] / float64(s.duty().FullRate)
		near(t, c.name+" rebound", rebound, -math.Sqrt(c.back), 0.02)
		if d := p.State().BufferDepth[Azimuth]; d != 0 {
			t.Errorf("%s: depth %g after the rebound", c.name, d)
		}
	}
}

// A buffer pressed by what cannot overcome it, nor what it gives back, holds the
// load still bit for bit. (The motors, free and without friction of their own, may
// drift within their play.)
func TestEnds_LeaningDoesNotCreep(t *testing.T) {
	s := stations(t)[2]
	a := s.parameters()
	p := mustNew(t, station(a), step)
	in := &Input{}
	release(p, in)
	p.Place(Azimuth, float64(a.Limits.Buffer[Lower]))
	in.External[Azimuth] = -1e5
	for range 40_000 {
		p.Step(in)
	}
	settled := p.State().Position[Azimuth]
	for range 240_000 {
		p.Step(in)
	}
	if p.State().Position[Azimuth] != settled || p.State().BufferDepth[Azimuth] == 0 {
		t.Errorf("moved from %g to %g deg in 60 s", settled/degree,
			p.State().Position[Azimuth]/degree)
	}
}

// Each touch is told apart: the energy of the second is not added to the first's,
// and return takes nothing off it. Without push each is the kinetic energy.
func TestEnds_EnergyOfEachTouch(t *testing.T) {
	s := stations(t)[2]
	a := s.rigid()
	p := mustNew(t, station(a), step)
	in := &Input{}
	release(p, in)
	p.Place(Azimuth, float64(a.Limits.Buffer[Upper])-1e-6)
	kinetic := float64(KineticEnergy(Derive(a, s.duty()).Inertia, 0.01))
	for range 2 {
		p.turn(Azimuth, 0.01)
		for range 4000 {
			p.Step(in)
		}
		if p.State().BufferDepth[Azimuth] != 0 {
			t.Fatal("still in the buffer")
		}
		near(t, "energy of a touch", p.State().BufferEnergy[Azimuth], kinetic, 0.005*kinetic)
	}
}

// Brakes, friction and a buffer that stop a rigid axis together share its energy,
// at either end.
func TestEnds_BrakedInTheBuffer(t *testing.T) {
	s := stations(t)[2]
	a := s.parameters()
	a.Stiffness, a.LoadViscous, a.BufferEnergy = 0, 0, 10*a.BufferEnergy
	start := float64(KineticEnergy(Derive(a, s.duty()).Inertia, 0.04))
	for end, way := range []float64{-1, 1} {
		p := mustNew(t, station(a), step)
		in := &Input{} // brakes set
		p.Place(Azimuth, float64(a.Limits.Buffer[end]))
		p.turn(Azimuth, way*0.04)
		for p.State().Rate[Azimuth]*way > 0 {
			p.Step(in)
		}
		st := p.State()
		friction := float64(a.LoadCoulomb) * st.BufferDepth[Azimuth]
		brakes := st.BrakeEnergy[0] + st.BrakeEnergy[1]
		buffer := st.BufferEnergy[Azimuth]
		near(t, "energy", brakes+friction+buffer, start, 0.005*start)
		if buffer < 0.05*start {
			t.Errorf("the buffer took only %g J of %g", buffer, start)
		}
	}
}

// Moved inward, as for a controller that believes wrongly, the structure is where
// it was put, and a placed axis starts with a clean record.
func TestPlant_SetLimits(t *testing.T) {
	a := stations(t)[2].parameters()
	p := mustNew(t, station(a), step)
	moved := a.Limits
	moved.Buffer[Upper], moved.Structure[Upper] = 1*quantity.Degree, 2*quantity.Degree
	if err := p.SetLimits(Azimuth, moved); err != nil {
		t.Fatal(err)
	}
	p.Place(Azimuth, 1.5*degree)
	near(t, "depth", p.State().BufferDepth[Azimuth], 0.5*degree, 1e-12)
	p.Place(Azimuth, 2.1*degree)
	if !p.State().StructureHit[Azimuth] {
		t.Error("beyond the structure, and not hit")
	}
	p.Place(Azimuth, 0)
	if p.State().StructureHit[Azimuth] || p.State().BufferDepth[Azimuth] != 0 {
		t.Error("a placed axis remembers its ends")
	}
	moved.Structure[Upper] = 0
	if p.SetLimits(Azimuth, moved) == nil || p.SetLimits(PolarizationH, a.Limits) == nil {
		t.Error("limits out of order, or of a polarization axis, were taken")
	}
}

// The chain of the demo azimuth: pre-limit 207.6, final limit 210.4 deg.
func TestLimitChain_Actuated(t *testing.T) {
	chain := stations(t)[2].chain()
	for _, row := range []struct {
		deg        float64
		pre, final [2]bool
	}{
		{0, [2]bool{}, [2]bool{}},
		{207.59, [2]bool{}, [2]bool{}},
		{207.61, [2]bool{Upper: true}, [2]bool{}},
		{210.39, [2]bool{Upper: true}, [2]bool{}},
		{210.41, [2]bool{Upper: true}, [2]bool{Upper: true}},
		{250, [2]bool{Upper: true}, [2]bool{Upper: true}},
		{-207.59, [2]bool{}, [2]bool{}},
		{-207.61, [2]bool{Lower: true}, [2]bool{}},
		{-210.41, [2]bool{Lower: true}, [2]bool{Lower: true}},
	} {
		got := chain.Actuated(quantity.Angle(row.deg * degree))
		if got.PreLimit != row.pre || got.FinalLimit != row.final {
			t.Errorf("at %g deg: %+v", row.deg, got)
		}
	}
}
