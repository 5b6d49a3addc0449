package standin

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

const (
	overspeedShare = 1.15
	runawayShare   = 0.3
	// What the encoder's own row finds comes first.
	runawayMargin = 40 * time.Millisecond
	// A reading further away than thrice the full rate allows is not a position.
	jumpShare = 3.0
)

// timers hold since when a doubt of an axis has lasted; zero is not at all.
type timers struct {
	encoder, pair, runaway, following, brake, speed time.Duration
}

// lasting keeps a doubt's beginning and tells whether it has lasted long enough.
func lasting(since *time.Duration, doubt bool, now, limit time.Duration) bool {
	if !doubt {
		*since = 0
		return false
	}
	if *since == 0 {
		*since = now
	}
	return now-*since >= limit
}

// supervise looks at everything heard in this cycle and raises what it finds,
// safety chain first, so that the first cause is the one that matters.
func (c *Controller) supervise(now time.Duration) {
	c.present = [causeCount]bool{}
	if c.flaw.obstinate {
		return
	}
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
	deaf := c.silent(c.interlock, now)
	for k := range c.axes {
		c.axes[k].deaf = deaf
	}
	if deaf {
		c.raise(causeInterlockSilent, allAxes, ramp1All, now)
		return
	}
	seen := &c.seen
	c.wasClosed = c.wasClosed || seen.relayClosed // what never closed was opened by nobody
	switch {
	case seen.emergencyStop && !c.flaw.deafToStop:
		c.raise(causeEmergencyStop, allAxes, ramp1All, now)
	case seen.accessOpen && !seen.relayClosed && c.wasClosed:
		c.raise(causeAccessOpened, allAxes, ramp1All, now)
	case seen.unitWatchdog:
		c.raise(causeControllerSilent, allAxes, ramp1All, now)
	}
	if seen.mode != c.mode {
		if c.powered() {
			c.raise(causeModeChanged, allAxes, ramp1All, now)
		}
		c.disarm()
		c.mode = seen.mode
	}
}

func (c *Controller) superviseSwitches(i int, now time.Duration) {
	if i >= MainAxes {
		return
	}
	a := &c.axes[i]
	for end := range 2 {
		if c.seen.finalLimit[i][end] {
			c.passed[i][end] = true
			if !c.recovering(i) {
				c.raise(causeFinalLimit, i, drop0Rest1, now)
			}
		}
		if c.preLimit(i, end) && a.phase == running && a.outward(end) {
			if c.flaw.outwardAtPreLimit && c.served[i][end] {
				continue
			}
			c.raise(causePreLimit, i, hold2, now)
		}
		c.served[i][end] = c.preLimit(i, end) && (c.served[i][end] || a.inPlace())
	}
	if a.phase == running && a.goal.kind == goalRate && a.atSoftwareLimit() {
		c.raise(causeSoftwareLimit, i, hold2, now)
	}
}

// preLimit is the switch as this controller reads it.
func (c *Controller) preLimit(i, end int) bool {
	if c.flaw.preLimitsSwapped {
		end = 1 - end
	}
	return c.seen.preLimit[i][end]
}

// outward tells whether the axis is told to move toward the end (0 lower, 1 upper).
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

// driven tells whether the axis has its torque.
func (a *axis) driven() bool { return a.phase >= proving && a.phase <= setting }

func (c *Controller) superviseDrives(i int, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	first, count := motorsOf(i)
	for m := range count {
		if c.silent(c.drives[first+m], now) {
			r := drop0Rest1
			if c.flaw.rampsSilent {
				r = ramp1All
			}
			c.raise(causeDriveSilent, i, r, now)
			continue
		}
		seen := &a.motors[m]
		faulted := !seen.decoded || seen.state == cia402.Fault || seen.state == cia402.FaultReactionActive
		switch {
		case seen.ridesThrough():
			a.held = true // the ramp is the drive's own
			c.raise(causeSupplyLost, i, ramp1All, now)
		case faulted && seen.unsupplied():
			c.raise(causeSupplyLost, i, drop0Rest1, now)
		case faulted:
			c.raise(causeDriveTrip, i, drop0Rest1, now)
		}
		// With its torque gone an axis may be blown faster before the brakes bite.
		if a.driven() && math.Abs(seen.rate) > overspeedShare*float64(a.set.FullRate) {
			c.raise(causeOverspeed, i, drop0Rest1, now)
		}
	}
	moving := !a.careless &&
		(a.phase == running || a.phase == ramping || a.phase == releasing)
	apart := moving && count == 2 &&
		math.Abs(a.motors[0].rate-a.motors[1].rate) > float64(a.set.DisagreeRate)
	// Of two motors that differ the axis tells which one is true; twice is no swing.
	fast := apart && !a.blind && math.Abs(a.rate) > overspeedShare*float64(a.set.FullRate)
	if lasting(&t.speed, fast, now, c.set.Timing.Cycle) {
		c.raise(causeOverspeed, i, drop0Rest1, now)
	}
	if lasting(&t.pair, apart, now, a.set.DisagreeTime) {
		if a.brakesSet() > 0 { // which is why
			a.held = true
			c.raise(causeBrakeFeedback, i, ramp1All, now)
			return
		}
		c.raise(causeRunaway, i, drop0Rest1, now)
	}
	// An axis that its brake holds up, or that a drive stops by itself, does not run away.
	gap := math.Abs(a.motorRate() - a.out[0].rate)
	// A ramp that has just begun has its own time to be followed.
	led := (!a.held || a.brakesSet() == 0 && !a.motors[0].ridesThrough()) &&
		(a.phase != ramping || now-a.since >= a.set.DisagreeTime)
	away := moving && led && gap > runawayShare*float64(a.set.FullRate)
	if lasting(&t.runaway, away, now, a.set.DisagreeTime+runawayMargin) {
		c.raise(causeRunaway, i, drop0Rest1, now)
	}
}

func (c *Controller) superviseEncoder(i int, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	if c.silent(c.encoders[i].device, now) ||
		(c.encoders[i].alarm && !c.flaw.ignoresAlarm) {
		a.blind = true
		c.raise(causeEncoderLost, i, ramp1All, now)
		return
	}
	if c.encoders[i].jumps >= 2 {
		a.blind = true
		c.raise(causeEncoderDoubted, i, ramp1All, now)
	}
	moving := !a.careless && (a.phase == running || a.phase == ramping)
	apart := moving && math.Abs(a.rate-a.motorRate()) > float64(a.set.DisagreeRate)
	if lasting(&t.encoder, apart && !c.flaw.trustsEncoder, now, a.set.DisagreeTime) {
		a.blind = true
		c.raise(causeEncoderDoubted, i, ramp1All, now)
	}
	behind := a.phase == running && !a.blind &&
		math.Abs(a.ref.position-a.position) > float64(a.set.FollowingError)
	if lasting(&t.following, behind && !c.flaw.trustsEncoder, now, a.set.FollowingErrorTime) {
		// What keeps it from its place is not to be pushed against.
		a.blind, a.held = true, true
		c.raise(causeFollowingError, i, ramp1All, now)
	}
}

func (c *Controller) superviseBrakes(i int, now time.Duration) {
	a, t := &c.axes[i], &c.timers[i]
	if !a.set.Brakes {
		return
	}
	closed := a.phase == running && a.brakesSet() > 0 && !a.careless
	if lasting(&t.brake, closed, now, c.set.Timing.BrakeFeedback) {
		c.raise(causeBrakeFeedback, i, ramp1All, now)
	}
}

// superviseOrder looks at what an axis could not do, and at torque that was
// taken from it by the chain.
func (c *Controller) superviseOrder(i int, now time.Duration) {
	a := &c.axes[i]
	switch a.failed {
	case causeNone:
	case causeBrakeFeedback:
		if a.phase == setting {
			c.raise(a.failed, i, keepAlarm, now)
		} else {
			c.raise(a.failed, i, ramp1All, now)
		}
	default:
		c.raise(a.failed, i, drop0Rest1, now)
	}
	if !a.driven() || (a.deaf && a.phase == setting) { // then the drives end it
		return
	}
	for m := range a.set.Motors {
		if a.motors[m].ridesThrough() {
			return // it knows best how long
		}
		if a.motors[m].heard && a.motors[m].state != cia402.OperationEnabled {
			if c.flaw.late[causeDriveTrip] > 0 && c.waits(causeDriveTrip, now) {
				return
			}
			if c.seen.relayClosed && c.first == causeNone {
				c.raise(causeDriveTrip, i, drop0Rest1, now)
			}
			a.drop(now)
			return
		}
	}
}

// raise records a cause and answers it. Only a response to one axis alone needs one.
func (c *Controller) raise(what cause, i int, r response, now time.Duration) {
	if c.waits(what, now) {
		return
	}
	c.present[what] = true
	// Overwriting a first cause that latches is the seeded defect.
	later := c.flaw.namesLastCause && what.latches() && !c.latched[what]
	if what.latches() {
		c.latched[what] = true
	}
	if c.first == causeNone || (!c.first.latches() && what.latches()) || later {
		c.first, c.firstAxis, c.firstAt, c.acknowledged = what, i, now, false
	}
	c.respond(i, r, now)
}

func (c *Controller) respond(i int, r response, now time.Duration) {
	if r != keepAlarm && r != hold2 && r != takeRefuge {
		c.disarm()
		c.refuge.abandon()
	}
	switch r {
	case takeRefuge:
		c.beginRefuge(now)
	case hold2:
		c.axes[i].goal = goal{kind: goalHold}
	case ramp1All:
		for k := range c.axes {
			if k > 0 && c.flaw.stopsAzimuthOnly {
				break
			}
			c.rampAt(k, now)
		}
	case drop0Rest1:
		c.axes[i].drop(now)
		for k := range c.axes {
			if k != i {
				c.rampAt(k, now)
			}
		}
	}
}

// rampAt begins the ramp of an axis, late where a seeded defect says so.
func (c *Controller) rampAt(k int, now time.Duration) {
	if c.flaw.stopLate > 0 {
		if c.lateStop[k] == 0 {
			c.lateStop[k] = now + c.flaw.stopLate
		}
		if now < c.lateStop[k] {
			return
		}
	}
	c.axes[k].stop(now)
}
