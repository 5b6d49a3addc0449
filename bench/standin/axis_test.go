package standin

import (
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/seed"
	"haltmark/emulators/cia402"
)

const ms = time.Millisecond

// testAxis is much like the azimuth of the demo station.
func testAxis() *AxisSettings {
	return &AxisSettings{
		Motors: 2, Brakes: true,
		SoftwareLimits: [2]quantity.Angle{-265 * quantity.Degree, 265 * quantity.Degree},
		FullRate:       2.4 * quantity.DegreePerSecond,
		Acceleration:   quantity.Acceleration(1.5 * float64(quantity.Degree)),
		StopRamp:       quantity.Acceleration(2.2 * float64(quantity.Degree)),
		StopJerk:       quantity.Jerk(10 * float64(quantity.Degree)),
		RampTime:       1900 * time.Millisecond,
		RatedTorque:    42e3, TorqueBias: 4e3, Inertia: 1e5,
		PositionLoop: 0.5, SpeedLoop: 4,
		StandstillRate: 0.05 * quantity.DegreePerSecond, StandstillHold: 100 * ms,
		DisagreeRate: 0.3 * quantity.DegreePerSecond, DisagreeTime: 300 * ms,
		FollowingError: 0.5 * quantity.Degree, FollowingErrorTime: 500 * ms,
		EncoderCounts: 1 << 25, EncoderCountAngle: quantity.Angle(1e-6),
	}
}

// bench is an axis whose devices do as they are commanded, or as a test says.
type bench struct {
	axis
	now      time.Duration
	weak     bool // the drives give no torque
	dead     bool // the drives do not come to operation enabled
	feedback [2]bool
	stuck    bool // the feedback stays as it is

	brakesBefore int // seen set when the axis last decided
}

// disturb is one thing that may happen between two cycles.
func (b *bench) disturb(draw *seed.Stream) {
	switch draw.IntN(60) {
	case 0, 1, 2:
		b.start(goal{goalRate, float64(b.set.FullRate), float64(b.set.FullRate)}, b.now)
	case 3:
		b.stop(b.now)
	case 4:
		b.removeTorque(b.now)
	case 5:
		b.weak = draw.IntN(3) == 0
	case 6:
		b.dead = draw.IntN(4) == 0
	case 7:
		b.stuck = draw.IntN(3) == 0
	}
}

func newBench() *bench {
	b := &bench{axis: newAxis(testAxis(), &Timing{BrakeFeedback: 500 * ms}), now: time.Second,
		feedback: [2]bool{true, true}}
	for m := range b.motors {
		b.motors[m] = driveStatus{heard: true, decoded: true, state: cia402.SwitchOnDisabled,
			brakeSet: true}
	}
	return b
}

// step is one cycle: the axis decides, then the devices answer.
func (b *bench) step() {
	b.brakesBefore = b.brakesSet()
	b.axis.cycle(b.now, testCycle)
	b.now += 20 * ms
	for m := range b.motors {
		seen, out := &b.motors[m], b.out[m]
		seen.state = answer(seen.state, out.word, b.dead)
		seen.torque, seen.rate = 0, 0
		if seen.state == cia402.OperationEnabled && !b.weak {
			seen.torque = out.offset
			if b.release {
				seen.rate = out.rate
			}
		}
		if !b.stuck {
			b.feedback[m] = !b.release
		}
		seen.brakeSet = b.feedback[m]
	}
	b.position += b.motorRate() * testCycle
	b.axis.rate = b.motorRate()
}

// answer is the state that a drive of CiA 402 comes to; transitions 2, 3 with 4,
// 9 and 11 with 12 (IEC 61800-7-201), each within a cycle.
func answer(was cia402.State, word uint16, dead bool) cia402.State {
	switch {
	case dead:
		return cia402.SwitchOnDisabled
	case word == cia402.CommandShutdown:
		return cia402.ReadyToSwitchOn
	case word == cia402.CommandEnableOperation && was != cia402.SwitchOnDisabled:
		return cia402.OperationEnabled
	}
	return cia402.SwitchOnDisabled
}

// until steps until the axis is in a phase.
func (b *bench) until(t *testing.T, p phase) {
	t.Helper()
	for n := 0; b.phase != p; n++ {
		if n > 1000 {
			t.Fatalf("stays in phase %d, never in %d", b.phase, p)
		}
		b.step()
	}
}

func (b *bench) turning(t *testing.T) {
	t.Helper()
	b.start(goal{goalRate, float64(b.set.FullRate), float64(b.set.FullRate)}, b.now)
	b.until(t, running)
	for range 200 {
		b.step()
	}
	if b.ref.rate != float64(b.set.FullRate) {
		t.Fatalf("turns at %g rad/s, commanded %v", b.ref.rate, b.set.FullRate)
	}
}

// The order of a normal start and of a stop (common practice): torque before the brakes
// open, brakes before the torque goes.
func TestAxis_OrderOfStartAndStop(t *testing.T) {
	b := newBench()
	var order []phase
	note := func() {
		b.step()
		if len(order) == 0 || order[len(order)-1] != b.phase {
			order = append(order, b.phase)
		}
	}
	b.start(goal{goalRate, float64(b.set.FullRate), float64(b.set.FullRate)}, b.now)
	for range 250 {
		note()
	}
	b.stop(b.now)
	for range 250 {
		note()
	}
	want := []phase{enabling, proving, releasing, running, ramping, applying, off}
	if len(order) != len(want) {
		t.Fatalf("phases %v, want %v", order, want)
	}
	for i := range want {
		if order[i] != want[i] {
			t.Fatalf("phases %v, want %v", order, want)
		}
	}
	if b.enable || b.release || b.out[0] != (driveCommand{word: cia402.CommandDisableVoltage}) {
		t.Errorf("at rest: enable %v, release %v, sent %+v", b.enable, b.release, b.out[0])
	}
}

func TestAxis_BrakesStayUntilTorqueIsProved(t *testing.T) {
	b := newBench()
	b.weak = true
	b.start(goal{kind: goalHold}, b.now)
	for range 20 {
		b.step()
		if b.release {
			t.Fatal("brakes released without torque")
		}
	}
	if b.phase != proving {
		t.Fatalf("in phase %d without torque", b.phase)
	}
	for b.failed == causeNone {
		if b.now > 5*time.Second {
			t.Fatal("torque is never missed")
		}
		b.step()
	}
	if late := b.now - 20*ms - b.since; b.failed != causeTorqueUnproved || late > provingTime+20*ms {
		t.Errorf("cause %v after %v", b.failed, late)
	}
}

// One motor alone must not pass for two: each shows its own bias.
func TestAxis_BothMotorsProveTheirBias(t *testing.T) {
	for lame := range 2 {
		b := newBench()
		b.start(goal{kind: goalHold}, b.now)
		for range 20 {
			b.motors[lame].torque = 0
			b.axis.cycle(b.now, testCycle)
			b.now += 20 * ms
			for m := range b.motors {
				b.motors[m].state = answer(b.motors[m].state, b.out[m].word, false)
				b.motors[m].torque = b.out[m].offset
			}
			if b.release || b.phase > proving {
				t.Fatalf("released with motor %d lame", lame+1)
			}
		}
		if b.phase != proving {
			t.Fatalf("in phase %d", b.phase)
		}
	}
}

func TestAxis_TorqueIsHeldUntilTheBrakesAreSeen(t *testing.T) {
	b := newBench()
	b.turning(t)
	b.stop(b.now)
	b.until(t, applying)
	b.stuck = true
	for range 100 {
		b.step()
		if b.phase != applying || b.out[0].word != cia402.CommandEnableOperation {
			t.Fatalf("torque removed in phase %d, word %#04x", b.phase, b.out[0].word)
		}
	}
	b.stuck = false
	b.until(t, off)
}

// The setting of the station decides how long a feedback may take, at the release of
// the brakes and at their application.
func TestAxis_BrakeFeedbackIsDueAsSet(t *testing.T) {
	for _, due := range []time.Duration{200 * ms, 800 * ms} {
		for _, stopping := range []bool{false, true} {
			b := newBench()
			b.timing.BrakeFeedback = due
			b.start(goal{kind: goalHold}, b.now)
			b.until(t, releasing)
			if stopping {
				b.until(t, running)
				b.stop(b.now)
				b.until(t, applying)
			}
			b.stuck = true
			since := b.since
			for b.failed == causeNone {
				if b.now > since+2*time.Second {
					t.Fatalf("due in %v, stopping %v: nothing is missed in 2 s", due, stopping)
				}
				b.step()
			}
			if late := b.now - 20*ms - since; b.failed != causeBrakeFeedback || late != due+20*ms {
				t.Errorf("due in %v, stopping %v: %v after %v", due, stopping, b.failed, late)
			}
		}
	}
}

func TestAxis_OneBrakeSeenIsNotBoth(t *testing.T) {
	b := newBench()
	b.turning(t)
	b.stop(b.now)
	b.until(t, applying)
	b.stuck, b.feedback = true, [2]bool{true, false}
	for range 50 {
		b.step()
		if b.phase != applying {
			t.Fatalf("phase %d with one brake seen set", b.phase)
		}
	}
}

func TestAxis_SilentUnitLeavesTheBrakesToTheDrives(t *testing.T) {
	b := newBench()
	b.turning(t)
	b.stuck, b.unitSilent = true, true // what is sent arrives no more
	b.stop(b.now)
	b.until(t, applying)
	b.step()
	if b.out[0].word != cia402.CommandQuickStop {
		t.Fatalf("word %#04x, want the quick stop", b.out[0].word)
	}
	b.motors[1].state = cia402.QuickStopActive // one drive still brakes
	b.axis.cycle(b.now, testCycle)
	if b.phase != applying {
		t.Fatalf("over in phase %d before both drives are without torque", b.phase)
	}
	b.until(t, off)
}

func TestAxis_StopFromEveryPhase(t *testing.T) {
	for from, want := range map[phase]phase{off: off, enabling: off, proving: off,
		releasing: ramping, running: ramping, ramping: ramping, applying: applying,
		torqueOff: torqueOff} {
		b := newBench()
		b.enter(from, b.now)
		b.stop(b.now)
		if b.phase != want {
			t.Errorf("stop in phase %d leads to %d, want %d", from, b.phase, want)
		}
	}
}

func TestAxis_DropFromEveryPhase(t *testing.T) {
	for from := off; from <= torqueOff; from++ {
		b := newBench()
		b.motors[0].state, b.motors[1].state = cia402.OperationEnabled, cia402.OperationEnabled
		b.enable, b.release = true, true
		b.enter(from, b.now)
		b.removeTorque(b.now)
		b.axis.cycle(b.now, testCycle)
		if want := map[bool]phase{true: off, false: torqueOff}[from == off]; b.phase != want {
			t.Errorf("drop in phase %d leads to %d", from, b.phase)
		}
		for m := range b.out {
			if b.out[m] != (driveCommand{word: cia402.CommandDisableVoltage}) {
				t.Errorf("torqueOff from %d, motor %d is sent %+v", from, m+1, b.out[m])
			}
		}
		if b.enable || b.release {
			t.Errorf("torqueOff from %d: enable %v, release %v", from, b.enable, b.release)
		}
	}
}

// biasSeen reports whether each motor shows its share of the bias, one each way.
func (b *bench) biasSeen() bool {
	least, hold := 0.7*float64(b.set.TorqueBias), b.integral/2
	return b.motors[0].torque-hold > least && b.motors[1].torque-hold < -least
}

// Whatever a person and the devices do: no brake is released before the bias was
// seen for its time, and none is left before both are seen set.
func TestAxis_OrderHoldsWhateverHappens(t *testing.T) {
	draw := seed.Seed(4).Stream("events")
	released := 0
	for range 200 {
		b := newBench()
		shown := time.Duration(0)
		for range 400 {
			b.disturb(draw)
			seen := b.biasSeen()
			was := b.phase
			b.step()
			if seen && was == proving {
				shown += 20 * ms
			} else {
				shown = 0
			}
			if was == proving && b.phase == releasing {
				released++
				// The first of these readings stands at the beginning of the time.
				if shown < provingHold+20*ms {
					t.Fatalf("released after %v of torque, %v is due", shown-20*ms, provingHold)
				}
			}
			if b.release && b.phase < releasing {
				t.Fatalf("released in phase %d", b.phase)
			}
			if was == applying && b.phase == off && b.brakesBefore != 2 {
				t.Fatalf("torque removed with %d brakes seen set", b.brakesBefore)
			}
		}
	}
	if released < 100 {
		t.Errorf("only %d releases tried", released)
	}
}
