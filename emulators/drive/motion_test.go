package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

// A proportional speed loop of f Hz on a rigid inertia is a first-order lag of
// 1/(2 pi f): after that time 1 - 1/e of a step has been made. Textbook.
func TestSpeedLoop_BandwidthOnARigidInertia(t *testing.T) {
	p := demo()
	p.Acceleration = 1e6 // no ramp to speak of
	p.SpeedLoop = 1
	r := newRig(t, p)
	r.enable()
	r.store(TargetVelocity, 0.2*deg)
	tau := time.Duration(math.Round(1e9 / (2 * math.Pi)))
	r.run(tau)
	got := r.in.MotorRate / (0.2 * deg)
	if want := 1 - 1/math.E; math.Abs(got-want) > 0.002 {
		t.Errorf("after 1/(2 pi f) the speed is %.4f of its step, want %.4f", got, want)
	}
}

// Without an integral a steady load leaves a speed error of load over gain.
func TestSpeedLoop_DroopsWithoutIntegral(t *testing.T) {
	p := demo()
	r := newRig(t, p)
	r.load = -10e3
	r.turn(deg)
	r.run(2 * time.Second)
	droop := 10e3 / (2 * math.Pi * 8 * 77.5e3)
	if got := deg - r.in.MotorRate; math.Abs(got-droop) > 0.001*droop {
		t.Errorf("droop %g rad/s, want %g", got, droop)
	}
	p.IntegralTime = 200 * time.Millisecond
	r = newRig(t, p)
	r.load = -10e3
	r.turn(deg)
	r.run(5 * time.Second)
	if got := deg - r.in.MotorRate; math.Abs(got) > 1e-6*droop+1e-9 {
		t.Errorf("with an integral %g rad/s is left", got)
	}
}

// 1000 per mille is rated torque: CiA 402 objects 6071, 6077, 6076, secondary.
func TestTorque_InPerMilleOfRated(t *testing.T) {
	r := newRig(t, demo())
	r.ideal = true
	r.store(Mode, float64(cia402.ModeProfileTorque))
	r.enable()
	r.store(TargetTorque, -250)
	r.step()
	if got := r.d.Torque(); math.Abs(got+0.25*42e3) > 1e-9 {
		t.Errorf("torque %g N m, want -25 %% of 42 kN m", got)
	}
	if got := r.d.Load(TorqueActual); math.Abs(got+250) > 1e-9 {
		t.Errorf("torque actual %g per mille", got)
	}
	r.store(TorqueOffset, 100)
	r.step()
	if got := r.d.Load(TorqueActual); math.Abs(got+150) > 1e-9 {
		t.Errorf("with the offset %g per mille, want -150", got)
	}
	if got := r.d.Load(RatedTorque); got != 42e3 {
		t.Errorf("rated torque %g", got)
	}
}

func TestTorque_LimitedAtPeakAndByMaxTorque(t *testing.T) {
	r := newRig(t, demo())
	r.enable()
	r.in.MotorRate = -5 * deg // asks for far more than there is
	r.step()
	if got := r.d.Load(TorqueActual); got != 2000 || !r.flag(cia402.InternalLimit) {
		t.Errorf("torque %g per mille, internal limit %v", got, r.flag(cia402.InternalLimit))
	}
	r.store(MaxTorque, 500)
	r.step()
	if got := r.d.Load(TorqueActual); math.Abs(got-500) > 1e-9 {
		t.Errorf("torque %g per mille, want 500", got)
	}
	r.store(MaxTorque, 32767)
	if got := r.d.Load(MaxTorque); got != 2000 {
		t.Errorf("largest torque %g per mille is beyond the peak", got)
	}
}

func TestTorque_SlopeInProfileTorque(t *testing.T) {
	p := demo()
	p.TorqueSlope = 1000 // rated torque in a second
	r := newRig(t, p)
	r.ideal = true
	r.store(Mode, float64(cia402.ModeProfileTorque))
	r.enable()
	r.store(TargetTorque, 500)
	took := r.until("reached", func() bool { return r.flag(cia402.TargetReached) })
	if d := took - 500*time.Millisecond; d < -h || d > h {
		t.Errorf("500 per mille after %v, want 500 ms", took)
	}
}

func TestVelocity_TargetIsCutToTheLimit(t *testing.T) {
	r := newRig(t, demo())
	r.store(MaxVelocity, deg)
	r.enable()
	r.store(TargetVelocity, 3*deg)
	r.run(5 * time.Second)
	if math.Abs(r.in.MotorRate-deg) > 1e-9 || !r.flag(cia402.InternalLimit) {
		t.Errorf("rate %g rad/s, internal limit %v", r.in.MotorRate, r.flag(cia402.InternalLimit))
	}
	r.store(TargetVelocity, deg/2)
	r.run(5 * time.Second)
	if r.flag(cia402.InternalLimit) {
		t.Error("internal limit shown below the limit")
	}
}

// Objects 606F and 6070, and 606D and 606E.
func TestStatusword_SpeedZeroAndTargetReached(t *testing.T) {
	p := demo()
	p.VelocityOffTime = 100 * time.Millisecond
	r := newRig(t, p)
	r.ideal = true
	r.enable()
	r.run(300 * time.Millisecond)
	if !r.flag(cia402.SpeedZero) || !r.flag(cia402.TargetReached) {
		t.Error("at rest: speed zero and target reached are owed")
	}
	r.store(TargetVelocity, deg)
	r.until("leaving", func() bool { return math.Abs(r.in.MotorRate) > 0.051*deg })
	if r.flag(cia402.SpeedZero) || r.flag(cia402.TargetReached) {
		t.Error("on the ramp: neither is so")
	}
	r.until("window", func() bool { return r.in.MotorRate > 0.9501*deg })
	took := r.until("reached", func() bool { return r.flag(cia402.TargetReached) })
	if d := took - 100*time.Millisecond; d < -2*h || d > 2*h {
		t.Errorf("target reached %v after the window, want 100 ms", took)
	}
	r.store(TargetVelocity, 0)
	r.until("below", func() bool { return math.Abs(r.in.MotorRate) < 0.05*deg })
	took = r.until("zero", func() bool { return r.flag(cia402.SpeedZero) })
	if d := took - 200*time.Millisecond; d < -2*h || d > 2*h {
		t.Errorf("speed zero %v after the threshold, want 200 ms", took)
	}
}

func TestMode_ChangeUnderWayIsSmooth(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	r.store(Mode, float64(cia402.ModeProfileTorque))
	r.step()
	if r.d.Torque() != 0 || r.d.Load(ModeDisplay) != 4 {
		t.Errorf("torque %g in mode %g", r.d.Torque(), r.d.Load(ModeDisplay))
	}
	r.store(TargetTorque, 300)
	r.until("faster", func() bool { return r.in.MotorRate > 1.5*deg })
	r.store(TargetTorque, 0)
	r.run(2 * h)
	r.store(Mode, float64(cia402.ModeProfileVelocity))
	r.step()
	// One step of the ramp, 2.2 deg/s^2, through the gain.
	if math.Abs(r.d.Torque()) > 1.1*2.2*deg*h.Seconds()*2*math.Pi*8*77.5e3 {
		t.Errorf("torque jumps to %g", r.d.Torque())
	}
	for _, mode := range []float64{-1, 0, 1, 3.5, 8} {
		if r.d.Store(Mode, mode) == nil {
			t.Errorf("mode %g accepted", mode)
		}
	}
}

// A quick stop in profile torque ramps from the speed that the motor has.
func TestMode_TorqueIsStoppedBySpeed(t *testing.T) {
	r := newRig(t, demo())
	r.store(Mode, float64(cia402.ModeProfileTorque))
	r.enable()
	r.store(TargetTorque, 300)
	r.until("turning", func() bool { return r.in.MotorRate > deg })
	r.send(0x02)
	took := r.until("disabled", func() bool { return r.d.State() == sd })
	want := 0.25 + 0.2 // 1 deg/s at 4 deg/s^2, then standstill for 200 ms
	if math.Abs(took.Seconds()-want) > 0.06 || math.Abs(r.in.MotorRate) > 0.05*deg {
		t.Errorf("stopped after %v at %g rad/s", took, r.in.MotorRate)
	}
}
