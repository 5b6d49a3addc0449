package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

var _ deviceFace = (*Servo)(nil)

// small is the azimuth of fixtures/stations/small.yaml: 9 and 18 kN m, bias 1.8 kN m,
// half of the axis (11 + 2 x 4 t m^2), speed loop 12 Hz.
func small() ServoParameters {
	p := demo()
	p.RatedTorque, p.PeakTorque = 9*quantity.KilonewtonMetre, 18*quantity.KilonewtonMetre
	p.Inertia, p.SpeedLoop = 9.5*quantity.TonneSquareMetre, 12
	p.Modes = cia402.KnownModes
	return ServoParameters{Motor: p, Bias: 1.8 * quantity.KilonewtonMetre}
}

func enabledServo(t *testing.T, p ServoParameters, mode int8) *Servo {
	t.Helper()
	s := NewServo(p)
	s.Step(0, ServoInput{Input: Input{Supplied: true}})
	for _, row := range [][2]float64{{float64(Mode), float64(mode)}, {float64(Controlword), 6},
		{float64(Controlword), 15}} {
		if err := s.Store(int(row[0]), row[1]); err != nil {
			t.Fatal(err)
		}
	}
	s.Faults.WatchdogDead = true
	return s
}

// Torque bias: T1 = T/2 + Tb, T2 = T/2 - Tb, both pinions preloaded while
// |T| < 2 Tb, and T2 changes its sign exactly there. Computed: testdata/SOURCES.md.
func TestServo_SharesByTheBiasLaw(t *testing.T) {
	s := enabledServo(t, small(), cia402.ModeCyclicTorque)
	now, bias := h, 1800.0
	for share := -600.0; share <= 600; share += 50 {
		if err := s.Store(TargetTorque, share); err != nil {
			t.Fatal(err)
		}
		s.Step(now, ServoInput{Input: Input{Supplied: true}})
		now += h
		whole := share / 1000 * 18e3 // 1000 per mille is both motors' rated torque
		first, second := s.MotorTorque(0), s.MotorTorque(1)
		if math.Abs(first-whole/2-bias) > 1e-9 || math.Abs(second-whole/2+bias) > 1e-9 {
			t.Errorf("T %g: shared %g and %g", whole, first, second)
		}
		if preloaded := first > 1e-9 && second < -1e-9; preloaded != (math.Abs(whole) < 2*bias) {
			t.Errorf("T %g: preloaded is %v, limit %g", whole, preloaded, 2*bias)
		}
	}
}

// One motor never gives more than its peak; the other takes over what it can.
func TestServo_PeakOfEachMotor(t *testing.T) {
	s := enabledServo(t, small(), cia402.ModeCyclicTorque)
	for share, want := range map[float64][2]float64{
		1900: {18e3, 1.9*18e3 - 18e3}, 2000: {18e3, 18e3}, -2000: {-18e3, -18e3},
	} {
		_ = s.Store(TargetTorque, share)
		s.Step(h, ServoInput{Input: Input{Supplied: true}})
		if got := [2]float64{s.MotorTorque(0), s.MotorTorque(1)}; math.Abs(got[0]-want[0]) > 1e-9 ||
			math.Abs(got[1]-want[1]) > 1e-9 {
			t.Errorf("%g per mille: %v, want %v", share, got, want)
		}
	}
}

// A unit that is not saturated does what two drives with the same parameters and
// opposite offsets do: both loops on the mean, the rest damps the difference.
func TestServo_IsTwoDrivesUnderOneCommand(t *testing.T) {
	p := small()
	s := enabledServo(t, p, cia402.ModeProfileVelocity)
	var pair [2]*Drive
	for m, offset := range []float64{200, -200} {
		pair[m] = New(p.Motor)
		pair[m].Step(0, Input{Supplied: true})
		pair[m].Faults.WatchdogDead = true
		_, _ = pair[m].Store(Controlword, 6), pair[m].Store(Controlword, 15)
		_ = pair[m].Store(TorqueOffset, offset)
		_ = pair[m].Store(TargetVelocity, deg)
	}
	_ = s.Store(TargetVelocity, deg)
	var rates [2]float64
	for now := h; now < time.Second; now += h {
		s.Step(now, ServoInput{MotorRate: rates, Input: Input{Supplied: true}})
		for m, d := range pair {
			d.Step(now, Input{MotorRate: rates[m], Supplied: true})
			if got, want := s.MotorTorque(m), d.Torque(); math.Abs(got-want) > 1e-6 {
				t.Fatalf("%v: motor %d has %g N m, a drive of its own %g", now, m, got, want)
			}
			rates[m] += d.Torque() / 9.5e3 * h.Seconds() * 0.1
		}
	}
}

// Category 0 of the unit is category 0 of both motors.
func TestServo_NoTorqueWithoutPower(t *testing.T) {
	s := enabledServo(t, small(), cia402.ModeProfileVelocity)
	in := ServoInput{MotorRate: [2]float64{0.01, 0.02}, Input: Input{Supplied: true}}
	s.Step(h, in)
	if s.MotorTorque(0) == 0 || s.MotorTorque(1) == 0 {
		t.Fatal("no torque while enabled")
	}
	in.STO = true
	s.Step(2*h, in)
	s.Step(2*h+20*time.Millisecond, in)
	if s.MotorTorque(0) != 0 || s.MotorTorque(1) != 0 || s.PowerOn() {
		t.Errorf("after STO %g and %g N m", s.MotorTorque(0), s.MotorTorque(1))
	}
}

func TestServo_Check(t *testing.T) {
	for _, bias := range []quantity.Torque{-1, 9001, quantity.Torque(math.NaN())} {
		p := small()
		if p.Bias = bias; p.Check() == nil {
			t.Errorf("bias %v accepted", bias)
		}
	}
	if err := small().Check(); err != nil {
		t.Error(err)
	}
}

// A sensor that lies about one motor of a unit is found by the other one (common
// practice), within 30 ms, and removes the torque at once.
func TestServo_FindsASensorThatLies(t *testing.T) {
	for name, lies := range map[string]Feedback{
		"dead": {Dead: true}, "reversed": {Reversed: true}, "frozen": {Frozen: true}, "sound": {},
	} {
		p := small()
		p.Motor.MaxVelocity = 3 * quantity.DegreePerSecond
		s := enabledServo(t, p, cia402.ModeProfileVelocity)
		at := 300 * time.Millisecond
		for now := h; now < at; now += h {
			_ = s.Store(Controlword, 15) // the watchdog's food
			if now == at/2 {
				s.Feedback[1] = lies
			}
			rate := 3 * deg
			if now < at/2 {
				rate = deg // what a frozen one keeps
			}
			s.Step(now, ServoInput{MotorRate: [2]float64{rate, rate}, Input: Input{Supplied: true}})
			late := now > at/2+apartTime+h
			if tripped := s.State() == cia402.Fault; late && tripped != (name != "sound") {
				t.Fatalf("%s: at %v in state %v", name, now, s.State())
			}
		}
		if name != "sound" && s.MotorTorque(0) != 0 {
			t.Errorf("%s: %g N m after the trip", name, s.MotorTorque(0))
		}
	}
}
