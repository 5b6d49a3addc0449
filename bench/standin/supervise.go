package standin

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// runawayMargin leaves the encoder's own supervision to find its faults first.
const runawayMargin = 40 * time.Millisecond

// timers hold since when a deviation of an axis has lasted; zero is not at all.
type timers struct {
	encoder, pair, runaway, following, brake, speed time.Duration
}

// persists keeps a deviation's beginning and reports whether it has lasted long enough.
func persists(since *time.Duration, deviates bool, now, limit time.Duration) bool {
	if !deviates {
		*since = 0
		return false
	}
	if *since == 0 {
		*since = now
	}
	return now-*since >= limit
}

// superviseAll looks at everything heard in this cycle and raises what it finds,
// safety chain first, so that the first cause is the one that matters.
func (c *Controller) superviseAll(now time.Duration) {
	c.present = [causeCount]bool{}
	c.superviseInterlock(now)
	for i := range c.axes {
		c.superviseSwitches(i, now)
		c.superviseDrives(i, now)
		c.superviseEncoder(i, now)
		c.superviseBrakes(i, now)
	}
	for i := range c.axes {
		c.superviseOrder(i, now)
	}
	c.superviseWind(now)
}

func (c *Controller) superviseInterlock(now time.Duration) {
	silent := c.silent(c.interlock, now)
	for k := range c.axes {
		c.axes[k].unitSilent = silent
	}
	if silent {
		c.raise(causeInterlockSilent, allAxes, now)
		return
	}
	in := &c.inputs
	// What never closed was opened by nobody.
	c.relayWasClosed = c.relayWasClosed || in.relayClosed
	switch {
	case in.emergencyStop:
		c.raise(causeEmergencyStop, allAxes, now)
	case in.accessOpen && !in.relayClosed && c.relayWasClosed:
		c.raise(causeAccessOpened, allAxes, now)
	case in.unitWatchdog:
		c.raise(causeControllerSilent, allAxes, now)
	}
	if in.mode != c.mode {
		if c.powered() {
			c.raise(causeModeChanged, allAxes, now)
		}
		c.disarm()
		c.mode = in.mode
	}
}

func (c *Controller) superviseSwitches(i int, now time.Duration) {
	a := &c.axes[i]
	if i >= MainAxes || a.unitSilent { // what it last said of its inputs is no news
		return
	}
	for end := range 2 {
		if c.inputs.finalLimit[i][end] {
			c.pastFinal[i][end] = true
			// The key is for leaving a limit, not for going through it.
			if !c.latched[causeFinalLimit] || !c.inputs.override {
				c.raise(causeFinalLimit, i, now)
			}
		}
		if c.inputs.preLimit[i][end] && a.phase == running && a.outward(end) {
			c.raise(causePreLimit, i, now)
		}
	}
	if a.phase == running && a.goal.kind == goalRate && a.atSoftwareLimit() {
		c.raise(causeSoftwareLimit, i, now)
	}
}

// outward reports whether the axis is commanded towards the end (0 lower, 1 upper).
func (a *axis) outward(end int) bool {
	toward := a.ref.rate
	switch a.goal.kind {
	case goalRate:
		toward = a.goal.value
	case goalPosition:
		toward = a.goal.value - a.ref.position
	}
	return (end == 1 && toward > 0) || (end == 0 && toward < 0)
}

func (a *axis) atSoftwareLimit() bool {
	lower, upper := float64(a.set.SoftwareLimits[0]), float64(a.set.SoftwareLimits[1])
	near := float64(a.set.StandstillRate) // one second at standstill rate
	return a.ref.rate == a.insideLimits(a.goal.value) && a.ref.rate != a.goal.value &&
		math.Abs(a.ref.rate) < near && math.Min(upper-a.ref.position, a.ref.position-lower) < 10*near
}

// hasTorque reports whether the axis has its torque.
func (a *axis) hasTorque() bool { return a.phase >= proving && a.phase <= applying }

func (c *Controller) superviseDrives(i int, now time.Duration) {
	a := &c.axes[i]
	first, count := motorsOf(i)
	for m := range count {
		if c.silent(c.drives[first+m], now) {
			c.raise(causeDriveSilent, i, now)
			continue
		}
		c.superviseDrive(i, &a.motors[m], now)
	}
	moving := a.phase == running || a.phase == ramping || a.phase == releasing
	if count == 2 && c.superviseCoupling(i, moving, now) {
		return
	}
	c.superviseRunaway(i, moving, now)
}

func (c *Controller) superviseDrive(i int, status *driveStatus, now time.Duration) {
	a := &c.axes[i]
	faulted := !status.decoded || status.state == cia402.Fault ||
		status.state == cia402.FaultReactionActive
	switch {
	case status.ridesThrough():
		a.obstructed = true // the ramp is the drive's own
		c.rules.raise(causeSupplyLost, i, category1, now)
	case faulted && status.unsupplied():
		c.raise(causeSupplyLost, i, now)
	case faulted:
		c.raise(causeDriveTrip, i, now)
	}
	// With its torque gone an axis may be blown faster before the brakes bite.
	if a.hasTorque() && math.Abs(status.rate) > c.thresholds.overspeed*float64(a.set.FullRate) {
		c.raise(causeOverspeed, i, now)
	}
}

// superviseCoupling compares two motors that one axis couples; it reports whether a brake
// is why they differ.
func (c *Controller) superviseCoupling(i int, moving bool, now time.Duration) bool {
	a, t := &c.axes[i], &c.timers[i]
	apart := moving &&
		math.Abs(a.motors[0].rate-a.motors[1].rate) > float64(a.set.DisagreeRate)
	// Of two motors that differ the axis tells which one is true; twice is no swing.
	fast := apart && !a.encoderLost &&
		math.Abs(a.rate) > c.thresholds.overspeed*float64(a.set.FullRate)
	if persists(&t.speed, fast, now, c.set.Timing.Cycle) {
		c.raise(causeOverspeed, i, now)
	}
	if !persists(&t.pair, apart, now, a.set.DisagreeTime) {
		return false
	}
	if a.brakesSet() > 0 {
		a.obstructed = true
		c.raise(causeBrakeFeedback, i, now)
		return true
	}
	c.raise(causeRunaway, i, now)
	return false
}

// superviseRunaway compares what the motors do with what they are commanded. An axis that its
// brake holds up, or that a drive stops by itself, does not run away; a ramp that has
// just begun has its own time to be followed.
func (c *Controller) superviseRunaway(i int, moving bool, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	gap := math.Abs(a.motorRate() - a.out[0].rate)
	led := (!a.obstructed || a.brakesSet() == 0 && !a.motors[0].ridesThrough()) &&
		(a.phase != ramping || now-a.since >= a.set.DisagreeTime)
	away := moving && led && gap > c.thresholds.runaway*float64(a.set.FullRate)
	if persists(&t.runaway, away, now, a.set.DisagreeTime+runawayMargin) {
		c.raise(causeRunaway, i, now)
	}
}

func (c *Controller) superviseEncoder(i int, now time.Duration) {
	a, e := &c.axes[i], &c.encoders[i]
	if c.silent(e.device, now) || e.alarm {
		a.encoderLost = true
		c.raise(causeEncoderLost, i, now)
		return
	}
	if e.jumps >= 2 {
		a.encoderLost = true
		c.raise(causeEncoderDoubted, i, now)
	}
	c.rules.plausible(i, now)
}

// superviseTracking compares the encoder with the motors and with the reference.
func (c *Controller) superviseTracking(i int, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	moving := a.phase == running || a.phase == ramping
	apart := moving && math.Abs(a.rate-a.motorRate()) > float64(a.set.DisagreeRate)
	if persists(&t.encoder, apart, now, a.set.DisagreeTime) {
		a.encoderLost = true
		c.raise(causeEncoderDoubted, i, now)
	}
	behind := a.phase == running && !a.encoderLost &&
		math.Abs(a.ref.position-a.position) > float64(a.set.FollowingError)
	if persists(&t.following, behind, now, a.set.FollowingErrorTime) {
		// What keeps it from its place is not to be pushed against.
		a.encoderLost, a.obstructed = true, true
		c.raise(causeFollowingError, i, now)
	}
}

func (c *Controller) superviseBrakes(i int, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	if !a.set.Brakes {
		return
	}
	closed := a.phase == running && a.brakesSet() > 0
	if persists(&t.brake, closed, now, c.set.Timing.BrakeFeedback) {
		c.raise(causeBrakeFeedback, i, now)
	}
}

// superviseOrder looks at what an axis could not do, and at torque that was
// taken from it by the chain.
func (c *Controller) superviseOrder(i int, now time.Duration) {
	a := &c.axes[i]
	switch {
	case a.failed == causeNone:
	case a.failed == causeBrakeFeedback && a.phase == applying:
		c.rules.raise(a.failed, i, alarmOnly, now)
	default:
		c.raise(a.failed, i, now)
	}
	if !a.hasTorque() || (a.unitSilent && a.phase == applying) { // then the drives end it
		return
	}
	for m := range a.set.Motors {
		if a.motors[m].ridesThrough() {
			return // it knows best how long
		}
		if a.motors[m].heard && a.motors[m].state != cia402.OperationEnabled {
			if c.inputs.relayClosed && c.first == causeNone {
				c.raise(causeDriveTrip, i, now)
			}
			c.rules.respond(i, category0Alone, now)
			return
		}
	}
}

// raise records a cause and answers it as the stop table says.
func (c *Controller) raise(what cause, i int, now time.Duration) {
	c.rules.raise(what, i, stopCauses[what].response, now)
}

// raiseAs records a cause and answers it. The first one that latches is kept.
func (c *Controller) raiseAs(what cause, i int, r response, now time.Duration) {
	c.present[what] = true
	if what.latches() {
		c.latched[what] = true
	}
	if c.first == causeNone || (!c.first.latches() && what.latches()) {
		c.reportFirst(what, i)
	}
	c.rules.respond(i, r, now)
}

func (c *Controller) reportFirst(what cause, i int) {
	c.first, c.firstAxis, c.acknowledged = what, i, false
}

// respondTo answers a cause on axis i, or on allAxes.
func (c *Controller) respondTo(i int, r response, now time.Duration) {
	if r == category0 || r == category1 {
		c.disarm()
		c.autoStow.abandon()
	}
	switch r {
	case category0:
		c.axes[i].removeTorque(now)
		for k := range c.axes {
			if k != i {
				c.rules.ramp(k, now)
			}
		}
	case category0Alone:
		c.axes[i].removeTorque(now)
	case category1:
		for k := range c.axes {
			c.rules.ramp(k, now)
		}
	case category2:
		c.eachAxis(i, func(a *axis) { a.goal = goal{kind: goalHold} })
	case driveToStow:
		c.beginAutoStow(now)
	}
}

func (c *Controller) stopAxis(k int, now time.Duration) { c.axes[k].stop(now) }
