package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// cyclic is the demo drive with every mode.
func cyclic() Parameters {
	p := demo()
	p.Modes = cia402.KnownModes
	return p
}

func inMode(t *testing.T, p Parameters, mode int8) *rig {
	t.Helper()
	r := newRig(t, p)
	r.store(Mode, float64(mode))
	r.enable()
	return r
}

// In cyclic velocity the controller makes the ramps: a set point acts as it comes,
// whatever 6083 and 6084 say. Bits of 6502 and mode 9: CiA 402, secondary.
func TestCyclicVelocity_SetPointActsAtOnce(t *testing.T) {
	r := inMode(t, cyclic(), cia402.ModeCyclicVelocity)
	if got := r.d.Load(SupportedModes); got != 0x30C {
		t.Errorf("6502 is %#x", int(got))
	}
	for _, target := range []float64{deg, -deg, 0.5 * deg, 0} {
		r.store(TargetVelocity, target)
		r.step()
		if got := r.d.Load(VelocityDemand); got != target {
			t.Errorf("set point %g, demand %g a step later", target, got)
		}
	}
}

// Object 60C2: the drive walks to the next set point in a straight line.
func TestCyclicVelocity_Interpolates(t *testing.T) {
	p := cyclic()
	p.Interpolation = 20 * time.Millisecond
	r := inMode(t, p, cia402.ModeCyclicVelocity)
	r.store(TargetVelocity, deg)
	r.store(TargetVelocity, -deg)
	for part := 1; part <= 4; part++ {
		r.run(5 * time.Millisecond)
		want := -deg * float64(part) / 4
		if got := r.d.Load(VelocityDemand); math.Abs(got-want) > 1e-9 {
			t.Errorf("after %d ms the demand is %g, want %g", 5*part, got, want)
		}
	}
}

// Bit 12 in cyclic modes: the drive follows its command (CiA 402, secondary).
func TestCyclicModes_Bit12(t *testing.T) {
	for _, mode := range []int8{cia402.ModeCyclicVelocity, cia402.ModeCyclicTorque} {
		r := inMode(t, cyclic(), mode)
		r.run(h)
		if !r.flag(cia402.FollowsCommand) {
			t.Errorf("mode %d: enabled, but bit 12 is low", mode)
		}
		r.send(0x10F)
		if r.flag(cia402.FollowsCommand) {
			t.Errorf("mode %d: halted, but bit 12 is high", mode)
		}
		r.send(0x06)
		r.run(time.Second)
		if r.d.State() == oe || r.flag(cia402.FollowsCommand) {
			t.Errorf("mode %d: bit 12 in %v", mode, r.d.State())
		}
	}
}

// Halt, object 605D, in every mode: codes 1 and 2 on their ramps, 3 and 4 as hard
// as torque allows; the drive stays enabled (CiA 402, codes 1 and 2
// secondary, 3 and 4 from memory).
func TestHalt_EveryCodeInEveryMode(t *testing.T) {
	hard := 2 * deg * 77.5e3 / 84e3
	ramps := [5]float64{1: 2 / 2.2, 2: 2 / 4.0, 3: hard, 4: hard}
	for _, mode := range []int8{3, 4, 9, 10} {
		for code := int16(1); code <= 4; code++ {
			p := cyclic()
			p.Options.Halt = code
			r := inMode(t, p, mode)
			r.store(TargetVelocity, 2*deg)
			r.store(TargetTorque, 200)
			r.until("turning", func() bool { return r.in.MotorRate >= 1.999*deg })
			r.send(0x10F)
			took := r.until("slow", func() bool { return math.Abs(r.in.MotorRate) < 0.05*deg })
			if s := took.Seconds(); s < ramps[code]-0.03 || s > ramps[code]+0.08 {
				t.Errorf("mode %d, 605D %d: slow after %v, ramp %.3f s", mode, code, took, ramps[code])
			}
			r.run(time.Second)
			r.expect(oe)
			if math.Abs(r.in.MotorRate) > 0.05*deg {
				t.Errorf("mode %d, 605D %d: halted at %g rad/s", mode, code, r.in.MotorRate)
			}
			r.send(0x0F)
			r.run(time.Second)
			if math.Abs(r.in.MotorRate) < 0.5*deg {
				t.Errorf("mode %d, 605D %d: does not resume", mode, code)
			}
		}
	}
}

// Cyclic torque knows no torque slope, object 6087.
func TestCyclicTorque_ActsAtOnce(t *testing.T) {
	p := cyclic()
	p.TorqueSlope = 100
	r := inMode(t, p, cia402.ModeCyclicTorque)
	r.store(TargetTorque, -250)
	r.step()
	if got := r.d.Torque(); math.Abs(got+0.25*42e3) > 1e-9 {
		t.Errorf("torque %g N m a step after the set point", got)
	}
}

// Object 6080: a constant torque drives the motor no faster, in torque modes;
// targets are cut to it in velocity modes.
func TestMaxMotorSpeed(t *testing.T) {
	for _, mode := range []int8{3, 4, 9, 10} {
		r := inMode(t, cyclic(), mode)
		r.store(MaxMotorSpeed, deg)
		r.store(TargetVelocity, 3*deg)
		r.store(TargetTorque, 500)
		r.run(5 * time.Second)
		if math.Abs(r.in.MotorRate-deg) > 1e-3*deg || !r.flag(cia402.InternalLimit) {
			t.Errorf("mode %d: %g rad/s, internal limit %v", mode, r.in.MotorRate,
				r.flag(cia402.InternalLimit))
		}
	}
}

func TestModes_OnlyTheSupportedOnes(t *testing.T) {
	p := demo()
	p.Modes = cia402.SupportsProfileVelocity | cia402.SupportsCyclicVelocity
	d := newRig(t, p).d
	for mode := -130; mode <= 130; mode++ {
		if ok := d.Store(Mode, float64(mode)) == nil; ok != (mode == 3 || mode == 9) {
			t.Errorf("mode %d: accepted is %v", mode, ok)
		}
	}
}

// Object 60FE: bit 0 closes the brake where its mask allows it; nothing else does.
func TestDigitalOutputs_Brake(t *testing.T) {
	r := newRig(t, demo())
	r.store(DigitalOutputs, 1)
	if r.d.SBC() || !r.d.Ready() {
		t.Error("an output acts that its mask does not name")
	}
	r.store(OutputMask, 1)
	if !r.d.SBC() || r.d.Ready() {
		t.Error("the brake is not asked for")
	}
	r.store(DigitalOutputs, 0xFFFE)
	if r.d.SBC() || !r.d.Ready() {
		t.Error("the brake is asked for by another bit")
	}
}

// Contradictions that the parameters may not hold.
func TestCheck_Contradictions(t *testing.T) {
	link := testLink()
	bad := map[string]func(p *Parameters){
		"mode unknown":        func(p *Parameters) { p.Modes = 0x4 | 0x2 },
		"no profile velocity": func(p *Parameters) { p.Modes = 0x8 },
		"interpolation":       func(p *Parameters) { p.Interpolation = 1 },
		"overspeed below 607F": func(p *Parameters) {
			p.MaxVelocity, p.Overspeed = 2, quantity.Rate(1)
		},
		"overspeed negative": func(p *Parameters) { p.Overspeed = -1 },
		"peak is rated":      func(p *Parameters) { p.PeakTorque, p.Thermal.PeakTime = p.RatedTorque, 1 },
		"fold without time":  func(p *Parameters) { p.Thermal.FoldBack = true },
		"chopper above over": func(p *Parameters) { p.Link = link; p.Link.Chopper = 1.4 },
		"under at nominal":   func(p *Parameters) { p.Link = link; p.Link.Under = 1 },
		"no resistor":        func(p *Parameters) { p.Link = link; p.Link.Resistor = 0 },
		"efficiency":         func(p *Parameters) { p.Link = link; p.Link.Efficiency = 1.01 },
		"ramp without time":  func(p *Parameters) { p.Safety.SS1Ramp, p.Safety.RampMargin = 1, 1 },
		"ramp without margin": func(p *Parameters) {
			p.Safety.SS1Time, p.Safety.SS1Ramp = time.Second, 1
		},
		"SS2 without SOS":  func(p *Parameters) { p.Safety.SS2Time = time.Second },
		"SOS without SS2":  func(p *Parameters) { p.Safety.SOSWindow = 1 },
		"SLS without rate": func(p *Parameters) { p.Safety.SLSTime = time.Second },
		"reaction SS1":     func(p *Parameters) { p.Safety.Reaction, p.Safety.SBC = ReactSS1, true },
	}
	for name, spoil := range bad {
		p := demo()
		spoil(&p)
		if p.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
