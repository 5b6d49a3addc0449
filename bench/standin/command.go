package standin

import (
	"errors"
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// Verb is a command of the management side; its numbers are those of the MIB.
type Verb int

// The verbs, in the order of the MIB.
const (
	VerbNone Verb = iota
	VerbArm
	VerbStart
	VerbStop
	VerbHold
	VerbPosition
	VerbRate
	VerbSelect
	VerbStow
	VerbReset
	VerbAcknowledge
	VerbRest
)

// Why a command is refused.
var (
	errLatched  = errors.New("standin: a stop cause is latched; release it, then reset")
	errNotArmed = errors.New("standin: not armed; arm, wait for the horn, then command")
	errLocal    = errors.New("standin: the mode selector is not at remote")
	errOutside  = errors.New("standin: the target lies outside the software limits")
	errInward   = errors.New("standin: a limit switch is actuated; inward motion only")
	errPresent  = errors.New("standin: a stop cause is still present")
	errUnknown  = errors.New("standin: no such command or axis")
)

// allAxes is the axis of a command or of a cause that is about every axis.
const allAxes = -1

// order is a command as it arrived.
type order struct {
	verb  Verb
	axis  int     // 0 azimuth ... 3 polarization V; allAxes
	value float64 // rad or rad/s
	token int32   // of the management side
}

// check tells whether a command may be obeyed as the controller stands.
func (c *Controller) check(o order, now time.Duration) error {
	switch o.verb {
	case VerbStop, VerbAcknowledge:
		return nil
	case VerbHold, VerbRest:
		if o.axis < allAxes || o.axis >= AxisCount {
			return errUnknown
		}
		return nil
	case VerbReset:
		return c.checkReset()
	case VerbArm, VerbStart, VerbPosition, VerbRate, VerbStow:
	default:
		return errUnknown
	}
	if c.seen.mode != modeRemote && !c.flaw.remoteInLocal {
		return errLocal
	}
	toStow := o.verb == VerbStow || o.verb == VerbArm
	if c.anyLatched() && !(toStow && c.onlyWindLatched()) {
		return errLatched
	}
	if o.verb != VerbArm && !c.armed(now) {
		return errNotArmed
	}
	if o.verb != VerbArm && c.seen.accessOpen && !c.flaw.forgetsAccess {
		return errPresent // somebody may be there, or a pin in
	}
	return c.checkTarget(o)
}

func (c *Controller) checkTarget(o order) error {
	if o.verb != VerbPosition && o.verb != VerbRate {
		return nil
	}
	if o.axis < 0 || o.axis >= AxisCount {
		return errUnknown
	}
	a := &c.axes[o.axis]
	if (a.phase == ramping || a.phase == setting) && !c.flaw.obstinate {
		return errPresent // the stop runs to its end first
	}
	if o.verb == VerbPosition && !c.flaw.ignoresSoftware && !c.flaw.obstinate {
		if o.value < float64(a.set.SoftwareLimits[0]) || o.value > float64(a.set.SoftwareLimits[1]) {
			return errOutside
		}
	}
	if o.axis >= MainAxes || c.flaw.outwardAtPreLimit || c.flaw.obstinate {
		return nil
	}
	toward := o.value
	if o.verb == VerbPosition {
		toward -= a.position
	}
	if (c.preLimit(o.axis, 1) && toward > 0) || (c.preLimit(o.axis, 0) && toward < 0) {
		return errInward
	}
	return nil
}

// checkReset refuses while any latched cause is still there, or the relay is
// open: the release and its reset by hand come first.
func (c *Controller) checkReset() error {
	if c.flaw.resetsWhilePressed || c.flaw.obstinate {
		return nil
	}
	for what, latched := range c.latched {
		if latched && c.present[what] && !cause(what).ofWind() {
			return errPresent
		}
	}
	if !c.seen.relayClosed {
		return errPresent
	}
	return nil
}

// obey carries out a command that check has passed.
func (c *Controller) obey(o order, now time.Duration) {
	switch o.verb {
	case VerbArm:
		c.arm(now)
	case VerbStart:
		c.startAxes(now)
	case VerbStop:
		c.stopAxes(now)
	case VerbHold:
		c.eachAxis(o.axis, func(a *axis) { a.goal = goal{kind: goalHold} })
	case VerbRest:
		c.eachAxis(o.axis, func(a *axis) { a.stop(now) })
	case VerbPosition:
		c.move(o.axis, goal{goalPosition, o.value, c.fullRate(o.axis)}, now)
	case VerbRate:
		full := c.fullRate(o.axis)
		c.move(o.axis, goal{goalRate, clamp(o.value, full), full}, now)
	case VerbStow:
		c.stowing = true
		c.move(1, goal{goalPosition, float64(c.set.Stow), c.fullRate(1)}, now)
	case VerbReset:
		c.reset(now)
	case VerbAcknowledge:
		c.acknowledged = true
	}
}

func (c *Controller) fullRate(i int) float64 { return float64(c.axes[i].set.FullRate) }

// eachAxis applies do to one axis, or to all for allAxes.
func (c *Controller) eachAxis(i int, do func(*axis)) {
	for k := range c.axes {
		if i < 0 || i == k {
			do(&c.axes[k])
		}
	}
}

func (c *Controller) startAxes(now time.Duration) {
	for k := range MainAxes {
		c.axes[k].start(goal{kind: goalHold}, now)
	}
}

// stopAxes is the operator's stop: category 2, torque stays on.
func (c *Controller) stopAxes(now time.Duration) {
	c.stowing = false
	if c.flaw.obstinate || c.flaw.ignoresOperator {
		return
	}
	for k := range c.axes {
		c.axes[k].goal = goal{kind: goalHold}
		if c.flaw.dropsForOperator {
			c.axes[k].stop(now)
		}
	}
	if c.powered() {
		c.raise(causeOperatorStop, allAxes, keepAlarm, now)
	}
}

// move gives an axis a fresh goal; a cause that does not latch is over by that.
func (c *Controller) move(i int, g goal, now time.Duration) {
	if !c.first.latches() {
		c.first = causeNone
	}
	c.keep(i, g)
	c.axes[i].start(g, now)
}

// arm begins the horn; the window opens when it ends.
func (c *Controller) arm(now time.Duration) {
	// Longer by what the outputs take, so that the station hears all of it.
	c.hornUntil = now + c.set.Timing.Horn + 2*c.set.Timing.Cycle
	if c.flaw.hornShort {
		c.hornUntil = now + 2*time.Second
	}
	if c.flaw.skipsHorn {
		c.hornUntil = now
	}
	c.armedUntil = c.hornUntil + c.set.Timing.ArmedWindow
}

func (c *Controller) disarm() { c.hornUntil, c.armedUntil = 0, 0 }

// armed tells whether motion may begin: the horn has ended and the window is
// open, or an axis already has its torque.
func (c *Controller) armed(now time.Duration) bool {
	if c.armedUntil == 0 || now < c.hornUntil {
		return false
	}
	return now < c.armedUntil || c.powered()
}

// powered tells whether any axis has left rest.
func (c *Controller) powered() bool {
	for k := range c.axes {
		if p := c.axes[k].phase; p != off && p != dropped {
			return true
		}
	}
	return false
}

func (c *Controller) anyLatched() bool {
	for _, latched := range c.latched {
		if latched {
			return true
		}
	}
	return false
}

// reset forgets the latched causes. Motion needs a fresh command after it. A wind
// that blows on is not forgotten, and nobody sets off on its account again.
func (c *Controller) reset(now time.Duration) {
	had := c.anyLatched()
	windy := c.present[causeWind] || c.present[causeWindDoubtful]
	c.latched = [causeCount]bool{}
	c.passed = [MainAxes][2]bool{}
	c.first = causeNone
	if !windy {
		c.refuge = refugeNone
	}
	c.lateStop = [AxisCount]time.Duration{}
	c.timers = [AxisCount]timers{}
	c.clearDrives = 2
	for k := range c.axes {
		c.axes[k].blind, c.axes[k].held = false, false
		c.encoders[k].jumps = 0
		if c.axes[k].phase == dropped {
			c.axes[k].enter(off, now)
		}
	}
	if c.flaw.restartsOnReset && had {
		c.restart(now)
	}
}

// restart goes on with the remembered motions; only seeded defects do.
func (c *Controller) restart(now time.Duration) {
	c.hornUntil, c.armedUntil = now, now+c.set.Timing.ArmedWindow
	for k := range c.axes {
		if g := c.kept(k); g.kind != goalHold {
			c.axes[k].start(g, now)
		}
	}
}

// keep remembers a motion beyond a restart.
func (c *Controller) keep(i int, g goal) {
	kind := "rate"
	if g.kind == goalPosition {
		kind = "position"
	}
	c.set.Kept.Moves[i] = Move{kind, g.value}
}

// kept is the remembered motion of an axis; a hold where there is none.
func (c *Controller) kept(i int) goal {
	m := c.set.Kept.Moves[i]
	switch m.Kind {
	case "rate":
		return goal{goalRate, m.Value, c.fullRate(i)}
	case "position":
		return goal{goalPosition, m.Value, c.fullRate(i)}
	}
	return goal{}
}

// resume is the seeded defect: after a power-up the last motion goes on, once the
// chain is closed.
func (c *Controller) resume(now time.Duration) {
	if c.flaw.resumes && !c.resumed && c.seen.relayClosed && *c.set.Kept != (Kept{}) {
		for k := range c.axes {
			if c.axes[k].motors[0].state == cia402.Fault {
				c.clearDrives = 2
				return
			}
		}
		c.resumed = true
		c.restart(now)
	}
}

// handShare is the rate of hand control as a share of the full rate. No more than
// a tenth is allowed past a final limit (HAZARDS.md, final-limit recovery); what
// is left of it is for the sag when the brakes let go.
const handShare = 0.07

// hand follows the local panel: motion only while the control is held.
func (c *Controller) hand(now time.Duration) {
	held := c.seen.mode != modeRemote && c.seen.handDirection != 0 && c.seen.enabling
	if !held {
		if c.handing && c.goesOn(now) {
			return
		}
		if c.handing {
			c.handing = false
			if !c.flaw.handSticks {
				c.raise(causeHandReleased, allAxes, ramp1All, now)
			}
		}
		return
	}
	i := c.seen.handAxis
	rate, ok := c.handRate(i)
	if !ok {
		return
	}
	if !c.armed(now) {
		if c.hornUntil == 0 || now > c.armedUntil {
			c.arm(now)
		}
		return
	}
	c.handing, c.letGoAt = true, 0
	c.move(i, goal{goalRate, rate, math.Abs(rate)}, now)
}

// goesOn is the seeded defect: the hand control is let go and the motion goes on.
func (c *Controller) goesOn(now time.Duration) bool {
	if c.letGoAt == 0 {
		c.letGoAt = now
	}
	return now-c.letGoAt < c.flaw.handLate
}

// handRate is the rate the panel asks of an axis, and whether it may be given.
func (c *Controller) handRate(i int) (float64, bool) {
	share := handShare
	if c.flaw.recoversFast {
		share = 0.5
	}
	rate := share * c.fullRate(i) * float64(c.seen.handDirection)
	blocked := c.anyLatched() && !c.recovering(i)
	if i < MainAxes && c.seen.pin[i] && !c.flaw.forgetsAccess {
		return 0, false
	}
	if i < MainAxes && !c.flaw.obstinate {
		for end, sign := range [2]float64{-1, 1} {
			limit := c.preLimit(i, end) || c.seen.finalLimit[i][end] || c.passed[i][end]
			if limit && rate*sign > 0 && !c.flaw.recoversOutward {
				return 0, false
			}
		}
	}
	return rate, !blocked
}

// recovering tells whether the axis may be brought back from its final limit:
// override key held, panel in charge, and nothing else latched.
func (c *Controller) recovering(i int) bool {
	if i >= MainAxes || !(c.seen.override || c.flaw.recoversWithoutKey) || c.seen.mode == modeRemote {
		return false
	}
	for what, latched := range c.latched {
		if latched && cause(what) != causeFinalLimit {
			return false
		}
	}
	return true
}
