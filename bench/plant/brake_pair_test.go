package plant

import (
	"testing"
	"time"
)

// Two unequal brakes on a rigid axis stop it as their sum does (the
// category 0 formula with the sum of torques), each taking heat by its torque.
func TestBrake_UnequalShareByTorque(t *testing.T) {
	s := stations(t)[2]
	a, d := s.rigid(), s.duty()
	p := mustNew(t, station(a), step)
	p.Faults.BrakeScale[0], p.Faults.BrakeScale[1] = 0.35, 0.9
	in := &Input{}
	release(p, in)
	p.turn(Azimuth, float64(d.FullRate))
	in.BrakeCoil[0], in.BrakeCoil[1] = false, false
	from := p.State().Position[Azimuth]
	for range 4000 {
		p.Step(in)
	}
	weak := a
	weak.Motors = append([]MotorParameters(nil), a.Motors...)
	weak.Motors[0].BrakeTorque *= 0.35
	weak.Motors[1].BrakeTorque *= 0.9
	braking := Derive(weak, d).BrakeDeceleration
	want := CategoryZeroStop(d.FullRate, a.Motors[0].BrakeEngage, 0, braking)
	oneStep := float64(d.FullRate) * step.Seconds()
	near(t, "travel", p.State().Position[Azimuth]-from, float64(want.Travel), oneStep)
	e := p.State().BrakeEnergy
	near(t, "share of heat", e[0]/e[1], 0.35/0.9, 1e-9)
}

// Slipping brakes are driven through by what exceeds them: the rate grows by the
// rest of the torque, and the heat is grip times way. Drives off, nothing drags.
func TestBrake_SlippingPairUnderLoad(t *testing.T) {
	a := stations(t)[3].rigid()
	p := mustNew(t, station(a), step)
	p.Faults.BrakeScale[2], p.Faults.BrakeScale[3] = 0.1, 0.2
	in := &Input{}
	grip := 0.1*float64(a.Motors[0].BrakeTorque) + 0.2*float64(a.Motors[1].BrakeTorque)
	in.External[Elevation] = grip - 1
	for range 4000 {
		p.Step(in)
	}
	if rate := p.State().Rate[Elevation]; rate != 0 {
		t.Fatalf("slips at %g rad/s under less than its grip", rate)
	}
	from, inertia := p.State().Position[Elevation], float64(a.LoadInertia+2*a.Motors[0].Inertia)
	p.OpenBooks()
	in.External[Elevation] = grip + 1000
	const lasts = 2 * time.Second
	for range int(lasts / step) {
		p.Step(in)
	}
	s := p.State()
	near(t, "rate", s.Rate[Elevation], 1000/inertia*lasts.Seconds(), 1e-9)
	moved := s.Position[Elevation] - from
	near(t, "drop", moved, 1000/inertia*2, 1e-6)
	near(t, "heat", p.Energy(Elevation).Brake, grip*moved, 1e-6*grip*moved)
	if s.BrakeDragging[2] || !s.BrakeSet[2] {
		t.Error("a brake that slips under wind is set, and no drive drags it")
	}
}
