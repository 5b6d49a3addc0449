package plant

import (
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// Held brakes do not creep: 60 s under 80 % of what both can take, gear play and
// spring included. The push grows over 5 s, for put on at once it would swing the
// spring past the brakes. The motors stay where they are from the first step; the
// load once its swing has died. Bit for bit.
func TestStep_HeldBrakesDoNotCreep(t *testing.T) {
	for _, s := range stations(t) {
		for _, rigid := range []bool{true, false} {
			a := s.parameters()
			if rigid {
				a.Stiffness = 0
			}
			p := mustNew(t, station(a), step)
			axis := s.axis()
			first, _ := axis.Motors()
			in := &Input{}
			motors := p.State().MotorPosition
			push := 0.8 * 2 * float64(a.Motors[0].BrakeTorque)
			for n := range int(30 * time.Second / step) {
				grown := min(1, float64(n)*step.Seconds()/5)
				in.External[axis] = push * grown
				p.Step(in)
			}
			settled := *p.State()
			for range int(60 * time.Second / step) {
				p.Step(in)
			}
			if *p.State() != settled {
				t.Errorf("%s, rigid %v: the state moved in 60 s", s.name, rigid)
			}
			for k := first; k < first+2; k++ {
				if p.State().MotorPosition[k] != motors[k] {
					t.Errorf("%s, rigid %v: motor %d crept", s.name, rigid, k)
				}
				// Each brake bears half of the load's push, less the load's friction.
				near(t, "brake torque", -p.State().BrakeTorque[k], in.External[axis]/2,
					float64(a.LoadCoulomb))
			}
		}
	}
}

// Brakes that are overcome slip, and the drop is what is left of the torque.
func TestStep_OvercomeBrakeSlips(t *testing.T) {
	a := stations(t)[2].rigid()
	p := mustNew(t, station(a), step)
	in := &Input{}
	const over = 1e4
	in.External[Azimuth] = 2*float64(a.Motors[0].BrakeTorque) + over
	for range 4000 {
		p.Step(in)
	}
	inertia := float64(Derive(a, Duty{}).Inertia)
	near(t, "rate after one second", p.State().Rate[Azimuth], over/inertia, 1e-12)
}

// A brake's torque is zero until its engage delay and full after it, the brake of every
// shipped station; released, full until its release delay and zero after it.
func TestBrake_DelaysToTheStep(t *testing.T) {
	a := stations(t)[2].rigid() // 70 ms to engage, 90 ms to release
	const engage, release = 280, 360
	p := mustNew(t, station(a), step)
	in := &Input{}
	coils(in)
	count := func(until bool, limit int) (steps int) {
		for steps = 0; steps < limit; steps++ {
			p.Step(in)
			if p.State().BrakeSet[0] == until {
				return steps
			}
		}
		return steps
	}
	if n := count(false, 1000); n != release {
		t.Errorf("released after %d steps, want %d", n, release)
	}
	p.turn(Azimuth, 0.1)
	in.BrakeCoil = [MotorCount]bool{}
	for range engage {
		p.Step(in)
	}
	if rate := p.State().Rate[Azimuth]; rate != 0.1 {
		t.Errorf("rate %v at the end of the delay, want it untouched", rate)
	}
	p.Step(in)
	inertia := float64(Derive(a, Duty{}).Inertia)
	drop := 2 * float64(a.Motors[0].BrakeTorque) / inertia * step.Seconds()
	near(t, "rate one step later", p.State().Rate[Azimuth], 0.1-drop, 1e-15)
	near(t, "rate at closure", p.State().BrakeClosedAt[0], 0.1, 0)
}

// A change that is taken back within its delay never happened.
func TestBrake_ChangeTakenBack(t *testing.T) {
	p := mustNew(t, station(stations(t)[2].rigid()), step)
	in := &Input{}
	release(p, in)
	for range 10 {
		in.BrakeCoil = [MotorCount]bool{}
		for range 279 {
			p.Step(in)
		}
		coils(in)
		for range 2 {
			p.Step(in)
		}
		if p.State().BrakeSet[0] {
			t.Fatal("set although the coil came back in time")
		}
	}
}

// One closure on a rigid axis without other friction takes the whole kinetic
// energy, the figure of stations.txt at full rate; the next closure starts from zero.
func TestBrake_EnergyPerClosure(t *testing.T) {
	for _, s := range stations(t) {
		p := mustNew(t, station(s.rigid()), step)
		in := &Input{}
		axis, d := s.axis(), s.duty()
		first, _ := axis.Motors()
		for range 2 {
			release(p, in)
			p.turn(axis, float64(d.FullRate))
			in.BrakeCoil = [MotorCount]bool{}
			for range 4000 {
				p.Step(in)
			}
			want, half := s.value("kinetic_j")
			both := p.State().BrakeEnergy[first] + p.State().BrakeEnergy[first+1]
			near(t, s.name+" energy", both, want, half)
		}
	}
}

// Dragging is torque against a set brake while turning.
func TestBrake_Dragging(t *testing.T) {
	a := stations(t)[2].rigid()
	brakes := 2 * float64(a.Motors[0].BrakeTorque)
	for _, c := range []struct {
		name     string
		torque   float64 // both motors, as a share of both brakes
		rate     float64
		released bool
		dragging bool
	}{
		{"driven through", 1.2, 0.01, false, true},
		{"driven while still slipping", 0.5, 0.01, false, true},
		{"held under torque", 0.9, 0, false, false},
		{"torque with the brake, not against it", -0.5, 0.01, false, false},
		{"slipping without torque", 0, 0.01, false, false},
		{"turning freely", 1.2, 0.01, true, false},
	} {
		for _, way := range []float64{1, -1} {
			p := mustNew(t, station(a), step)
			in := &Input{}
			if c.released {
				release(p, in)
			}
			p.turn(Azimuth, way*c.rate)
			for k := range 2 {
				in.MotorTorque[k] = way * c.torque * brakes / 2
			}
			p.Step(in)
			for k := range 2 {
				if p.State().BrakeDragging[k] != c.dragging {
					t.Errorf("%s: dragging %v", c.name, !c.dragging)
				}
			}
		}
	}
}

// Each fault has its own effect on a stop, and a healthy value has none.
func TestFaults_OnAStop(t *testing.T) {
	a := stations(t)[2].rigid()
	inertia := float64(Derive(a, Duty{}).Inertia)
	one := float64(a.Motors[0].BrakeTorque) / inertia // rad/s^2 of each brake
	const rate = 0.04
	for _, c := range []struct {
		name  string
		fault func(f *Faults)
		delay time.Duration
		stop  float64 // rad/s^2 after the delay
	}{
		{"healthy", func(*Faults) {}, 70 * time.Millisecond, 2 * one},
		{"worn", func(f *Faults) { f.BrakeScale[0], f.BrakeScale[1] = 0.5, 0.5 },
			70 * time.Millisecond, one},
		{"one stuck open", func(f *Faults) { f.BrakeStuckOpen[1] = true },
			70 * time.Millisecond, one},
		{"both late", func(f *Faults) {
			f.BrakeLate[0], f.BrakeLate[1] = 200*time.Millisecond, 200*time.Millisecond
		}, 270 * time.Millisecond, 2 * one},
		{"one stuck set", func(f *Faults) {
			f.BrakeStuckSet[0], f.BrakeStuckOpen[1] = true, true
		}, 0, one},
		{"one rubbing", func(f *Faults) {
			f.BrakeDrag[0] = one * inertia
			f.BrakeStuckOpen = [MotorCount]bool{true, true}
		}, 0, one},
	} {
		p := mustNew(t, station(a), step)
		in := &Input{}
		release(p, in)
		p.turn(Azimuth, rate)
		c.fault(&p.Faults)
		in.BrakeCoil = [MotorCount]bool{}
		n := 0
		for ; p.State().Rate[Azimuth] != 0 && n < 10_000; n++ {
			p.Step(in)
		}
		near(t, c.name+" time", float64(n)*step.Seconds(),
			c.delay.Seconds()+rate/c.stop, 1.001*step.Seconds())
	}
}

// A brake that is stuck open comes right again when the fault goes.
func TestFaults_Undone(t *testing.T) {
	p := mustNew(t, station(stations(t)[2].parameters()), step)
	in := &Input{}
	p.Faults.BrakeStuckOpen[0] = true
	p.Step(in)
	open := p.State().BrakeSet[0]
	p.Faults.BrakeStuckOpen[0] = false
	p.Step(in)
	if open || !p.State().BrakeSet[0] {
		t.Error("stuck open did not open, or did not close again")
	}
}

// Friction of a Stribeck curve: at rest it holds Coulomb and breakaway together,
// at the Stribeck rate half of the breakaway is left.
func TestFriction_Stribeck(t *testing.T) {
	a := AxisParameters{LoadCoulomb: 1000, LoadBreakaway: 400,
		StribeckRate: 0.1 * quantity.DegreePerSecond}
	b := newBody(&a, 1e5, step.Seconds())
	for _, row := range []struct{ degPerS, want float64 }{
		{0, 1400}, {0.1, 1200}, {-0.1, 1200}, {0.3, 1040}, {100, 1000},
	} {
		near(t, "friction", b.frictionNm(row.degPerS*degree), row.want, 0.001)
	}
}
