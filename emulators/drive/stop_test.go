package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// Stopping kinematics d = v t_r + v^2/2a, t = t_r + v/a, computed: the rows of
// testdata/SOURCES.md without jerk; v deg/s, t_r s, a deg/s^2, d deg, t s. Distance
// within v x step, time within a step.
var kinematics = []struct{ v, tr, a, d, t float64 }{
	{0.5, 0.10, 0.5, 0.300, 1.10},
	{1.0, 0.20, 0.5, 1.200, 2.20},
	{2.0, 0.15, 1.0, 2.300, 2.15},
	{0.3, 0.25, 0.2, 0.300, 1.75},
	{1.0, 0.05, 2.0, 0.300, 0.55},
}

// stopOnRamp measures an ideal axis from the cause to the end of the ramp that
// begin brings about a reaction time later.
func stopOnRamp(t *testing.T, v, tr float64, r *rig, begin func()) (d, s float64) {
	t.Helper()
	r.ideal = true
	r.turn(v * deg)
	if math.Abs(r.in.MotorRate-v*deg) > 1e-12 {
		t.Fatalf("turns at %g rad/s", r.in.MotorRate)
	}
	cause, at := r.in.MotorPosition, r.now
	r.run(time.Duration(math.Round(tr * 1e9)))
	begin()
	r.until("ramp down", func() bool { return r.d.Load(VelocityDemand) == 0 })
	return (r.in.MotorPosition - cause) / deg, (r.now - at).Seconds()
}

func TestRamps_AgainstStoppingKinematics(t *testing.T) {
	for _, row := range kinematics {
		ramp := quantity.Acceleration(row.a * deg)
		other := ramp * 7 // whoever takes the wrong object misses by far
		ways := map[string]struct {
			shape func(*Parameters)
			begin func(*rig)
		}{
			"target zero on 6084": {
				func(p *Parameters) { p.Deceleration = ramp },
				func(r *rig) { r.store(TargetVelocity, 0) }},
			"quick stop on 6085": {
				func(p *Parameters) { p.QuickStopDeceleration = ramp },
				func(r *rig) { r.send(0x02) }},
			"quick stop on 6084": {
				func(p *Parameters) { p.Deceleration, p.Options.QuickStop = ramp, 1 },
				func(r *rig) { r.send(0x02) }},
			"halt on 6085": {
				func(p *Parameters) { p.QuickStopDeceleration, p.Options.Halt = ramp, 2 },
				func(r *rig) { r.send(0x10F) }},
			"fault reaction on 6084": {
				func(p *Parameters) { p.Deceleration, p.Options.FaultReaction = ramp, 1 },
				func(r *rig) { r.d.Trip(cia402.ErrorDriveHot) }},
			"shutdown on 6084": {
				func(p *Parameters) { p.Deceleration, p.Options.Shutdown = ramp, 1 },
				func(r *rig) { r.send(0x06) }},
		}
		for name, way := range ways {
			p := demo()
			p.Acceleration, p.Deceleration, p.QuickStopDeceleration = other, other, other
			way.shape(&p)
			r := newRig(t, p)
			d, s := stopOnRamp(t, row.v, row.tr, r, func() { way.begin(r) })
			if math.Abs(d-row.d) > row.v*h.Seconds() || math.Abs(s-row.t) > h.Seconds() {
				t.Errorf("%s, %+v: %.5f deg in %.5f s", name, row, d, s)
			}
		}
	}
}

// A target of the other sign is reached through zero: deceleration, then
// acceleration. 2 deg/s at 2.2 and then 1.5 deg/s^2: 2/2.2 + 2/1.5 s.
func TestRamps_ReversalUsesBoth(t *testing.T) {
	r := newRig(t, demo())
	r.ideal = true
	r.turn(2 * deg)
	r.store(TargetVelocity, -2*deg)
	took := r.until("reversed", func() bool { return r.d.Load(VelocityDemand) == -2*deg })
	if want := 2/2.2 + 2/1.5; math.Abs(took.Seconds()-want) > 2*h.Seconds() {
		t.Errorf("took %v, want %.4f s", took, want)
	}
}

// Every code of object 605A: where it ends, and how hard it brakes from 2 deg/s.
// CiA 402, secondary; 3 and 4 brake as hard as torque allows (from memory).
func TestQuickStop_EachOption(t *testing.T) {
	slow, quick := 2/2.2, 2/4.0
	hard := 2 * deg * 77.5e3 / 84e3 // v J / T at peak torque
	for code, want := range map[int16]struct {
		state cia402.State
		ramp  float64
	}{
		0: {sd, 0}, 1: {sd, slow}, 2: {sd, quick}, 3: {sd, hard}, 4: {sd, hard},
		5: {qs, slow}, 6: {qs, quick}, 7: {qs, hard}, 8: {qs, hard},
	} {
		r := newRig(t, demo())
		r.turn(2 * deg)
		r.store(QuickStopOption, float64(code))
		r.send(0x02)
		if code == 0 {
			r.expect(sd)
			r.run(time.Second)
			if math.Abs(r.in.MotorRate-2*deg) > 1e-6 {
				t.Errorf("option 0: the motor does not coast, %g rad/s", r.in.MotorRate)
			}
			continue
		}
		r.expect(qs)
		took := r.until("slow", func() bool { return math.Abs(r.in.MotorRate) < 0.05*deg })
		// The speed loop lags its ramp by about 1/(2 pi 8 Hz), and comes into
		// the standstill band along an exponential.
		if took.Seconds() < want.ramp-0.03 || took.Seconds() > want.ramp+0.08 {
			t.Errorf("option %d: slow after %v, ramp %.3f s", code, took, want.ramp)
		}
		r.run(time.Second)
		r.expect(want.state)
		if r.d.PowerOn() != (want.state == qs) {
			t.Errorf("option %d: power stage on is %v", code, r.d.PowerOn())
		}
		r.send(0x0F) // transition 16 with options 5 to 8 only
		if got := r.d.State(); (got == oe) != cia402.Stays(code) {
			t.Errorf("option %d: enable operation leads to %v", code, got)
		}
	}
}

func TestOptions_ShutdownAndDisable(t *testing.T) {
	tests := []struct {
		object int
		code   float64
		word   uint16
		end    cia402.State
		ramp   bool
	}{
		{ShutdownOption, 0, 0x06, rs, false},
		{ShutdownOption, 1, 0x06, rs, true},
		{DisableOption, 0, 0x07, so, false},
		{DisableOption, 1, 0x07, so, true},
	}
	for _, tt := range tests {
		r := newRig(t, demo())
		r.turn(2 * deg)
		r.store(tt.object, tt.code)
		r.send(tt.word)
		if r.d.PowerOn() != tt.ramp {
			t.Errorf("%+v: power stage on is %v", tt, r.d.PowerOn())
		}
		r.run(2 * time.Second)
		r.expect(tt.end)
		if stands := math.Abs(r.in.MotorRate) < 0.05*deg; stands != tt.ramp {
			t.Errorf("%+v: motor at %g rad/s", tt, r.in.MotorRate)
		}
	}
}

func TestOptions_DisableIsTakenBackByEnable(t *testing.T) {
	r := newRig(t, demo())
	r.turn(2 * deg)
	r.send(0x07)
	r.run(200 * time.Millisecond)
	r.send(0x0F)
	r.until("back at speed", func() bool {
		if r.in.MotorRate < 1.5*deg { // 2 deg/s less 0.2 s at 2.2 deg/s^2 is 1.56
			t.Fatalf("the stop goes on: %g rad/s", r.in.MotorRate)
		}
		return math.Abs(r.in.MotorRate-2*deg) < 1e-6
	})
	r.expect(oe)
}

// Object 603F tells the last error until the drive is enabled again.
func TestErrorCode_GoneWithTheNextEnable(t *testing.T) {
	p := demo()
	p.Options.Abort = cia402.AbortDisableVoltage
	r := newRig(t, p)
	r.enable()
	r.deaf = true
	r.run(time.Second)
	if got := r.d.Load(ErrorCode); got != 0x8130 {
		t.Errorf("error code %g after the watchdog", got)
	}
	r.enable()
	if got := r.d.Load(ErrorCode); got != 0 {
		t.Errorf("error code %g once enabled", got)
	}
}

func TestHalt_StaysEnabledAndResumes(t *testing.T) {
	for code := range 4 {
		p := demo()
		p.Options.Halt = int16(code + 1)
		r := newRig(t, p)
		r.turn(2 * deg)
		r.send(0x10F)
		r.until("halted", func() bool { return r.flag(cia402.TargetReached) })
		r.expect(oe)
		if math.Abs(r.in.MotorRate) > 0.05*deg || !r.flag(cia402.SpeedZero) {
			t.Errorf("option %d: halted at %g rad/s", code+1, r.in.MotorRate)
		}
		r.send(0x0F)
		r.run(3 * time.Second)
		if math.Abs(r.in.MotorRate-2*deg) > 1e-6 {
			t.Errorf("option %d: resumes to %g rad/s", code+1, r.in.MotorRate)
		}
	}
}

// Each code of object 605E.
func TestFaultReaction_EachOption(t *testing.T) {
	for code := range int16(5) {
		p := demo()
		p.Options.FaultReaction = code
		r := newRig(t, p)
		r.turn(2 * deg)
		r.d.Trip(cia402.ErrorDriveHot)
		if code == 0 {
			r.expect(fa)
		} else {
			r.expect(fr)
		}
		r.until("fault", func() bool { return r.d.State() == fa })
		if stands := math.Abs(r.in.MotorRate) < 0.05*deg; stands != (code != 0) {
			t.Errorf("option %d: fault at %g rad/s", code, r.in.MotorRate)
		}
	}
}

// The watchdog of 200 ms that every shipped sheet has, and object 6007.
func TestWatchdog_EachReaction(t *testing.T) {
	for code, want := range map[int16]struct {
		first, last cia402.State
		error       uint16
		stands      bool
	}{
		cia402.AbortNone:           {oe, oe, 0, false},
		cia402.AbortFault:          {fr, fa, cia402.ErrorConnection, true},
		cia402.AbortDisableVoltage: {sd, sd, cia402.ErrorConnection, false},
		cia402.AbortQuickStop:      {qs, sd, cia402.ErrorConnection, true},
	} {
		p := demo()
		p.Options.Abort = code
		r := newRig(t, p)
		r.turn(2 * deg)
		r.send(0x0F)
		r.deaf = true
		// The last word came with the step before; the step at 200 ms after it acts.
		r.run(200*time.Millisecond - h)
		r.expect(oe)
		r.step()
		r.expect(want.first)
		r.run(2 * time.Second)
		r.expect(want.last)
		if r.d.ErrorCode() != want.error {
			t.Errorf("6007 = %d: error code %04X", code, r.d.ErrorCode())
		}
		if stands := math.Abs(r.in.MotorRate) < 0.05*deg; stands != want.stands {
			t.Errorf("6007 = %d: motor at %g rad/s", code, r.in.MotorRate)
		}
		if code == cia402.AbortNone {
			continue // keeps its last speed: the hazard of this code
		}
		r.deaf = false
		r.run(time.Second)
		r.expect(want.last) // the connection alone moves nothing
	}
}

func TestWatchdog_AnyControlwordFeedsIt(t *testing.T) {
	r := newRig(t, demo())
	r.turn(2 * deg)
	r.run(10 * time.Second)
	r.expect(oe)
	r.deaf = true
	for range 20 {
		r.run(100 * time.Millisecond)
		r.store(TargetVelocity, 2*deg) // feeds nothing
	}
	r.expect(fa)
}

// A drive that nobody commands keeps pulling until its power stage is off.
func TestTorqueOffset_StaysUntilThePowerStageIsOff(t *testing.T) {
	p := demo()
	p.Options.QuickStop = 6
	r := newRig(t, p)
	r.enable()
	r.ideal = true // held fast by its partner
	r.store(TorqueOffset, 200)
	want := 0.2 * 42e3
	check := func(when string) {
		t.Helper()
		r.run(time.Second)
		if math.Abs(r.d.Torque()-want) > 1e-6 {
			t.Errorf("%s: torque %g, want %g", when, r.d.Torque(), want)
		}
	}
	check("enabled")
	r.send(0x10F)
	check("halted")
	r.send(0x02)
	check("in quick stop active")
	r.send(0x00)
	want = 0
	check("disabled")
}
