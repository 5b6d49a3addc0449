package plant

import (
	"math"
	"testing"
)

// StepMotion goes as Step does, to the bit. An axis that stands was as it is before its
// last step; a plant that rests will be as it is after the next.
func TestStepMotion_IsStep(t *testing.T) {
	set := station(stations(t)[2].parameters())
	set.Axes[Elevation] = stations(t)[3].parameters()
	stepped, carried := mustNew(t, set, step), mustNew(t, set, step)
	rested, carries, stood := 0, 0, 0
	var in, was Input
	for n := range 40000 {
		in = Input{}
		if moving := n > 1000 && n < 20000; moving {
			in.BrakeCoil = [MotorCount]bool{true, true, true, true, true, true}
			swing := 20000 * math.Sin(float64(n)/1500)
			in.MotorTorque = [MotorCount]float64{swing + 8000, swing - 8000, swing, swing, 300, 0}
			in.External[Azimuth] = 2000
		}
		before, rests := *carried.State(), carried.AtRest(&in) && in == was
		stepped.Step(&in)
		if in.BrakeCoil == was.BrakeCoil && carried.BrakesSettled() {
			carries++
			carried.StepMotion(&in)
		} else {
			carried.Step(&in)
		}
		if *carried.State() != *stepped.State() {
			t.Fatalf("step %d: carried to\n%+v, stepped to\n%+v", n, *carried.State(), *stepped.State())
		}
		if rests {
			rested++
			if *stepped.State() != before {
				t.Fatalf("step %d: said to rest, went from\n%+v to\n%+v", n, before, *stepped.State())
			}
		}
		if carried.Stands(Azimuth) {
			stood++
			now := carried.State()
			if now.Position[Azimuth] != before.Position[Azimuth] ||
				now.Rate[Azimuth] != before.Rate[Azimuth] || now.MotorRate[1] != before.MotorRate[1] {
				t.Fatalf("step %d: said to stand, went from\n%+v to\n%+v", n, before, *now)
			}
		}
		was = in
	}
	if moved := math.Abs(stepped.State().Position[Azimuth]); moved < degree {
		t.Errorf("azimuth moved by %g rad only", moved)
	}
	if rested < 5000 || carries < 15000 || stood < rested {
		t.Errorf("rested for %d steps, carried through %d, stood for %d", rested, carries, stood)
	}
}

// A plant that is pushed, or whose brake is on its way, does not rest.
func TestAtRest_Not(t *testing.T) {
	for name, push := range map[string]func(in *Input){
		"wind":           func(in *Input) { in.External[Elevation] = 1 },
		"torque":         func(in *Input) { in.MotorTorque[1] = 1 },
		"polarization":   func(in *Input) { in.MotorTorque[5] = 1 },
		"a brake's coil": func(in *Input) { in.BrakeCoil[0] = true },
	} {
		p := mustNew(t, station(stations(t)[2].parameters()), step)
		var in Input
		for range 1000 {
			p.Step(&in)
		}
		if !p.AtRest(&in) {
			t.Fatal("a plant at rest does not rest")
		}
		push(&in)
		if p.AtRest(&in) {
			t.Errorf("rests under %s", name)
		}
		p.Step(&in)
		if in.BrakeCoil[0] && (p.BrakesSettled() || p.AtRest(&in)) {
			t.Errorf("rests while a brake lets go")
		}
	}
}
