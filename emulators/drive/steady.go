package drive

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// Regime is how a drive goes on while nobody touches it.
type Regime uint8

// The regimes.
const (
	// Transient is every other: each step counts.
	Transient Regime = iota
	// AtRest is without torque and at standstill: as long as the motor stands and the inputs
	// stay, a step changes nothing but the drive's clock.
	AtRest
	// Steady is operation by a velocity with nothing else going on: as long as all inputs but
	// speed and position stay, and before Due, SteadyStep may stand in for Step.
	Steady
)

// Regime is that of a drive as its last step left it.
func (d *Drive) Regime() Regime {
	switch {
	case d.plain && d.operates():
		return Steady
	case d.atRest():
		return AtRest
	}
	return Transient
}

// atRest tells that time alone changes nothing in a drive: no torque, standstill seen, resistor
// and motor cold, and no safe stop but SS1 that is held. What hangs on the power stage follows
// it a step later.
func (d *Drive) atRest() bool {
	return d.still && d.idle &&
		(d.state == cia402.SwitchOnDisabled || d.state == cia402.Fault) &&
		!d.power.chopping && d.power.heat == 0 && d.power.warm == 0 &&
		(d.safe.stop == safeNone || d.safe.asked&RequestSS1 != 0)
}

// operates tells a sound drive that makes torque by a velocity, without integral, stop or
// fault, and finds the speeds at which it is settled.
func (d *Drive) operates() bool {
	if d.state != cia402.OperationEnabled || d.slowing || d.resetS != 0 || d.sto ||
		cia402.TorqueMode(d.mode) || d.Faults != (Faults{}) {
		return false
	}
	d.settled = d.settledBand()
	return true
}

// onMains tells a drive with a link and no watch beside it, on its mains, of whose safe
// functions none is asked for.
func (d *Drive) onMains() bool {
	return d.unwatched && d.set.Link.Energy > 0 && d.power.mains && d.safe.asked == 0
}

// steadyLink is the link's part of a steady step. It refuses, and does nothing, where the
// drive would trip.
func (d *Drive) steadyLink(now time.Duration, position float64) bool {
	was, l := d.power, &d.set.Link
	d.charge(float64(now-d.now)*1e-9, position, d.mains)
	level := d.power.Link / float64(l.Energy)
	if d.power.hot || level < float64(l.Under*l.Under) || level > float64(l.Over*l.Over) {
		d.power = was
		return false
	}
	d.rebase(math.Sqrt(level))
	return true
}

// Due is when the communication watchdog acts on a drive in operation that nobody touches.
func (d *Drive) Due() time.Duration {
	if d.set.Watchdog == 0 || d.silent || d.state != cia402.OperationEnabled {
		return math.MaxInt64
	}
	return d.fed + d.set.Watchdog
}

// band is what a speed is between, rad/s; zero is no band.
type band struct{ low, high float64 }

// settledBand is the speeds at which a drive whose ramp is over only makes torque: within
// the velocity window, off standstill and unlimited.
func (d *Drive) settledBand() band {
	target, window := d.targetVelocity, float64(d.set.VelocityOff)
	b := band{target - window, target + window}
	still := float64(d.set.StandstillRate)
	if d.demand != target || d.tooFast(target) || !(b.low > still || b.high < -still) {
		return band{}
	}
	// Torque grows and falls with the speed alone: what holds at both ends does between.
	if beyond(b.low, d.base) || beyond(b.high, d.base) ||
		beyond(d.torqueAt(b.low), d.maxTorque) || beyond(d.torqueAt(b.high), d.maxTorque) {
		return band{}
	}
	return b
}

// torqueAt is what the speed loop asks for at a speed.
func (d *Drive) torqueAt(rate float64) float64 {
	return d.offset + float64(d.gain*(d.demand-rate))
}

// SteadyStep is Step for a drive in the Steady regime, before it is Due. It returns the
// Torque.
func (d *Drive) SteadyStep(now time.Duration, rate, position float64) float64 {
	if !(d.settled.low < rate && rate < d.settled.high) {
		return d.adjust(now, rate, position)
	}
	d.now, d.rate, d.turn = now, rate, position
	d.fast, d.still = now, false
	d.limited, d.reached = false, now-d.off >= d.set.VelocityOffTime
	d.torque = d.torqueAt(rate)
	return d.torque
}

// adjust is SteadyStep at any speed and on a ramp.
func (d *Drive) adjust(now time.Duration, rate, position float64) float64 {
	before := d.now
	d.now, d.rate, d.turn = now, rate, position
	d.stand()
	d.limited = false
	if target := d.targetVelocity; d.demand == target && !d.tooFast(target) {
		d.inWindow(target)
	} else {
		d.pursue(float64(now-before) * 1e-9)
	}
	wanted := d.torqueAt(rate)
	if limit := d.underVoltage(d.maxTorque); beyond(wanted, limit) {
		wanted = math.Copysign(limit, wanted)
		d.limited = true
	}
	d.torque = wanted
	return wanted
}
