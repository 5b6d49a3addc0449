package drive

import (
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// Where each command leads from each state, with option 605A at 6 and the
// defaults elsewhere, the drive at rest or (fault reaction) braking. From the
// transition table of CiA 402, secondary. Columns: 06, 07, 0F, 00, 02, 80.
const (
	nr = cia402.NotReadyToSwitchOn
	sd = cia402.SwitchOnDisabled
	rs = cia402.ReadyToSwitchOn
	so = cia402.SwitchedOn
	oe = cia402.OperationEnabled
	qs = cia402.QuickStopActive
	fr = cia402.FaultReactionActive
	fa = cia402.Fault
)

var leads = map[cia402.State][6]cia402.State{
	nr: {nr, nr, nr, nr, nr, nr},
	sd: {rs, sd, sd, sd, sd, sd},
	rs: {rs, so, oe, sd, sd, rs},
	so: {rs, so, oe, sd, sd, so},
	oe: {rs, so, oe, sd, qs, oe},
	qs: {qs, qs, oe, sd, qs, qs},
	fr: {fr, fr, fr, fr, fr, fr},
	fa: {fa, fa, fa, fa, fa, sd},
}

func TestCommands_EveryStateAndCommand(t *testing.T) {
	words := [6]uint16{0x06, 0x07, 0x0F, 0x00, 0x02, 0x80}
	for from, row := range leads {
		for i, want := range row {
			r := inState(t, from)
			r.store(Controlword, float64(words[i]))
			r.step()
			if from == oe && words[i] == 0x07 {
				// Option 605C is 1: switched on comes once the motor stands.
				r.expect(oe)
				r.deaf, r.word = false, 0x07
				r.run(250 * time.Millisecond)
			}
			if r.d.State() != want {
				t.Errorf("%v, word %#02x: %v, want %v", from, words[i], r.d.State(), want)
			}
			powered := want == oe || want == qs || want == fr
			if r.d.PowerOn() != powered {
				t.Errorf("%v: power stage on is %v", want, r.d.PowerOn())
			}
			if !powered && r.d.Torque() != 0 {
				t.Errorf("%v: torque %g", want, r.d.Torque())
			}
		}
	}
}

// A fault is reset by the rising edge of bit 7 alone (CiA 402, secondary).
func TestReset_BitHeldAcrossANewFaultResetsNothing(t *testing.T) {
	r := newRig(t, demo())
	r.send(0x80)
	r.run(100 * time.Millisecond)
	r.d.Trip(cia402.ErrorDriveHot)
	r.run(100 * time.Millisecond) // the word is stored again and again
	r.expect(fa)
	r.send(0x00)
	r.expect(fa)
	r.send(0x80)
	r.expect(sd)
}

// Test (b).
func TestReset_CausePresentStaysInFault(t *testing.T) {
	r := newRig(t, demo())
	r.d.Faults.HeldTrip = cia402.ErrorPhase
	r.step()
	r.expect(fa)
	r.send(0x80)
	r.step()
	r.expect(fa)
	r.d.Faults.HeldTrip = 0
	r.send(0x00)
	r.step()
	r.expect(fa)
	r.send(0x80)
	r.step()
	r.expect(sd)
}

// Test (c): after transition 15 no torque; 06 then 07 and 0F, or 0F directly.
func TestReset_LeavesTheDriveWithoutTorque(t *testing.T) {
	for _, words := range [][]uint16{{0x06, 0x07, 0x0F}, {0x06, 0x0F}} {
		r := newRig(t, demo())
		r.turn(2 * deg)
		r.store(TorqueOffset, 200)
		r.d.Trip(cia402.ErrorOverCurrent)
		r.send(0x80)
		r.run(50 * time.Millisecond)
		r.expect(sd)
		if r.d.Torque() != 0 || r.d.ErrorCode() != 0 {
			t.Errorf("after the reset torque %g, code %04X", r.d.Torque(), r.d.ErrorCode())
		}
		for _, w := range words {
			r.send(w)
			r.step()
		}
		r.expect(oe)
	}
}

// Test (d).
func TestEnable_DirectFromSwitchOnDisabledMovesNothing(t *testing.T) {
	r := newRig(t, demo())
	r.store(TargetVelocity, 2*deg)
	r.store(TorqueOffset, 100)
	r.send(0x0F)
	r.run(time.Second)
	r.expect(sd)
	if r.in.MotorRate != 0 {
		t.Errorf("motor turns at %g rad/s", r.in.MotorRate)
	}
}

func TestSelfTest_LastsItsTime(t *testing.T) {
	p := demo()
	p.SelfTest = 50 * time.Millisecond
	r := newRig(t, p)
	r.run(50*time.Millisecond - h)
	r.expect(nr)
	if r.d.Ready() {
		t.Error("ready before its self-test has ended")
	}
	r.step()
	r.expect(sd)
	if !r.d.Ready() {
		t.Error("not ready after its self-test")
	}
}

// Each fault yields its code (CiA 402, secondary), statusword fault and no torque.
// Which codes forbid a ramp is common practice.
func TestTrip_EachCode(t *testing.T) {
	codes := map[uint16]bool{ // true: at once
		0x2310: true, 0x2320: true, 0x3120: true, 0x3130: true, 0x3210: true, 0x3220: true,
		0x5112: true, 0x7121: true, 0x7300: true, 0x7305: true, 0x8331: true, 0x8400: true,
		0x4210: false, 0x4310: false, 0x6010: false, 0x6320: false, 0x7500: false,
		0x8611: false, 0xFF00: false,
	}
	for code, atOnce := range codes {
		r := newRig(t, demo())
		r.turn(2 * deg)
		r.d.Trip(code)
		r.step()
		if r.d.PowerOn() == atOnce {
			t.Errorf("code %04X: power on is %v after a step", code, r.d.PowerOn())
		}
		r.until("fault", func() bool { return r.d.State() == fa })
		if got := uint16(r.d.Load(ErrorCode)); got != code || r.d.Torque() != 0 || r.d.Ready() {
			t.Errorf("code %04X: reports %04X, torque %g, ready %v",
				code, got, r.d.Torque(), r.d.Ready())
		}
	}
}

func TestTrip_SevereFaultCutsTheFaultReaction(t *testing.T) {
	r := inState(t, fr)
	if !r.d.Ready() {
		t.Error("a drive that brakes on its fault reaction lets its brake close at speed")
	}
	r.d.Trip(cia402.ErrorOverCurrent)
	r.expect(fa)
	if r.d.PowerOn() || r.d.Torque() != 0 || r.d.ErrorCode() != cia402.ErrorDriveHot {
		t.Errorf("power %v, torque %g, code %04X", r.d.PowerOn(), r.d.Torque(), r.d.ErrorCode())
	}
}

// A drive's own safe torque off time, 20 ms, that every shipped sheet has.
func TestSTO_TorqueGoneAfterItsDelay(t *testing.T) {
	for _, end := range []struct {
		how  STOEnd
		want cia402.State
		code uint16
	}{{STODisables, sd, 0}, {STOFaults, fa, cia402.ErrorManufacturer}} {
		p := demo()
		p.STOEndsIn = end.how
		r := newRig(t, p)
		r.turn(2 * deg)
		r.store(TorqueOffset, 200)
		r.run(100 * time.Millisecond)
		r.in.STO = true
		r.step()
		if r.d.Ready() || !r.d.SBC() || !r.d.STO() {
			t.Error("the brake is not demanded with the input")
		}
		r.run(20*time.Millisecond - h)
		if r.d.Torque() == 0 {
			t.Error("torque gone before 20 ms")
		}
		r.step()
		if r.d.Torque() != 0 || r.d.PowerOn() {
			t.Errorf("torque %g after 20 ms", r.d.Torque())
		}
		r.expect(end.want)
		if r.d.ErrorCode() != end.code {
			t.Errorf("error code %04X, want %04X", r.d.ErrorCode(), end.code)
		}
		r.send(0x80) // the cause is still there, or there is nothing to reset
		r.send(0x06)
		r.expect(end.want)
		r.in.STO = false
		r.send(0x0F)
		r.run(time.Second)
		r.expect(end.want) // nothing moves by itself
	}
}

func TestSTO_EndsAFaultReactionInFault(t *testing.T) {
	r := inState(t, fr)
	r.in.STO = true
	r.run(20*time.Millisecond + h)
	r.expect(fa)
	if r.d.PowerOn() || r.d.ErrorCode() != cia402.ErrorDriveHot {
		t.Errorf("power %v, code %04X", r.d.PowerOn(), r.d.ErrorCode())
	}
}

func TestSTO_ABlipShorterThanItsDelayIsRiddenThrough(t *testing.T) {
	r := newRig(t, demo())
	r.enable()
	for range 10 {
		r.in.STO = true
		r.run(19 * time.Millisecond)
		r.in.STO = false
		r.run(time.Millisecond)
	}
	r.expect(oe)
}

func TestSupply_LossRemovesTorqueAndLatches(t *testing.T) {
	r := newRig(t, demo())
	r.turn(2 * deg)
	r.store(TorqueOffset, 200)
	r.in.Supplied = false
	r.step()
	if r.d.Torque() != 0 || r.d.Ready() || !r.d.SBC() || r.flag(cia402.VoltageEnabled) {
		t.Errorf("without supply: torque %g, ready %v", r.d.Torque(), r.d.Ready())
	}
	r.expect(fa)
	if r.d.ErrorCode() != cia402.ErrorLinkUnder {
		t.Errorf("error code %04X", r.d.ErrorCode())
	}
	r.send(0x80)
	r.expect(fa) // cause present
	r.in.Supplied = true
	r.send(0x00)
	r.step()
	r.send(0x80)
	r.expect(sd)
}

func TestSupply_LossAtRestOnlyDisables(t *testing.T) {
	for _, state := range []cia402.State{rs, so} {
		r := inState(t, state)
		r.in.Supplied = false
		r.step()
		r.expect(sd)
		r.store(Controlword, 0x06)
		r.expect(sd)
	}
}

func TestCheck_RefusesWhatCannotBe(t *testing.T) {
	if err := demo().Check(); err != nil {
		t.Fatalf("demo drive: %v", err)
	}
	for name, spoil := range map[string]func(*Parameters){
		"no rated torque":   func(p *Parameters) { p.RatedTorque = 0 },
		"peak below rated":  func(p *Parameters) { p.PeakTorque = 41 * quantity.KilonewtonMetre },
		"no inertia":        func(p *Parameters) { p.Inertia = 0 },
		"no ramp":           func(p *Parameters) { p.Deceleration = 0 },
		"no standstill":     func(p *Parameters) { p.StandstillRate = 0 },
		"unknown option":    func(p *Parameters) { p.Options.QuickStop = 9 },
		"negative watchdog": func(p *Parameters) { p.Watchdog = -1 },
		"negative window":   func(p *Parameters) { p.VelocityOff = -1 },
	} {
		p := demo()
		if spoil(&p); p.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
