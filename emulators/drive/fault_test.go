package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

// The faults are those by which an axis runs away (HZ-04), its motors fight (HZ-08), or
// a drive is lost in motion (HZ-12).

func TestFaults_Feedback(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	held, turn := r.d.Load(VelocityActual), r.d.Load(PositionActual)
	r.d.Faults.Feedback.Frozen = true
	r.store(TargetVelocity, 2*deg)
	r.run(time.Second)
	if r.d.Load(VelocityActual) != held || r.d.Load(PositionActual) != turn {
		t.Error("frozen feedback moves")
	}
	if r.in.MotorRate < 2.5*deg {
		t.Errorf("loop on frozen feedback: %g rad/s, it should run away", r.in.MotorRate)
	}

	r = newRig(t, demo())
	r.turn(deg)
	r.d.Faults.Feedback.Reversed = true
	r.step()
	if got := r.d.Load(VelocityActual); math.Abs(got+deg) > 0.01*deg {
		t.Errorf("reversed feedback reads %g", got)
	}
	r.run(time.Second)
	if math.Abs(r.in.MotorRate) < 3*deg || r.d.Load(TorqueActual) != 2000 {
		t.Errorf("positive feedback: %g rad/s, %g per mille", r.in.MotorRate,
			r.d.Load(TorqueActual))
	}

	r = newRig(t, demo())
	r.turn(deg)
	r.d.Faults.Feedback.Dead = true
	r.run(time.Second)
	if r.d.Load(VelocityActual) != 0 || r.in.MotorRate < 3*deg {
		t.Errorf("dead feedback: reads %g, turns %g", r.d.Load(VelocityActual), r.in.MotorRate)
	}
}

func TestFaults_RunawayPullsWhilePoweredOnly(t *testing.T) {
	r := newRig(t, demo())
	r.d.Faults.Runaway = 1
	r.run(time.Second)
	if r.d.Torque() != 0 {
		t.Errorf("torque %g without power", r.d.Torque())
	}
	r.enable()
	r.step()
	if r.d.Torque() != 84e3 || r.d.Load(TorqueActual) != 2000 {
		t.Errorf("torque %g, want peak", r.d.Torque())
	}
	r.d.Faults.Runaway = -1
	r.step()
	if r.d.Torque() != -84e3 {
		t.Errorf("torque %g, want peak the other way", r.d.Torque())
	}
	r.in.STO = true
	r.run(20*time.Millisecond + h)
	if r.d.Torque() != 0 {
		t.Error("STO does not end a runaway")
	}
}

func TestFaults_PowerStage(t *testing.T) {
	for _, tt := range []struct {
		spoil func(*Faults)
		want  float64
	}{
		{func(*Faults) {}, 200},
		{func(f *Faults) { f.TorqueLoss = 0.25 }, 150},
		{func(f *Faults) { f.ReversedTorque = true }, -200},
		{func(f *Faults) { f.OffsetError = -1 }, 0},
		{func(f *Faults) { f.OffsetError = 1 }, 400},
	} {
		r := newRig(t, demo())
		r.ideal = true
		r.enable()
		r.store(TorqueOffset, 200)
		tt.spoil(&r.d.Faults)
		r.step()
		if got := r.d.Load(TorqueActual); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%+v: %g per mille, want %g", r.d.Faults, got, tt.want)
		}
	}
}

func TestFaults_IgnoresStop(t *testing.T) {
	for _, word := range []uint16{0x00, 0x02, 0x06, 0x07, 0x10F} {
		r := newRig(t, demo())
		r.turn(deg)
		r.d.Faults.IgnoreStop = true
		r.send(word)
		r.run(time.Second)
		r.expect(oe)
		if math.Abs(r.in.MotorRate-deg) > 1e-6 {
			t.Errorf("word %#x slows a drive that hears no stop", word)
		}
		r.in.STO = true
		r.run(20*time.Millisecond + h)
		r.expect(sd)
	}
}

func TestFaults_IgnoresCommand(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	r.d.Faults.IgnoreCommand = true
	r.send(0x00)
	r.store(TargetVelocity, 0)
	r.store(TorqueOffset, 500)
	r.run(time.Second)
	r.expect(oe)
	if math.Abs(r.in.MotorRate-deg) > 1e-6 {
		t.Errorf("turns at %g rad/s, was told 1 deg/s before", r.in.MotorRate)
	}
	r.deaf = true
	r.run(time.Second)
	r.expect(fa) // its watchdog is another matter
}

func TestFaults_DeadProtections(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	r.d.Faults.STODead = true
	r.in.STO = true
	r.run(time.Second)
	r.expect(oe)
	r.d.Faults.STODead = false
	r.run(20*time.Millisecond + h)
	r.expect(sd)

	r = newRig(t, demo())
	r.turn(deg)
	r.d.Faults.WatchdogDead = true
	r.deaf = true
	r.run(5 * time.Second)
	r.expect(oe)
}

func TestFaults_StaleAnswersAsItWas(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	word, rate := r.d.Load(Statusword), r.d.Load(VelocityActual)
	r.d.Faults.Stale = true
	r.step()
	r.in.STO = true
	r.run(time.Second)
	if r.d.State() != sd {
		t.Fatalf("drive is in %v", r.d)
	}
	if r.d.Load(Statusword) != word || math.Abs(r.d.Load(VelocityActual)-rate) > 1e-9 ||
		r.d.Load(ErrorCode) != 0 {
		t.Error("a stale drive tells something new")
	}
	r.d.Faults.Stale = false
	r.step()
	r.expect(sd)
}

func TestFaults_WarningBit(t *testing.T) {
	r := newRig(t, demo())
	if r.flag(cia402.Warning) {
		t.Error("warning on a healthy drive")
	}
	r.d.Faults.Warning = true
	if !r.flag(cia402.Warning) {
		t.Error("no warning")
	}
	p := demo()
	p.Options.Abort = cia402.AbortNone
	r = newRig(t, p)
	r.turn(deg)
	r.deaf = true
	r.run(time.Second)
	if !r.flag(cia402.Warning) {
		t.Error("a drive that goes on unled does not warn")
	}
}
