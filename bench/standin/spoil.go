package standin

import (
	"time"

	"haltmark/emulators/cia402"
)

// spoil applies the seeded defects that act on what is sent. An honest
// controller passes through unchanged.
func (c *Controller) spoil(now time.Duration) {
	if c.flaw.obstinate {
		c.insist(now)
	}
	if c.flaw.partnerPulls {
		c.pullOn()
	}
	if c.flaw.brakesAtSpeed {
		c.brakeWhileTurning()
	}
}

// insist keeps every axis that was sent moving, whatever has happened to it.
func (c *Controller) insist(now time.Duration) {
	for k := range c.axes {
		a := &c.axes[k]
		if a.phase == dropped || (a.phase == off && c.lastMove[k].kind != goalHold) {
			a.start(c.lastMove[k], now)
		}
	}
}

// pullOn leaves the partner of a tripped drive with its torque.
func (c *Controller) pullOn() {
	for k := range MainAxes {
		a := &c.axes[k]
		if a.phase != dropped {
			continue
		}
		for m := range a.set.Motors {
			if a.motors[m].state == cia402.OperationEnabled {
				a.out[m] = motorSent{cia402.CommandEnableOperation, a.ref.rate, a.bias(m)}
				a.enable = true
			}
		}
	}
}

// brakeWhileTurning closes the brakes as soon as a ramp begins.
func (c *Controller) brakeWhileTurning() {
	for k := range MainAxes {
		if c.axes[k].phase == ramping {
			c.axes[k].release = false
		}
	}
}
