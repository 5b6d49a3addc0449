package drive

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// Cruises tells a sound drive under way with nothing else going on: in operation
// by a velocity, no stop, no fault, none of the watches. As long as nobody touches
// it, and its inputs but speed and position stay, Cruise may stand in for Step.
func (d *Drive) Cruises() bool {
	return d.plain && d.started && d.powered && d.state == cia402.OperationEnabled &&
		!d.slowing && d.supplied && !d.sto && !cia402.TorqueMode(d.mode) &&
		d.Faults == Faults{} && !d.wasStale
}

// Cruise is Step for a drive that Cruises. It refuses, and does nothing, when the
// communication watchdog is due.
func (d *Drive) Cruise(now time.Duration, rate, position float64) bool {
	if d.set.Watchdog != 0 && now-d.fed >= d.set.Watchdog && !d.silent {
		return false
	}
	dt := float64(now-d.now) * 1e-9
	d.now, d.rate, d.turn = now, rate, position
	d.stand()
	d.limited = false
	wanted := d.offset + d.speedLoop(dt)
	if math.Abs(wanted) > d.maxTorque {
		wanted = math.Copysign(d.maxTorque, wanted)
		d.limited = true
	}
	d.torque = wanted
	return true
}
