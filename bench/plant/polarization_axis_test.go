package plant

import (
	"math"
	"testing"
)

// polar steps the polarization axis H alone under a torque.
func polar(p *Plant, in *Input, torqueNm float64, steps int) {
	in.MotorTorque[4] = torqueNm
	for range steps {
		p.Step(in)
	}
}

// A gear that holds by itself: nothing on the load moves it, brakes off or on.
func TestPolarization_HoldsByItself(t *testing.T) {
	p := mustNew(t, station(twoMass()), step)
	in := &Input{}
	release(p, in)
	p.Place(PolarizationH, 10*degree)
	in.External[PolarizationH] = 1e6
	before := *p.State()
	polar(p, in, 0, 40_000)
	if p.State().Position != before.Position {
		t.Errorf("moved to %g deg", p.State().Position[PolarizationH]/degree)
	}
}

// Below its friction a motor does not move; above it, by Newton's law. Its own
// friction stops it once the torque has gone.
func TestPolarization_MotorMovesIt(t *testing.T) {
	set := polarization() // 60 kg m^2, 20 N m of friction
	set.LoadViscous, set.Backlash = 0, 0
	all := station(twoMass())
	all.Axes[PolarizationH] = set
	p := mustNew(t, all, step)
	in := &Input{}
	release(p, in)
	polar(p, in, 19.9, 4000)
	near(t, "position under 19.9 N m", p.State().Position[PolarizationH], 0, 0)
	polar(p, in, 20.6, 4000) // 0.6 N m net, 0.01 rad/s^2
	near(t, "rate after 1 s", p.State().Rate[PolarizationH], 0.01, 1e-12)
	near(t, "travel in 1 s", p.State().Position[PolarizationH], 0.005, 1e-9)
	polar(p, in, 0, 4000)
	near(t, "rate at the end", p.State().Rate[PolarizationH], 0, 0)
	near(t, "coasting", p.State().Position[PolarizationH]-0.005, 0.01*0.01/2/(20.0/60), 1e-6)
}

// On reversal the load waits until the motor has crossed the play, 0.10 deg
// on every shipped station.
func TestPolarization_LostMotion(t *testing.T) {
	p := mustNew(t, station(twoMass()), step)
	in := &Input{}
	release(p, in)
	polar(p, in, 25, 4000)
	polar(p, in, 0, 4000)
	load, motor := p.State().Position[PolarizationH], p.State().MotorPosition[4]
	near(t, "motor ahead", (motor-load)/degree, 0.05, 1e-12)
	for p.State().Position[PolarizationH] == load {
		polar(p, in, -22, 1)
		if p.State().Rate[PolarizationH] == 0 {
			motor = math.Min(motor, p.State().MotorPosition[4])
		}
	}
	near(t, "lost motion", (load+0.05*degree-motor)/degree, 0.1, 1e-4)
}

// Travel ends stop the axis hard, are told, and let it go again.
func TestPolarization_TravelEnds(t *testing.T) {
	for _, way := range []float64{1, -1} {
		p := mustNew(t, station(twoMass()), step)
		in := &Input{}
		release(p, in)
		p.Place(PolarizationH, way*94.9*degree)
		polar(p, in, way*22, 20_000)
		at := way * p.State().Position[PolarizationH] / degree
		near(t, "position at the end", at, 95, 0.01)
		if !p.State().StructureHit[PolarizationH] || p.State().StructureHit[PolarizationV] {
			t.Error("the hit was not told, or of the wrong axis")
		}
		leaning := p.State().Position
		polar(p, in, way*22, 40_000)
		if p.State().Position != leaning {
			t.Error("creeps while it leans on its end")
		}
		polar(p, in, -way*25, 8000)
		if back := way * p.State().Position[PolarizationH] / degree; back > 94 {
			t.Errorf("stuck at %g deg", back)
		}
	}
}

// A shaft brake and the gear's friction share what they stop by size: 40 to 20 N m.
func TestPolarization_BrakeEnergy(t *testing.T) {
	set := polarization() // 60 kg m^2
	set.LoadViscous = 0
	all := station(twoMass())
	all.Axes[PolarizationH] = set
	p := mustNew(t, all, step)
	p.turn(PolarizationH, 0.03)
	for range 4000 {
		p.Step(&Input{})
	}
	near(t, "energy", p.State().BrakeEnergy[4], 0.5*60*0.03*0.03*40/60, 1e-6)
}
