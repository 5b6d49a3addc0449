package drive

import (
	"fmt"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/seed"
	"haltmark/emulators/cia402"
)

// chancy is a drive or a servo unit under whatever chance brings, with a motor that it does
// not turn.
type chancy struct {
	drive  *Drive
	servo  *Servo // nil of a drive
	chance *seed.Stream
	now    time.Duration
	in     ServoInput
}

func newChancy(p ServoParameters, servo bool, s seed.Seed) *chancy {
	c := &chancy{chance: s.Stream("regime"), in: ServoInput{Input: Input{Supplied: true}}}
	if servo {
		c.servo = NewServo(p)
		c.drive = &c.servo.Drive
	} else {
		c.drive = New(p.Motor)
	}
	return c
}

func (c *chancy) step() {
	if c.servo != nil {
		c.servo.Step(c.now, c.in)
		return
	}
	in := c.in.Input
	in.MotorRate, in.MotorPosition = c.in.MotorRate[0], c.in.MotorPosition[0]
	c.drive.Step(c.now, in)
}

func (c *chancy) regime() Regime {
	if c.servo != nil {
		return c.servo.Regime()
	}
	return c.drive.Regime()
}

// change does something to the drive or to what reaches it.
func (c *chancy) change() {
	d, f := c.drive, &c.drive.Faults
	flip := func(b *bool) { *b = c.chance.IntN(3) == 0 }
	store := func(id int, value float64) { _ = d.Store(id, value) } // some are refused
	switch c.chance.IntN(24) {
	case 0, 1, 2, 3, 4, 5, 6:
		store(Controlword, float64(c.word()))
	case 7, 8, 9:
		store(TargetVelocity, float64(c.chance.IntN(5)-2)*deg)
	case 10:
		store(TorqueOffset, float64(c.chance.IntN(4001)-2000))
	case 11:
		store(Mode, float64([]int8{3, 4, 9, 10}[c.chance.IntN(4)]))
	case 12:
		store(MaxTorque, float64(c.chance.IntN(2000)))
	case 13:
		store(MaxVelocity, float64(1+c.chance.IntN(3))*deg)
	case 14:
		flip(&c.in.STO)
	case 15:
		c.in.Supplied = c.chance.IntN(4) > 0
	case 16:
		some := c.chance.IntN(64)
		c.in.Safe = SafeRequest(some & c.chance.IntN(64)) // two draws: few bits at a time
	case 17:
		flip(&c.in.PartnerOff)
	case 18:
		c.in.Supply = []quantity.Ratio{0, 0.5, 0.9}[c.chance.IntN(3)]
	case 19:
		flip([]*bool{&f.Stale, &f.IgnoreStop, &f.Warning, &f.WatchdogDead,
			&f.Feedback.Frozen, &f.STODead}[c.chance.IntN(6)])
	case 20:
		f.TorqueLoss, f.HeldTrip = 0, 0
		if c.chance.IntN(3) == 0 {
			f.HeldTrip = cia402.ErrorMotorBlocked
		}
	case 21:
		c.in.Safe = []SafeRequest{0, RequestSS1, RequestSLS}[c.chance.IntN(3)]
	case 22:
		if c.servo != nil {
			flip(&c.servo.Feedback[0].Dead)
			flip(&c.servo.Feedback[1].Frozen)
		}
	}
}

// recover takes away all that keeps a drive from operation.
func (c *chancy) recover() {
	c.in.Input = Input{Supplied: true}
	c.drive.Faults = Faults{}
	if c.servo != nil {
		c.servo.Feedback = [ServoMotors]Feedback{}
	}
	_ = c.drive.Store(Mode, float64(cia402.ModeProfileVelocity))
}

// word is a controlword, mostly one that leads on.
func (c *chancy) word() uint16 {
	if c.chance.IntN(4) > 0 {
		switch c.drive.State() {
		case cia402.Fault:
			return cia402.BitFaultReset
		case cia402.SwitchOnDisabled:
			return cia402.CommandShutdown
		}
		return cia402.CommandEnableOperation
	}
	return []uint16{0, cia402.CommandShutdown, cia402.CommandQuickStop,
		cia402.CommandEnableOperation | cia402.BitHalt}[c.chance.IntN(4)]
}

// turn is the motors' next speed and angle: they stand, or go about as the drive demands.
func (c *chancy) turn(stands bool) {
	for i := range c.in.MotorRate {
		before := c.in.MotorRate[i]
		if c.in.MotorRate[i] = 0; !stands {
			spread := 0.04
			if c.chance.IntN(50) == 0 {
				spread = 4
			}
			c.in.MotorRate[i] = c.drive.demand + (c.chance.Float64()-0.5)*spread*deg
		}
		c.in.MotorPosition[i] += (before + c.in.MotorRate[i]) / 2 * h.Seconds()
	}
}

// copy is another one that stands as this does.
func (c *chancy) copy() *chancy {
	other := *c
	if c.servo != nil {
		servo := *c.servo
		other.servo, other.drive = &servo, &servo.Drive
	} else {
		drive := *c.drive
		other.drive = &drive
	}
	return &other
}

// differs reports whether two stand otherwise, their clocks apart.
func (c *chancy) differs(o *chancy) bool {
	bare := func(c *chancy) (Drive, Servo) {
		c = c.copy()
		d := c.drive
		d.now, d.idle, d.watch = 0, false, watches{partner: d.watch.partner}
		d.power.fade, d.settled = fade{}, band{}
		d.safe.farthest, d.safe.nearest = 0, 0 // begun anew when SDI is selected
		if c.servo == nil {
			return *d, Servo{}
		}
		c.servo.alike = 0
		return *d, *c.servo
	}
	d, s := bare(c)
	od, os := bare(o)
	return d != od || s != os
}

// kinds are drives with all that they may have, by name.
func kinds() map[string]ServoParameters {
	all := map[string]ServoParameters{}
	add := func(name string, change func(p *Parameters)) {
		p := small()
		p.Motor.VelocityOffTime = 5 * time.Millisecond
		p.Motor.StandstillTime = 10 * time.Millisecond
		change(&p.Motor)
		all[name] = p
	}
	add("plain", func(*Parameters) {})
	add("fault on STO", func(p *Parameters) { p.STOEndsIn = STOFaults })
	add("base rate", func(p *Parameters) { p.BaseRate = 1.5 * quantity.DegreePerSecond })
	add("integral", func(p *Parameters) { p.IntegralTime = 50 * time.Millisecond })
	add("link", func(p *Parameters) { p.Link = testLink() })
	add("hot link", func(p *Parameters) { p.Link = testLink(); p.Link.Heat = 20 })
	add("scant link", func(p *Parameters) { // over and under its bounds within a few steps
		p.Link = testLink()
		p.Link.Energy, p.Link.Resistor, p.Link.Under = 1, time.Minute, 0.95
	})
	add("link with limited speed", func(p *Parameters) {
		p.Link, p.Safety.SLSRate, p.Safety.SBC = testLink(), 0.5*quantity.DegreePerSecond, true
	})
	add("limited speed", func(p *Parameters) { p.Safety.SLSRate = 0.5 * quantity.DegreePerSecond })
	add("link, watched", func(p *Parameters) {
		p.Link, p.Overspeed = testLink(), 1.5*quantity.DegreePerSecond
	})
	add("warm motor", func(p *Parameters) { p.Thermal = Thermal{100 * time.Millisecond, true} })
	add("SS1 alone", func(p *Parameters) { p.Safety.SS1Time = 30 * time.Millisecond })
	add("safe functions", func(p *Parameters) {
		p.Safety = safeDrive().Safety
		p.Safety.Reaction = ReactSTO
	})
	return all
}

// A drive at rest is told nothing by time alone, and in steady operation a steady step is
// Step: to the bit, after whatever came before.
func TestRegime_IsWhatItSays(t *testing.T) {
	for name, p := range kinds() {
		for _, servo := range []bool{false, true} {
			seen := map[Regime]int{}
			c := newChancy(p, servo, seed.Seed(1).Derive(name, fmt.Sprint(servo)))
			for stands, on := false, false; c.now < 20*time.Second; c.now += h {
				lost := on && !c.drive.PowerOn()
				on = c.drive.PowerOn()
				if lost || c.chance.IntN(60) == 0 {
					c.change()
				}
				if c.chance.IntN(1500) == 0 {
					c.recover()
				}
				if c.chance.IntN(400) == 0 {
					stands = c.chance.IntN(2) == 0
				}
				c.turn(stands && c.drive.demand == 0)
				c.step()
				regime := c.regime()
				if err := c.check(regime); err != nil {
					t.Fatalf("%s, servo unit %v, at %v: %v\n%+v", name, servo, c.now, err, c.drive)
				}
				seen[regime]++
			}
			watched := name == "integral" || name == "link, watched" || name == "warm motor" ||
				!servo && name != "plain" && name != "fault on STO" && name != "base rate" ||
				name == "limited speed" || name == "safe functions" || name == "SS1 alone"
			// A link that heats its resistor takes longer than this to cool.
			if seen[AtRest] < 100 && name != "hot link" || (seen[Steady] < 100) != watched {
				t.Errorf("%s, servo unit %v: %v; nothing is shown by that", name, servo, seen)
			}
		}
	}
}

// check tries the next step of a copy by what its regime allows, and of another by Step.
func (c *chancy) check(regime Regime) error {
	next := c.copy()
	next.now += h
	switch regime {
	case AtRest:
		if c.in.MotorRate != [ServoMotors]float64{} {
			return nil
		}
		if next.step(); next.differs(c) {
			return fmt.Errorf("not at rest, came to\n%+v", next.drive)
		}
	case Steady:
		if next.now >= c.drive.Due() {
			return nil
		}
		next.turn(false)
		steady := next.copy()
		if !steady.steadyStep() {
			return nil
		}
		if next.step(); next.differs(steady) {
			return fmt.Errorf("a steady step came to\n%+v, want\n%+v", steady.drive, next.drive)
		}
	}
	return nil
}

func (c *chancy) steadyStep() bool {
	if c.servo != nil {
		return c.servo.SteadyStep(c.now, c.in.MotorRate, c.in.MotorPosition)
	}
	c.drive.SteadyStep(c.now, c.in.MotorRate[0], c.in.MotorPosition[0])
	return true
}

// SS1 that is held on a drive that stands lets it rest.
func TestRegime_RestsUnderSS1(t *testing.T) {
	r := newRig(t, safeDrive())
	r.enable()
	r.in.Safe = RequestSS1
	r.run(2 * time.Second)
	if r.d.safe.stop != safeSS1 || r.d.Regime() != AtRest {
		t.Errorf("safe stop %v, regime %v; want one at rest", r.d.safe.stop, r.d.Regime())
	}
}

// On mains that are too low for it a link drains in steady steps, until one is refused for the
// step that trips.
func TestRegime_ALinkThatDrainsIsNotSteady(t *testing.T) {
	p := small()
	p.Motor.Link = testLink()
	w := newTwins(t, p)
	w.store(Controlword, float64(cia402.CommandEnableOperation))
	w.store(TargetVelocity, 1.5*deg)
	w.load = -3e3
	for w.stepped.State() == cia402.OperationEnabled && w.now < 3*time.Second {
		if w.now == time.Second {
			w.supply = 0.6
		}
		if w.now%(100*time.Millisecond) == 0 {
			w.store(Controlword, float64(cia402.CommandEnableOperation))
		}
		w.step()
		w.compare()
	}
	if got := w.stepped.ErrorCode(); got != cia402.ErrorLinkUnder || w.refused != 1 {
		t.Errorf("error %04X, refused %d steps", got, w.refused)
	}
}

// Due is the watchdog's instant alone, and never of a drive that it does not mind.
func TestDue_IsTheWatchdogs(t *testing.T) {
	const never = time.Duration(1<<63 - 1)
	r := newRig(t, demo())
	if got := r.d.Due(); got != never {
		t.Errorf("disabled: due at %v", got)
	}
	r.enable()
	r.run(50 * time.Millisecond)
	r.store(Controlword, float64(cia402.CommandEnableOperation))
	if got, want := r.d.Due(), r.d.now+200*time.Millisecond; got != want {
		t.Errorf("in operation: due at %v, want %v", got, want)
	}
	r.store(AbortOption, float64(cia402.AbortNone))
	r.deaf = true
	r.run(300 * time.Millisecond)
	if got := r.d.Due(); got != never {
		t.Errorf("silent for long: due at %v", got)
	}
	p := demo()
	p.Watchdog = 0
	r = newRig(t, p)
	r.enable()
	if got := r.d.Due(); got != never {
		t.Errorf("without a watchdog: due at %v", got)
	}
}
