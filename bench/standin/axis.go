package standin

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// phase is where an axis stands in its order of start and stop (HAZARDS.md,
// "Order of a normal start", common practice).
type phase int

const (
	off       phase = iota // brakes set, drives without torque
	enabling               // drives brought to operation enabled, brakes still set
	proving                // bias and holding torque shown at standstill
	releasing              // brakes released, feedback awaited
	running                // the position loop is closed
	ramping                // category 1: ramp to standstill
	setting                // brakes closing while the torque is held
	dropped                // category 0: torque off at once
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
	// limitInset is how far inside its software limit an axis is planned to come
	// to rest, rad: 0.05 deg, more than its encoder and its gear are off by.
	limitInset = 0.05 * math.Pi / 180
	// blockedShare of it is a speed at which something has stopped the axis.
	blockedShare = 0.3
	// slowShare of its reference is a speed at which something holds an axis up.
	slowShare = 0.7
	// rateShare bounds reference and correction together, in full rates, and
	// slowRateShare in slow ones, which need room to catch up in.
	rateShare     = 1.03
	slowRateShare = 1.2
	// provingShare is how much of the bias torque must be seen on each motor.
	provingShare = 0.7
)

// goalKind is what an axis was last told to do.
type goalKind int

const (
	goalHold goalKind = iota
	goalRate
	goalPosition
)

// goal is a command as the axis pursues it; value in rad or rad/s.
type goal struct {
	kind    goalKind
	value   float64
	rateMax float64
}

// motorSeen is what a drive reported in the last cycle.
type motorSeen struct {
	heard    bool // answered in this cycle
	state    cia402.State
	decoded  bool    // the status word was a legal one
	rate     float64 // rad/s at the axis
	torque   float64 // N m at the axis
	brakeSet bool    // feedback from the interlock unit
	code     uint16  // why it is in fault, object 603F
}

// unsupplied tells that it is the supply that the drive lacks.
func (m *motorSeen) unsupplied() bool {
	switch m.code {
	case cia402.ErrorMainsUnder, cia402.ErrorPhase, cia402.ErrorLinkUnder:
		return m.state == cia402.Fault || m.state == cia402.FaultReactionActive
	}
	return false
}

// ridesThrough tells a drive that ramps down on what its motor gives back.
func (m *motorSeen) ridesThrough() bool {
	return m.unsupplied() && m.state == cia402.FaultReactionActive
}

// motorSent is what the controller owes a drive in this cycle.
type motorSent struct {
	word   uint16
	rate   float64 // rad/s at the axis
	offset float64 // N m at the axis
}

// axis runs one axis: it owns order and motion, not the causes of stops.
type axis struct {
	set   *AxisSettings
	phase phase
	since time.Duration // when the phase began
	goal  goal
	ref   motion
	// pull is the integral torque, N m, both motors together. It outlives a stop:
	// what held the load then is what will hold it when the brakes let go again.
	pull   float64
	blind  bool // the encoder is doubted: ramp on motor speed alone
	held   bool // something keeps it from its place: its ramp follows the motors
	deaf   bool // the interlock unit is silent: brakes only through the drives
	still  time.Duration
	proved time.Duration

	position  float64 // rad, unwrapped encoder
	rate      float64 // rad/s from the encoder
	positions bool    // position has been read at least once
	motors    [2]motorSeen
	out       [2]motorSent
	enable    bool
	release   bool
	failed    cause // the order of start or stop could not be kept
	careless  bool  // does not look at brake feedback: a seeded defect
	unlimited bool  // drives through its software limits: a seeded defect
	flaw      *flaw // the seeded defect; all zero is honest
}

func (a *axis) enter(p phase, now time.Duration) { a.phase, a.since = p, now }

// start begins the order of start; the goal given then is pursued once running.
func (a *axis) start(g goal, now time.Duration) {
	a.goal = g
	if a.phase == off || a.phase == dropped {
		a.proved = 0
		a.enter(enabling, now)
	}
}

// stop begins a category 1 stop, from whatever phase the axis is in.
func (a *axis) stop(now time.Duration) {
	switch a.phase {
	case off, dropped, ramping, setting:
	case enabling, proving: // the brakes have not been let go
		a.enter(off, now)
	default:
		a.still = 0
		a.fromActual()
		a.enter(ramping, now)
	}
}

// fromActual lets a ramp begin at the motors' speed where that is below the
// reference: an axis that something holds up is not driven on by its ramp.
func (a *axis) fromActual() {
	if rate := a.motorRate(); math.Abs(rate) < slowShare*math.Abs(a.ref.rate) {
		a.ref = motion{position: a.position, rate: rate}
	}
}

// drop is a category 0 stop: torque off, brakes set, nothing awaited.
func (a *axis) drop(now time.Duration) {
	if a.phase != off {
		a.enter(dropped, now)
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

// parking tells that a stop has come to its standstill. It holds there by speed alone:
// what friction holds back is not gone after, or a motor would cross its play.
func (a *axis) parking() bool {
	return (a.phase == ramping || a.phase == setting) && a.ref.rate == 0
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
	switch a.phase {
	case off, dropped:
		a.rest()
	case enabling:
		a.bringUp(now)
	case proving:
		a.prove(now)
	case releasing:
		a.letGo(now, dt)
	case running:
		if now-a.since < settleTime {
			a.settle(dt)
			return
		}
		a.pursue(dt)
		a.drive(dt)
	case ramping:
		a.rampDown(now, dt)
	case setting:
		a.setBrakes(now, dt)
	}
}

func (a *axis) rest() {
	a.enable, a.release = false, false
	a.ref = atRest(a.position)
	a.sendAll(cia402.CommandDisableVoltage, 0, 0)
}

func (a *axis) sendAll(word uint16, rate, offset float64) {
	for m := range a.out {
		a.out[m] = motorSent{word: word, rate: rate, offset: offset}
	}
}

// bringUp walks the drives to operation enabled with the brakes set.
func (a *axis) bringUp(now time.Duration) {
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
		a.out[m] = motorSent{word: word}
	}
	switch {
	case ready:
		a.enter(proving, now)
	case now-a.since > enableTime:
		a.failed = causeDriveTrip
	}
}

// prove shows the bias on both motors before a brake is let go.
func (a *axis) prove(now time.Duration) {
	a.sendBias()
	shown := true
	if bias := float64(a.set.TorqueBias); a.set.Motors == 2 && bias > 0 {
		hold := a.pull / 2
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
		hold := a.pull/float64(a.set.Motors) + a.bias(m)
		a.out[m] = motorSent{word: cia402.CommandEnableOperation, offset: hold}
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

// letGo releases the brakes with the loop closed, so that nothing sags.
func (a *axis) letGo(now time.Duration, dt float64) {
	a.release = a.set.Brakes
	a.drive(dt)
	if !a.set.Brakes || a.careless || a.brakesSet() == 0 {
		a.enter(running, now)
		return
	}
	if now-a.since > brakeFeedbackTime {
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

// rampDown is the category 1 ramp; at standstill the brakes follow, and what has not
// come to it within the monitored ramp time loses its torque as it is.
func (a *axis) rampDown(now time.Duration, dt float64) {
	if over := a.set.RampTime; over > 0 && now-a.since >= over && !a.flaw.keepsTorque {
		a.drop(now)
		a.rest()
		return
	}
	if a.held || math.Abs(a.motorRate()) < blockedShare*math.Abs(a.ref.rate) {
		a.fromActual()
	}
	a.ref.towardRate(0, a.stopShape(), dt)
	a.drive(dt)
	slow := float64(a.set.StandstillRate)
	if math.Abs(a.ref.rate) >= slow || a.fastestMotor() >= slow {
		a.still = 0
		return
	}
	if a.still == 0 {
		a.still = now
	}
	if now-a.still >= a.set.StandstillHold-seenLate {
		a.enter(setting, now)
	}
}

// setBrakes closes the brakes and lets the torque go only when they are seen set.
func (a *axis) setBrakes(now time.Duration, dt float64) {
	a.release = now-a.since < a.flaw.brakesLate
	a.ref.rate, a.ref.acceleration = 0, 0
	a.drive(dt)
	if a.release || a.flaw.keepsTorque {
		return
	}
	if a.deaf {
		a.leaveToDrives(now)
		return
	}
	if !a.set.Brakes || a.brakesSet() == a.set.Motors || a.flaw.believesBrakes {
		a.enter(off, now)
		return
	}
	if now-a.since > brakeFeedbackTime {
		a.failed = causeBrakeFeedback
	}
}

// leaveToDrives ends a stop when the interlock unit no longer hears: the drives'
// own quick stop closes the brakes through their ready contacts.
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

// inPlace tells whether the axis holds at its goal.
func (a *axis) inPlace() bool {
	return a.phase == running && a.ref.rate == 0 && a.ref.acceleration == 0
}
