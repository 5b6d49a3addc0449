package standin

import (
	"errors"
	"fmt"
	"time"
)

// Verb is a command of the supervisory system; its numbers are those of the MIB.
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
	errStopping = fmt.Errorf("%w: the stop runs to its end first", errPresent)
	errReset    = fmt.Errorf("%w: release it before the reset", errPresent)
	errUnknown  = errors.New("standin: no such command or axis")
)

// allAxes is the axis of a command or of a cause that is about every axis.
const allAxes = -1

// order is a command as it arrived.
type order struct {
	verb  Verb
	axis  int     // 0 azimuth ... 3 polarization V; allAxes
	value float64 // rad or rad/s
	token int32   // of the supervisory system
}

// check reports whether a command may be obeyed as the controller stands.
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
	if c.inputs.mode != modeRemote {
		return errLocal
	}
	toStow := o.verb == VerbStow || o.verb == VerbArm
	if c.anyLatched() && !(toStow && c.onlyWindLatched()) {
		return errLatched
	}
	if o.verb != VerbArm && !c.armed(now) {
		return errNotArmed
	}
	if o.verb != VerbArm && c.inputs.accessOpen {
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
	if a.phase == ramping || a.phase == applying {
		return errStopping
	}
	if o.verb == VerbPosition && (o.value < float64(a.set.SoftwareLimits[0]) ||
		o.value > float64(a.set.SoftwareLimits[1])) {
		return errOutside
	}
	if o.axis >= MainAxes {
		return nil
	}
	toward := o.value
	if o.verb == VerbPosition {
		toward -= a.position
	}
	if actuated := c.inputs.preLimit[o.axis]; actuated[1] && toward > 0 || actuated[0] && toward < 0 {
		return errInward
	}
	return nil
}

// checkReset refuses while any latched cause is still there, or the relay is
// open: the release and its reset by hand come first. The fault of a drive stays until it is
// reset; where it is still true it is found again.
func (c *Controller) checkReset() error {
	for what, latched := range c.latched {
		if latched && c.present[what] && !cause(what).ofWind() && !cause(what).ofDrive() {
			return errReset
		}
	}
	if !c.inputs.relayClosed {
		return errReset
	}
	return nil
}

// carryOut does what a command asks that check has passed.
func (c *Controller) carryOut(o order, now time.Duration) {
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
	c.handMotion, c.handSpent = false, c.handMotion || c.handSpent
	for k := range c.axes {
		c.axes[k].goal = goal{kind: goalHold}
	}
	if c.powered() {
		c.raise(causeOperatorStop, allAxes, now)
	}
}

// move gives an axis a fresh goal; a cause that does not latch is over by that.
func (c *Controller) move(i int, g goal, now time.Duration) {
	if !c.first.latches() {
		c.first = causeNone
	}
	c.remember(i, g)
	c.axes[i].start(g, now)
}

// arm begins the horn; the window opens when it ends.
func (c *Controller) arm(now time.Duration) {
	// Longer by what the outputs take, so that the station hears all of it.
	c.hornUntil = now + c.set.Timing.Horn + 2*c.set.Timing.Cycle
	c.armedUntil = c.hornUntil + c.set.Timing.ArmedWindow
}

func (c *Controller) disarm() { c.hornUntil, c.armedUntil = 0, 0 }

// armed reports whether motion may begin: the horn has ended and the window is
// open, or an axis already has its torque.
func (c *Controller) armed(now time.Duration) bool {
	if c.armedUntil == 0 || now < c.hornUntil {
		return false
	}
	return now < c.armedUntil || c.powered()
}

// powered reports whether any axis has left rest.
func (c *Controller) powered() bool {
	for k := range c.axes {
		if c.axes[k].started() {
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
	windy := c.present[causeWind] || c.present[causeWindDoubtful]
	c.latched = [causeCount]bool{}
	c.pastFinal = [MainAxes][2]bool{}
	c.first = causeNone
	if !windy {
		c.autoStow = autoStowIdle
	}
	c.timers = [AxisCount]timers{}
	c.clearDrives = resetCycles
	for k := range c.axes {
		c.axes[k].encoderLost, c.axes[k].obstructed = false, false
		c.axes[k].integral = 0 // what a fault has put in is no load
		c.encoders[k].jumps = 0
		if c.axes[k].phase == torqueOff {
			c.axes[k].enter(off, now)
		}
	}
}

// resetCycles is how long drives are sent a fault reset: their answer is a cycle old.
const resetCycles = 2

// remember keeps a motion beyond a restart.
func (c *Controller) remember(i int, g goal) {
	kind := "rate"
	if g.kind == goalPosition {
		kind = "position"
	}
	c.set.Kept.Moves[i] = Move{kind, g.value}
}
