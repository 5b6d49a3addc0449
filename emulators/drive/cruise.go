package drive

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// SetOut tells a sound drive under way with nothing else going on: in operation
// by a velocity, no integral, no stop, no fault, none of the watches. As long as nobody touches
// it, and its inputs but speed and position stay, Cruise may then stand in for Step.
func (d *Drive) SetOut() bool { return d.plain && d.underWay() }

// underWay finds, for a drive that is, the speeds at which it is steady.
func (d *Drive) underWay() bool {
	if !d.started || !d.powered || d.state != cia402.OperationEnabled || d.slowing ||
		d.resetS != 0 || !d.supplied || d.sto || cia402.TorqueMode(d.mode) ||
		d.Faults != (Faults{}) || d.wasStale {
		return false
	}
	d.steady = d.steadyBand()
	return true
}

// linked tells a drive with a link and no watch beside it, on its mains, of whose safe
// functions none is asked for or runs.
func (d *Drive) linked() bool {
	return d.unwatched && d.set.Link.Energy > 0 && d.power.mains && d.safe.asked == 0 &&
		d.safe.stop == safeNone && d.safe.code == cia402.ErrorNone
}

// carryLink carries the link of such a drive on. It refuses, and does nothing, where the
// drive would trip.
func (d *Drive) carryLink(now time.Duration, position float64) bool {
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

// Due is when the communication watchdog acts on a drive that nobody touches.
func (d *Drive) Due() time.Duration {
	if d.set.Watchdog == 0 || d.silent {
		return math.MaxInt64
	}
	return d.fed + d.set.Watchdog
}

// band is what a speed is between, rad/s; zero is no band.
type band struct{ low, high float64 }

// steadyBand is the speeds at which a drive whose ramp is over only makes torque: within
// the velocity window, off standstill and unlimited.
func (d *Drive) steadyBand() band {
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

// Cruise is Step for a drive that has SetOut, before it is Due. It returns the Torque.
func (d *Drive) Cruise(now time.Duration, rate, position float64) float64 {
	if !(d.steady.low < rate && rate < d.steady.high) {
		return d.adjust(now, rate, position)
	}
	d.now, d.rate, d.turn = now, rate, position
	d.fast, d.still = now, false
	d.limited, d.reached = false, now-d.off >= d.set.VelocityOffTime
	d.torque = d.torqueAt(rate)
	return d.torque
}

// adjust is Cruise at any speed and on a ramp.
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
