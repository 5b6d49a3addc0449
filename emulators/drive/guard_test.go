package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

func quantityRatio(v float64) quantity.Ratio { return quantity.Ratio(v) }
func quantityRate(v float64) quantity.Rate   { return quantity.Rate(v) }

// What a drive trips on by itself: code (CiA 402, secondary) and reaction. A
// severe one is without torque at once, the others brake first.
func TestGuard_EachTripHasItsCodeAndReaction(t *testing.T) {
	tests := map[string]struct {
		set   func(*Parameters)
		begin func(*rig)
		after time.Duration // from its beginning to the trip
		code  uint16
		brake bool
	}{
		"overspeed 7310": {
			func(p *Parameters) { p.MaxVelocity, p.Overspeed = 2*quantityRate(deg), 2.3*quantityRate(deg) },
			func(r *rig) { r.in.MotorRate = 2.31 * deg }, 0, cia402.ErrorSpeed, false},
		"following error 8611": {
			func(p *Parameters) {
				p.FollowingError, p.FollowingTime = quantity.Angle(0.1*deg), 200*time.Millisecond
			},
			// Held fast at 2 deg/s of demand. The ramp has left the loop's lag,
			// 2 deg/s / (2 pi 8 Hz) = 0.0398 deg; the rest takes 30 ms.
			func(r *rig) { r.inertia = math.Inf(1); r.in.MotorRate = 0 },
			230 * time.Millisecond, cia402.ErrorFollowing, true},
		"blocked 7121": {
			func(p *Parameters) { p.BlockedTime = 300 * time.Millisecond },
			func(r *rig) { r.inertia = math.Inf(1); r.in.MotorRate = 0 },
			300 * time.Millisecond, cia402.ErrorMotorBlocked, false},
		"partner FF01": {
			func(p *Parameters) { p.PartnerInterlock = true },
			func(r *rig) { r.in.PartnerOff = true }, 0, cia402.ErrorPartner, false},
	}
	for name, tt := range tests {
		p := demo()
		p.PeakTorque = 60 * quantity.KilonewtonMetre
		tt.set(&p)
		r := newRig(t, p)
		r.turn(2 * deg)
		tt.begin(r)
		took := r.until("trip", func() bool { return r.d.ErrorCode() != 0 })
		if d := took - tt.after; d < -6*h || d > 6*h {
			t.Errorf("%s: trips after %v, want %v", name, took, tt.after)
		}
		if r.d.ErrorCode() != tt.code || r.d.PowerOn() != tt.brake {
			t.Errorf("%s: %v, power on is %v", name, r.d, r.d.PowerOn())
		}
	}
}

// The same causes move nothing in a drive whose parameters do not name them.
func TestGuard_OffWhereNotAsked(t *testing.T) {
	r := newRig(t, demo())
	r.turn(2 * deg)
	r.in.PartnerOff, r.in.Safe = true, 0xFF
	r.in.MotorRate = 20 * deg
	r.run(time.Second)
	r.inertia, r.in.MotorRate = math.Inf(1), 0
	r.run(10 * time.Second)
	r.expect(oe)
}

// Two that stand in each other's circuit do not wait for each other: the one with
// the cause is reset, then the one that fell with it, and none is enabled before.
func TestPartner_BothCanBeReset(t *testing.T) {
	p := demo()
	p.PartnerInterlock = true
	a, b := newRig(t, p), newRig(t, p)
	both := func(span time.Duration) {
		for end := a.now + span; a.now < end; {
			a.in.PartnerOff, b.in.PartnerOff = !b.d.Healthy(), !a.d.Healthy()
			a.step()
			b.step()
		}
	}
	both(h)
	a.enable()
	b.enable()
	both(time.Second)
	a.d.Trip(cia402.ErrorShortMotor)
	both(2 * h)
	if b.d.ErrorCode() != cia402.ErrorPartner || b.d.PowerOn() {
		t.Fatalf("partner: %v", b.d)
	}
	b.send(0x80)
	b.expect(fa) // the cause is still there
	b.send(0)
	a.send(0x80)
	a.expect(sd)
	a.send(0x06)
	a.expect(sd) // its partner is still in fault
	both(2 * h)
	b.send(0x80)
	b.expect(sd)
	// A drive without supply keeps its partner from being enabled.
	a.in.Supplied = false
	both(2 * h)
	b.send(0x06)
	b.expect(sd)
}

// The following error is told while it grows: objects 6062, 60F4, bit 13.
func TestFollowingError_IsTold(t *testing.T) {
	p := demo()
	p.FollowingError, p.FollowingTime = quantity.Angle(0.1*deg), time.Hour
	r := newRig(t, p)
	r.turn(deg)
	r.inertia, r.in.MotorRate = math.Inf(1), 0
	r.step()
	lag := r.d.Load(FollowingActual)
	r.run(time.Second)
	if got := r.d.Load(FollowingActual) - lag; math.Abs(got-deg) > 1e-9 {
		t.Errorf("a second at 1 deg/s of demand: %g rad more, want 1 deg", got)
	}
	if !r.flag(cia402.FollowingError) {
		t.Error("bit 13 is low")
	}
	r.send(0x00)
	if r.flag(cia402.FollowingError) || r.d.Load(FollowingActual) != 0 {
		t.Error("a drive without power strays from nothing")
	}
}

// Object 60FD: bit 3, the interlock (from memory), and the inputs that are open.
func TestDigitalInputs(t *testing.T) {
	p := demo()
	p.PartnerInterlock, p.Safety.SBC = true, true
	r := newRig(t, p)
	for _, tt := range []struct {
		in   Input
		word float64
	}{
		{Input{Supplied: true}, 0},
		{Input{Supplied: true, STO: true}, 1<<16 | 1<<3},
		{Input{Supplied: true, PartnerOff: true}, 1<<17 | 1<<3},
		{Input{Supplied: true, Safe: RequestSBC | RequestSLS}, 1 << 23}, // SLS is not there
	} {
		r.in = tt.in
		r.step()
		if got := r.d.Load(DigitalInputs); got != tt.word {
			t.Errorf("%+v: %#x, want %#x", tt.in, int(got), int(tt.word))
		}
	}
}
