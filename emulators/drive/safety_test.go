package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// The functions of IEC 61800-5-2 by its clause list (4.2.3 stopping, 4.2.4
// monitoring, 4.2.5 brake), their meaning from memory: testdata/SOURCES.md.
func safeDrive() Parameters {
	p := demo()
	p.Safety = Safety{
		SS1Time: time.Second, SS2Time: time.Second, SOSWindow: quantity.Angle(0.1 * deg),
		SLSRate: quantityRate(deg), SLSTime: 300 * time.Millisecond,
		SDIWindow: quantity.Angle(0.05 * deg), SBC: true,
	}
	return p
}

// SS1-t: STO at its time even if the ramp fails.
func TestSS1_TimeEndsAFailedRamp(t *testing.T) {
	for name, spoil := range map[string]func(*rig){
		"sound ramp":   func(*rig) {},
		"no ramp":      func(r *rig) { r.d.Faults.IgnoreStop = true },
		"runaway":      func(r *rig) { r.d.Faults.Runaway = 0.5 },
		"stays active": func(r *rig) { r.store(QuickStopOption, 6) },
	} {
		r := newRig(t, safeDrive())
		r.turn(2 * deg)
		spoil(r)
		r.in.Safe = RequestSS1
		for r.step(); r.now <= 0; {
			r.step()
		}
		took := h + r.until("torque off", func() bool { return !r.d.PowerOn() })
		limit := time.Second + 20*time.Millisecond // and the delay of the STO path
		if name == "sound ramp" {
			// 2 deg/s on 6085 at 4 deg/s^2, and standstill for 200 ms.
			limit = 700 * time.Millisecond
			if took < limit || took > limit+60*time.Millisecond {
				t.Errorf("%s: torque off after %v", name, took)
			}
		} else if took < limit || took > limit+2*h {
			t.Errorf("%s: torque off after %v, want %v", name, took, limit)
		}
		r.run(time.Second)
		if !r.d.STO() || !r.d.SBC() || r.d.Ready() {
			t.Errorf("%s: afterwards %v, STO %v", name, r.d, r.d.STO())
		}
		r.d.Faults = Faults{}
		r.send(0x06)
		r.expect(sd) // held off while it is asked for
		r.in.Safe = 0
		r.step()
		r.send(0x06)
		r.expect(rs)
	}
}

// Once asked for, SS1 runs to its end, and nothing the controller says moves on.
func TestSS1_CannotBeTakenBack(t *testing.T) {
	r := newRig(t, safeDrive())
	r.turn(2 * deg)
	r.store(QuickStopOption, 6) // transition 16 would be allowed
	r.in.Safe = RequestSS1
	r.step()
	r.in.Safe = 0
	r.send(0x0F)
	r.run(100 * time.Millisecond)
	r.expect(qs)
	r.run(time.Second)
	if r.d.PowerOn() {
		t.Error("torque is on after SS1's time")
	}
}

// SS1-r: a ramp that lags its monitor is a violation, STO and fault F001.
func TestSS1_MonitoredRamp(t *testing.T) {
	p := safeDrive()
	p.Safety.SS1Ramp = 3.5 * quantity.DegreePerSecondSquared
	p.Safety.RampMargin = quantityRate(0.2 * deg)
	r := newRig(t, p)
	r.turn(2 * deg)
	r.store(QuickStopOption, 6) // only SS1 ends this one
	r.in.Safe = RequestSS1
	took := r.until("off", func() bool { return !r.d.PowerOn() })
	// 2 deg/s at 4 deg/s^2, standstill for 200 ms, 20 ms; not SS1's second.
	if r.d.ErrorCode() != 0 || math.Abs(took.Seconds()-0.72) > 0.06 {
		t.Errorf("sound: %v after %v", r.d, took)
	}
	r = newRig(t, p)
	r.turn(2 * deg)
	r.d.Faults.IgnoreStop = true
	r.in.Safe = RequestSS1
	took = r.until("off", func() bool { return !r.d.PowerOn() })
	// 0.2 deg/s above a ramp of 3.5 deg/s^2 after 57 ms, and the STO delay.
	want := 0.2/3.5 + 0.020
	if math.Abs(took.Seconds()-want) > 3*h.Seconds() || r.d.ErrorCode() != 0xF001 {
		t.Errorf("failed ramp: %v after %v, want %.4f s", r.d, took, want)
	}
	r.expect(fa)
}

// SS2 stops and keeps its power; SOS then minds the window, beyond it STO.
func TestSS2_HoldsThenSOSTrips(t *testing.T) {
	r := newRig(t, safeDrive())
	r.turn(2 * deg)
	r.in.Safe = RequestSS2
	r.run(2 * time.Second)
	r.expect(oe)
	if math.Abs(r.in.MotorRate) > 1e-6 || !r.d.PowerOn() {
		t.Fatalf("SS2: %v at %g rad/s", r.d, r.in.MotorRate)
	}
	r.send(0x10F)
	r.send(0x0F) // the end of a halt moves nothing
	r.run(time.Second)
	if math.Abs(r.in.MotorRate) > 1e-6 {
		t.Fatalf("moves under SOS at %g rad/s", r.in.MotorRate)
	}
	from := r.in.MotorPosition
	r.load = 60e3 // droops by 60 kN m over the gain, 0.88 deg/s
	r.until("violated", func() bool { return r.d.ErrorCode() != 0 })
	left := r.in.MotorPosition - from
	if r.d.ErrorCode() != cia402.ErrorSafeStand || left < 0.1*deg || left > 0.101*deg {
		t.Errorf("%v after %g deg, window 0.1 deg", r.d, left/deg)
	}
	r.run(20*time.Millisecond + 2*h)
	r.expect(fa)
	r.load = 0
	r.send(0x80)
	r.expect(fa) // still selected
	r.send(0x00)
	r.in.Safe = 0
	r.step()
	r.send(0x80)
	r.expect(sd)
}

func TestSS2_MovesOnWhenDeselected(t *testing.T) {
	r := newRig(t, safeDrive())
	r.turn(deg)
	r.in.Safe = RequestSS2
	r.run(2 * time.Second)
	r.in.Safe = 0
	r.run(2 * time.Second)
	if math.Abs(r.in.MotorRate-deg) > 1e-6 {
		t.Errorf("at %g rad/s", r.in.MotorRate)
	}
}

// SLS and SDI: at the limit nothing, one count of the wire beyond it the reaction.
func TestLimits_OneCountBeyond(t *testing.T) {
	const count = 1e-6 * math.Pi / 180 // of the map drive-axis-side: 0.000001 deg/s
	tests := map[string]struct {
		asked SafeRequest
		rate  float64
		code  uint16
	}{
		"SLS at its limit":    {RequestSLS, deg - count, 0},
		"SLS beyond":          {RequestSLS, deg + count, cia402.ErrorSafeSpeed},
		"SLS beyond, other":   {RequestSLS, -deg - count, cia402.ErrorSafeSpeed},
		"SDI positive, right": {RequestSDIPositive, 2 * deg, 0},
		"SDI positive, wrong": {RequestSDIPositive, -0.5 * deg, cia402.ErrorSafeDirection},
		"SDI negative, right": {RequestSDINegative, -2 * deg, 0},
		"SDI negative, wrong": {RequestSDINegative, 0.5 * deg, cia402.ErrorSafeDirection},
	}
	for name, tt := range tests {
		r := newRig(t, safeDrive())
		r.ideal = true
		r.turn(tt.rate)
		r.in.Safe = tt.asked
		r.run(290 * time.Millisecond)
		if tt.asked == RequestSLS && r.d.ErrorCode() != 0 {
			t.Errorf("%s: acts before its time", name)
		}
		r.run(time.Second)
		if r.d.ErrorCode() != tt.code || r.d.PowerOn() != (tt.code == 0) {
			t.Errorf("%s: %v", name, r.d)
		}
	}
}

// The reaction of the profile: STO at once, or SS1 with its ramp first.
func TestReaction_STOOrSS1(t *testing.T) {
	for reaction, stands := range map[SafeReaction]bool{ReactSTO: false, ReactSS1: true} {
		p := safeDrive()
		p.Safety.Reaction = reaction
		r := newRig(t, p)
		r.turn(2 * deg)
		r.in.Safe = RequestSLS
		r.until("fault", func() bool { return r.d.State() == fa })
		if got := math.Abs(r.in.MotorRate) < 0.05*deg; got != stands {
			t.Errorf("reaction %d: fault at %g rad/s", reaction, r.in.MotorRate)
		}
		if r.d.ErrorCode() != cia402.ErrorSafeSpeed {
			t.Errorf("reaction %d: %v", reaction, r.d)
		}
	}
}

// SBC: the brake output is without power no later than torque.
func TestSBC(t *testing.T) {
	r := newRig(t, safeDrive())
	r.enable()
	r.in.Safe = RequestSBC
	r.step()
	if !r.d.SBC() || r.d.Ready() || !r.d.PowerOn() {
		t.Errorf("selected: SBC %v, ready %v, power %v", r.d.SBC(), r.d.Ready(), r.d.PowerOn())
	}
	r = newRig(t, safeDrive())
	r.turn(2 * deg)
	r.in.Safe = RequestSS1
	r.until("off", func() bool {
		if !r.d.PowerOn() && r.d.Ready() && r.d.STO() {
			t.Fatal("torque is off, but the brake coil has power")
		}
		return r.d.STO()
	})
}

// Every function and watch at once, under whatever comes: what holds of a plain
// drive holds.
func FuzzDrive_Everything(f *testing.F) {
	f.Add([]byte{0, 6, 0, 0, 15, 0, 4, 1, 0, 40, 0, 0, 0, 2, 0, 90, 1, 3, 200, 0, 9})
	f.Fuzz(func(t *testing.T, script []byte) {
		p := safeDrive()
		p.Modes, p.Link, p.Thermal = cia402.KnownModes, testLink(), Thermal{time.Second, true}
		p.Overspeed, p.BlockedTime, p.PartnerInterlock = 3, time.Second, true
		d := New(p)
		now, in := time.Duration(0), Input{Supplied: true}
		for ; len(script) >= 3; script = script[3:] {
			what, a, b := script[0], script[1], script[2]
			value := float64(int16(uint16(a) | uint16(b)<<8))
			switch {
			case int(what) < quantityCount+2:
				_ = d.Store(int(what)-1, value/100)
				_ = d.Store(int(what), math.Abs(value))
			case what < 100:
				in.Safe, in.PartnerOff, in.STO = SafeRequest(a), b&1 != 0, b&2 != 0
				in.Supplied, in.Supply = b&4 == 0, quantityRatio(float64(b>>3)/16)
			case what < 140:
				in.MotorRate = float64(int8(a)) / 50
				in.MotorPosition += float64(int8(b)) / 50
			case what < 160:
				d.Faults = Faults{IgnoreStop: a&4 != 0, IgnoreCommand: a&8 != 0, STODead: a&16 != 0}
			default:
				now += time.Duration(b) * h
			}
			d.Step(now, in)
			now += h
			state, ok := cia402.Decode(uint16(d.Load(Statusword)))
			if !ok || state != d.State() || d.PowerOn() != hasPower(state) {
				t.Fatalf("statusword %#04x in %v, power %v", uint16(d.Load(Statusword)), state,
					d.PowerOn())
			}
			e := d.Energies()
			if torque := d.Torque(); !(math.Abs(torque) <= 84e3) || !(e.Link >= 0) ||
				!(e.Resistor >= 0) || !(e.Losses >= 0) || math.IsInf(e.Resistor, 0) {
				t.Fatalf("torque %g, energies %+v", torque, e)
			}
		}
	})
}

func TestStep_EverythingAllocatesNothing(t *testing.T) {
	p := safeDrive()
	p.Link, p.Thermal.PeakTime, p.BlockedTime = testLink(), time.Second, time.Second
	r := newRig(t, p)
	r.turn(deg)
	r.in.Safe = RequestSDIPositive
	d, now := r.d, r.now
	if n := testing.AllocsPerRun(1000, func() {
		now += h
		_ = d.Store(Controlword, 0x0F)
		d.Step(now, r.in)
	}); n != 0 {
		t.Errorf("%g allocations a step", n)
	}
}
