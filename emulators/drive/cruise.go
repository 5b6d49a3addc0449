package drive

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// Cruises tells a sound drive under way with nothing else going on: in operation
// by a velocity, no integral, no stop, no fault, none of the watches. As long as nobody touches
// it, and its inputs but speed and position stay, Cruise may stand in for Step.
func (d *Drive) Cruises() bool {
	return d.plain && d.started && d.powered && d.state == cia402.OperationEnabled &&
		!d.slowing && d.resetS == 0 && d.supplied && !d.sto && !cia402.TorqueMode(d.mode) &&
		d.Faults == Faults{} && !d.wasStale
}

// Due is when the communication watchdog acts on a drive that nobody touches.
func (d *Drive) Due() time.Duration {
	if d.set.Watchdog == 0 || d.silent {
		return math.MaxInt64
	}
	return d.fed + d.set.Watchdog
}

// Cruise is Step for a drive that Cruises, before it is Due. It returns the Torque.
func (d *Drive) Cruise(now time.Duration, rate, position float64) float64 {
	dt := float64(now-d.now) * 1e-9
	d.now, d.rate, d.turn = now, rate, position
	d.stand()
	d.limited = false
	if target := d.targetVelocity; d.demand == target && !d.tooFast(target) {
		d.inWindow(target)
	} else {
		d.pursue(dt)
	}
	wanted := d.offset + float64(d.gain*(d.demand-d.rate))
	if limit := d.underVoltage(d.maxTorque); beyond(wanted, limit) {
		wanted = math.Copysign(limit, wanted)
		d.limited = true
	}
	d.torque = wanted
	return wanted
}
