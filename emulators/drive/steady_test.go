package drive

import (
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// A drive that takes steady steps wherever it may stands to the bit as one that never does:
// through ramps, a torque limit, a controller that falls silent, and what it
// then does.
func TestSteadyStep_IsStep(t *testing.T) {
	p := demo()
	p.VelocityOffTime = 20 * time.Millisecond
	p.Modes = cia402.SupportsProfileVelocity | cia402.SupportsCyclicVelocity
	p.Interpolation = 20 * time.Millisecond
	for _, mode := range []float64{float64(cia402.ModeProfileVelocity),
		float64(cia402.ModeCyclicVelocity)} {
		stepped, steady := newRig(t, p), newRig(t, p)
		steps, refused := 0, 0
		for at, last := time.Duration(0), 6*time.Second; at < last; at += h {
			for _, r := range []*rig{stepped, steady} {
				switch at {
				case 0:
					r.store(Mode, mode)
					r.send(cia402.CommandShutdown)
					r.send(cia402.CommandEnableOperation)
					r.store(TargetVelocity, 1.5*deg)
				case time.Second:
					r.load = float64(100 * quantity.KilonewtonMetre) // beyond the peak
				case 1500 * time.Millisecond:
					r.load = float64(10 * quantity.KilonewtonMetre)
					r.store(TorqueOffset, -200)
				case 3 * time.Second:
					r.store(TargetVelocity, -deg)
				case 4 * time.Second: // below the speed that it has
					r.store(MaxVelocity, 0.7*deg)
				case 5 * time.Second:
					r.deaf = true
				}
			}
			stepped.step()
			if steady.d.Regime() == Steady && (steady.deaf || steady.n%80 != 0) {
				if steady.steady() {
					steps++
					goto compare
				}
				refused++
			}
			steady.step()
		compare:
			for id := range stepped.d.Quantities() {
				if got, want := steady.d.Load(id), stepped.d.Load(id); got != want {
					t.Fatalf("at %v: %s %g, want %g", at, stepped.d.Quantities()[id], got, want)
				}
			}
			if got, want := steady.d.Torque(), stepped.d.Torque(); got != want {
				t.Fatalf("at %v: torque %g, want %g", at, got, want)
			}
		}
		if steps < 10000 || refused == 0 {
			t.Errorf("%d steady steps, %d refused; nothing is shown by that", steps, refused)
		}
		stepped.expect(cia402.Fault)
	}
}

// steady is step by SteadyStep; false without one.
func (r *rig) steady() bool {
	before := r.in.MotorRate
	if r.now >= r.d.Due() {
		return false
	}
	r.d.SteadyStep(r.now, r.in.MotorRate, r.in.MotorPosition)
	r.n++
	r.in.MotorRate += (r.d.Torque() + r.load) / r.inertia * h.Seconds()
	r.in.MotorPosition += (before + r.in.MotorRate) / 2 * h.Seconds()
	r.now += h
	return true
}

// What is no steady operation.
func TestRegime_NotSteady(t *testing.T) {
	for name, spoil := range map[string]func(r *rig){
		"a stop":             func(r *rig) { r.send(cia402.CommandQuickStop) },
		"halt":               func(r *rig) { r.send(cia402.CommandEnableOperation | cia402.BitHalt) },
		"a fault":            func(r *rig) { r.d.Faults.TorqueLoss = 0.1 },
		"frozen feedback":    func(r *rig) { r.d.Faults.Feedback.Frozen = true },
		"a trip":             func(r *rig) { r.d.Trip(cia402.ErrorMotorBlocked) },
		"no supply":          func(r *rig) { r.in.Supplied = false; r.step() },
		"safe torque off":    func(r *rig) { r.in.STO = true; r.step() },
		"disabled":           func(r *rig) { r.send(0) },
		"a torque mode":      func(r *rig) { r.store(Mode, float64(cia402.ModeProfileTorque)) },
		"a watch of its own": func(r *rig) { r.d.set.Overspeed = 1; r.d.refit() },
		"an integral":        func(r *rig) { r.d.set.IntegralTime = time.Second; r.d.refit() },
	} {
		r := newRig(t, demo())
		r.turn(deg)
		if r.d.Regime() != Steady {
			t.Fatal("a drive under way is not steady")
		}
		spoil(r)
		if r.d.Regime() == Steady {
			t.Errorf("%s: steady", name)
		}
	}
}

// In its band of settled speeds a drive does what it does at any speed, near standstill
// and near the limits of torque, voltage and velocity too.
func TestSteadyStep_SettledBand(t *testing.T) {
	const window = 0.05 * deg
	for name, c := range map[string]struct {
		turns, offset float64
		change        func(p *Parameters)
		steady        bool // has a band
	}{
		"one way":       {turns: deg, steady: true},
		"other way":     {turns: -deg, steady: true},
		"near standing": {turns: 0.06 * deg},
		"voltage": {turns: deg,
			change: func(p *Parameters) { p.BaseRate = 0.98 * quantity.DegreePerSecond }},
		"peak torque one way":   {turns: deg, offset: 1950},
		"peak torque other way": {turns: deg, offset: -1950},
		"velocity": {turns: deg,
			change: func(p *Parameters) { p.MaxVelocity = 0.99 * quantity.DegreePerSecond }},
	} {
		p := demo()
		if c.change != nil {
			c.change(&p)
		}
		r := newRig(t, p)
		r.ideal = true
		r.enable()
		r.store(TargetVelocity, c.turns)
		r.run(3 * time.Second)
		r.store(TorqueOffset, c.offset)
		if r.d.Regime() != Steady {
			t.Fatalf("%s: not steady", name)
		}
		if has := r.d.settled != (band{}); has != c.steady {
			t.Errorf("%s: settled between %v", name, r.d.settled)
		}
		for k := -120; k <= 120; k++ {
			rate := c.turns + float64(k)*window/100
			quick, whole := *r.d, *r.d
			quick.SteadyStep(r.now, rate, 1)
			whole.adjust(r.now, rate, 1)
			if quick != whole {
				t.Fatalf("%s at %g rad/s: %+v, want %+v", name, rate, quick, whole)
			}
		}
	}
}

// twins are two servo units that get the same, the second of which takes steady steps where it may.
type twins struct {
	t               *testing.T
	stepped, steady *Servo
	now             time.Duration
	rates, turns    [ServoMotors]float64
	load            float64 // N m on each motor
	supply          quantity.Ratio
	steps, refused  int
	operates        bool // the second has been found steady
}

func newTwins(t *testing.T, p ServoParameters) *twins {
	w := &twins{t: t, stepped: NewServo(p), steady: NewServo(p)}
	w.step()
	w.store(Mode, float64(cia402.ModeProfileVelocity))
	w.store(Controlword, float64(cia402.CommandShutdown))
	return w
}

func (w *twins) store(id int, value float64) {
	w.t.Helper()
	for _, s := range []*Servo{w.stepped, w.steady} {
		if err := s.Store(id, value); err != nil {
			w.t.Fatal(err)
		}
	}
	w.operates = false
}

func (w *twins) step() {
	in := ServoInput{MotorRate: w.rates, MotorPosition: w.turns,
		Input: Input{Supplied: true, Supply: w.supply}}
	w.stepped.Step(w.now, in)
	s := w.steady
	w.operates = w.operates || s.Regime() == Steady
	switch {
	case !w.operates || w.now >= s.Due() || in.voltage() != s.mains:
		s.Step(w.now, in)
	case s.SteadyStep(w.now, w.rates, w.turns):
		w.steps++
	default:
		w.refused++
		w.operates = false
		s.Step(w.now, in)
	}
	for i := range w.rates {
		before := w.rates[i]
		torque := w.stepped.MotorTorque(i) + w.load
		w.rates[i] += torque / float64(w.stepped.set.Motor.Inertia) * h.Seconds()
		w.turns[i] += (before + w.rates[i]) / 2 * h.Seconds()
	}
	w.now += h
}

func (w *twins) compare() {
	w.t.Helper()
	a, b := w.stepped, w.steady
	for id := range a.Quantities() {
		if want, got := a.Load(id), b.Load(id); got != want {
			w.t.Fatalf("at %v: %s %g, want %g", w.now, a.Quantities()[id], got, want)
		}
	}
	if a.torque != b.torque || a.Energies() != b.Energies() || a.State() != b.State() {
		w.t.Fatalf("at %v: %v %v, want %v %v", w.now, b, b.torque, a, a.torque)
	}
}

// A servo unit that takes steady steps stands to the bit as one that takes every step: with a
// link that it drains and fills, through its chopper, until an overhauling load trips it.
func TestServo_SteadyStepIsStep(t *testing.T) {
	for _, link := range []Link{{}, testLink()} {
		p := small()
		p.Motor.Link = link
		p.Motor.BaseRate = 0.9 * quantity.DegreePerSecond
		if link.Energy > 0 {
			p.Motor.Safety.SLSRate, p.Motor.Link.Heat = 1, 1200
		}
		w := newTwins(t, p)
		for w.now < 8*time.Second {
			switch at := w.now; at {
			case 500 * time.Millisecond:
				w.store(TargetVelocity, 1.5*deg)
			case 3 * time.Second:
				w.store(TargetVelocity, -deg)
			case 5 * time.Second: // fills the link, which lifts the base rate
				w.load = -17e3
			case 5510 * time.Millisecond:
				w.load = 17.5e3
			case 6 * time.Second:
				w.load = -40e3
			}
			if w.now%(100*time.Millisecond) == 0 {
				w.store(Controlword, float64(cia402.CommandEnableOperation))
			}
			w.step()
			w.compare()
		}
		if w.steps < 10000 {
			t.Errorf("%d steady steps", w.steps)
		}
		if tripped := w.stepped.ErrorCode() != 0; tripped != (link.Energy > 0) ||
			tripped != (w.refused > 0) {
			t.Errorf("link of %v: error %04X, refused %d steps", link.Energy,
				w.stepped.ErrorCode(), w.refused)
		}
	}
}
