package standin

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// phase is where an axis stands in its order of start and stop (common practice).
type phase int

const (
	off       phase = iota // brakes applied, drives without torque
	enabling               // drives brought to operation enabled, brakes still applied
	proving                // bias and holding torque shown at standstill
	releasing              // brakes released, feedback awaited
	running                // the position loop is closed
	ramping                // category 1: ramp to standstill
	applying               // brakes being applied while the torque is held
	torqueOff              // category 0: torque removed at once
	phaseCount
)

const (
	// seenLate is how much older a standstill may be than what is known of it: one
	// cycle for a reading that just missed it, one for the drive's answer, one for
	// the outputs to go out. A brake bites later still, so none comes too early.
	seenLate    = 60 * time.Millisecond
	enableTime  = time.Second
	settleTime  = 400 * time.Millisecond
	provingTime = 500 * time.Millisecond
	provingHold = 60 * time.Millisecond
	// blockedShare of it is a speed at which something has stopped the axis.
	blockedShare = 0.3
	// slowShare of its reference is a speed at which something holds an axis up.
	slowShare = 0.7
	// provingShare is how much of the bias torque must be seen on each motor.
	provingShare = 0.7
)

// goalKind is what an axis was last commanded to do.
type goalKind int

const (
	goalHold goalKind = iota
	goalRate
	goalPosition
)

// goal is a command as the axis follows it; value in rad or rad/s.
type goal struct {
	kind    goalKind
	value   float64
	rateMax float64
}

// driveStatus is what a drive reported in the last cycle.
type driveStatus struct {
	heard    bool // answered in this cycle
	state    cia402.State
	decoded  bool    // the status word was a legal one
	rate     float64 // rad/s at the axis
	torque   float64 // N m at the axis
	brakeSet bool    // feedback from the interlock unit
	code     uint16  // why it is in fault, object 603F
}

// unsupplied tells that it is the supply that the drive lacks.
func (d *driveStatus) unsupplied() bool {
	switch d.code {
	case cia402.ErrorMainsUnder, cia402.ErrorPhase, cia402.ErrorLinkUnder:
		return d.state == cia402.Fault || d.state == cia402.FaultReactionActive
	}
	return false
}

// ridesThrough tells a drive that ramps down on what its motor gives back.
func (d *driveStatus) ridesThrough() bool {
	return d.unsupplied() && d.state == cia402.FaultReactionActive
}

// driveCommand is what the controller sends a drive in this cycle.
type driveCommand struct {
	word   uint16
	rate   float64 // rad/s at the axis
	offset float64 // N m at the axis
}

// axis runs one axis: it owns order and motion, not the causes of stops.
type axis struct {
	set    *AxisSettings
	timing *Timing
	steps  [phaseCount]step
	// limitShape is how it is planned to come to rest at a software limit.
	limitShape shape

	phase phase
	since time.Duration // when the phase began
	goal  goal
	ref   motion
	// integral torque, N m, both motors together. It outlives a stop: what held the
	// load then is what will hold it when the brakes open again.
	integral    float64
	encoderLost bool // or implausible: ramp on motor speed alone
	obstructed  bool // something keeps it from its place: its ramp follows the motors
	unitSilent  bool // the interlock unit does not answer: brakes only through the drives
	standstill  time.Duration
	proved      time.Duration

	position float64 // rad, unwrapped encoder
	rate     float64 // rad/s from the encoder
	motors   [2]driveStatus
	out      [2]driveCommand
	enable   bool
	release  bool
	failed   cause // the order of start or stop could not be kept
}

// step is the work of one cycle in a phase. dt is the cycle in seconds.
type step func(a *axis, now time.Duration, dt float64)

func newAxis(set *AxisSettings, timing *Timing) axis {
	return axis{set: set, timing: timing,
		limitShape: shape{limitRampShare * float64(set.Acceleration), float64(set.StopJerk)},
		steps: [phaseCount]step{off: (*axis).rest, enabling: (*axis).enableDrives,
			proving: (*axis).proveTorque, releasing: (*axis).releaseBrakes, running: (*axis).move,
			ramping: (*axis).rampDown, applying: (*axis).applyBrakes, torqueOff: (*axis).rest}}
}

func (a *axis) enter(p phase, now time.Duration) { a.phase, a.since = p, now }

// start begins the order of start; the goal given then is followed once running.
func (a *axis) start(g goal, now time.Duration) {
	a.goal = g
	if !a.started() {
		a.proved = 0
		a.enter(enabling, now)
	}
}

// started reports whether the axis has left rest.
func (a *axis) started() bool { return a.phase != off && a.phase != torqueOff }

// stop begins a category 1 stop, from whatever phase the axis is in.
func (a *axis) stop(now time.Duration) {
	switch a.phase {
	case off, torqueOff, ramping, applying:
	case enabling, proving: // the brakes have not been released
		a.enter(off, now)
	default:
		a.standstill = 0
		a.rampFromActual()
		a.enter(ramping, now)
	}
}

// rampFromActual lets a ramp begin at the motors' speed where that is below the
// reference: an axis that something holds up is not driven on by its ramp.
func (a *axis) rampFromActual() {
	if rate := a.motorRate(); math.Abs(rate) < slowShare*math.Abs(a.ref.rate) {
		a.ref = motion{position: a.position, rate: rate}
	}
}

// removeTorque is a category 0 stop: torque off, brakes applied, nothing awaited.
func (a *axis) removeTorque(now time.Duration) {
	if a.phase != off {
		a.enter(torqueOff, now)
	}
}

// motorRate is the mean speed of the axis as its motors report it, rad/s.
func (a *axis) motorRate() float64 {
	sum := 0.0
	for m := 0; m < a.set.Motors; m++ {
		sum += a.motors[m].rate
	}
	return sum / float64(a.set.Motors)
}

// atStandstill tells that a stop has come to its standstill. It holds there by speed
// alone: what friction holds back is not gone after, or a motor would cross its play.
func (a *axis) atStandstill() bool {
	return (a.phase == ramping || a.phase == applying) && a.ref.rate == 0
}

// fastestMotor is the speed of the motor that turns fastest, either way, rad/s.
func (a *axis) fastestMotor() float64 {
	fastest := 0.0
	for m := 0; m < a.set.Motors; m++ {
		fastest = math.Max(fastest, math.Abs(a.motors[m].rate))
	}
	return fastest
}

// cycle decides what the axis sends in this cycle. dt is the cycle in seconds.
func (a *axis) cycle(now time.Duration, dt float64) {
	a.failed = causeNone
	a.steps[a.phase](a, now, dt)
}

func (a *axis) rest(time.Duration, float64) {
	a.enable, a.release = false, false
	a.ref = atRest(a.position)
	a.sendAll(cia402.CommandDisableVoltage)
}

// sendAll sends every drive a word and no motion.
func (a *axis) sendAll(word uint16) {
	for m := range a.out {
		a.out[m] = driveCommand{word: word}
	}
}

// enableDrives walks the drives to operation enabled with the brakes applied.
func (a *axis) enableDrives(now time.Duration, _ float64) {
	a.enable, a.release = true, false
	a.ref = atRest(a.position)
	ready := true
	for m := 0; m < a.set.Motors; m++ {
		word := uint16(cia402.CommandShutdown)
		switch a.motors[m].state {
		case cia402.ReadyToSwitchOn, cia402.SwitchedOn, cia402.OperationEnabled:
			word = cia402.CommandEnableOperation
		}
		ready = ready && a.motors[m].state == cia402.OperationEnabled
		a.out[m] = driveCommand{word: word}
	}
	switch {
	case ready:
		a.enter(proving, now)
	case now-a.since > enableTime:
		a.failed = causeDriveTrip
	}
}

// proveTorque shows the bias on both motors before a brake is released.
func (a *axis) proveTorque(now time.Duration, _ float64) {
	a.sendBias()
	shown := true
	if bias := float64(a.set.TorqueBias); a.set.Motors == 2 && bias > 0 {
		hold := a.integral / 2
		shown = a.motors[0].torque-hold > provingShare*bias &&
			a.motors[1].torque-hold < -provingShare*bias
	}
	switch {
	case !shown:
		a.proved = 0
	case a.proved == 0:
		a.proved = now
	case now-a.proved >= provingHold:
		a.ref = atRest(a.position)
		a.enter(releasing, now)
		return
	}
	if now-a.since > provingTime {
		a.failed = causeTorqueUnproved
	}
}

func (a *axis) sendBias() {
	for m := 0; m < a.set.Motors; m++ {
		hold := a.integral/float64(a.set.Motors) + a.bias(m)
		a.out[m] = driveCommand{word: cia402.CommandEnableOperation, offset: hold}
	}
}

// bias is the share of the bias torque of motor m: one pulls, its partner holds.
func (a *axis) bias(m int) float64 {
	if a.set.Motors < 2 {
		return 0
	}
	if m == 0 {
		return float64(a.set.TorqueBias)
	}
	return -float64(a.set.TorqueBias)
}

// releaseBrakes releases the brakes with the loop closed, so that nothing sags.
func (a *axis) releaseBrakes(now time.Duration, dt float64) {
	a.release = a.set.Brakes
	a.closeLoop(dt)
	if !a.set.Brakes || a.brakesSet() == 0 {
		a.enter(running, now)
		return
	}
	a.awaitBrakes(now)
}

// awaitBrakes notes a brake feedback that is overdue.
func (a *axis) awaitBrakes(now time.Duration) {
	if now-a.since > a.timing.BrakeFeedback {
		a.failed = causeBrakeFeedback
	}
}

// brakesSet counts the motors whose brake feedback says set.
func (a *axis) brakesSet() int {
	n := 0
	for m := 0; m < a.set.Motors; m++ {
		if a.motors[m].brakeSet {
			n++
		}
	}
	return n
}

// move settles on the load that the brakes have left, then follows the goal.
func (a *axis) move(now time.Duration, dt float64) {
	if now-a.since < settleTime {
		a.settle(dt)
		return
	}
	a.followGoal(dt)
	a.closeLoop(dt)
}

// rampDown is the category 1 ramp; at standstill the brakes follow, and what has not
// come to it within the monitored ramp time loses its torque as it is.
func (a *axis) rampDown(now time.Duration, dt float64) {
	if over := a.set.RampTime; over > 0 && now-a.since >= over {
		a.removeTorque(now)
		a.rest(now, dt)
		return
	}
	if a.obstructed || math.Abs(a.motorRate()) < blockedShare*math.Abs(a.ref.rate) {
		a.rampFromActual()
	}
	a.ref.towardRate(0, a.stopShape(), dt)
	a.closeLoop(dt)
	slow := float64(a.set.StandstillRate)
	if math.Abs(a.ref.rate) >= slow || a.fastestMotor() >= slow {
		a.standstill = 0
		return
	}
	if a.standstill == 0 {
		a.standstill = now
	}
	if now-a.standstill >= a.set.StandstillHold-seenLate {
		a.enter(applying, now)
	}
}

// applyBrakes removes the torque only when the brakes are seen set.
func (a *axis) applyBrakes(now time.Duration, dt float64) {
	a.release = false
	a.holdStill(dt)
	switch {
	case a.unitSilent:
		a.leaveToDrives(now)
	case !a.set.Brakes || a.brakesSet() == a.set.Motors:
		a.enter(off, now)
	default:
		a.awaitBrakes(now)
	}
}

// holdStill holds the axis by its torque where it is.
func (a *axis) holdStill(dt float64) {
	a.ref.rate, a.ref.acceleration = 0, 0
	a.closeLoop(dt)
}

// leaveToDrives ends a stop when the interlock unit no longer answers: the drives'
// own quick stop applies the brakes through their ready contacts.
func (a *axis) leaveToDrives(now time.Duration) {
	done := true
	for m := range a.set.Motors {
		a.out[m].word = cia402.CommandQuickStop
		done = done && a.motors[m].state == cia402.SwitchOnDisabled
	}
	if done {
		a.enter(off, now)
	}
}

// inPlace reports whether the axis holds at its goal.
func (a *axis) inPlace() bool {
	return a.phase == running && a.ref.rate == 0 && a.ref.acceleration == 0
}
