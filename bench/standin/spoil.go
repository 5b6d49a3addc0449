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
	if c.flaw.leansOnManagement && now-c.agent.asked > time.Second && c.powered() {
		c.respond(allAxes, ramp1All, now)
	}
	if c.flaw.resumesSupplied && c.latched[causeSupplyLost] {
		c.goOn(now)
	}
	for k := range MainAxes {
		c.misuseBrakes(&c.axes[k], now)
	}
}

// insist keeps every axis that was sent moving, whatever has happened to it.
func (c *Controller) insist(now time.Duration) {
	for k := range c.axes {
		a := &c.axes[k]
		if g := c.kept(k); g.kind != goalHold && (a.phase == off || a.phase == dropped) {
			a.start(g, now)
		}
	}
}

// goOn clears the drives until their supply is back, and takes the motion up again.
func (c *Controller) goOn(now time.Duration) {
	if c.present[causeSupplyLost] {
		if c.cycles%50 == 0 { // a reset is an edge, not a level
			c.clearDrives = 2
		}
		return
	}
	c.reset(now)
	c.restart(now)
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

// misuseBrakes breaks the order of brake and torque.
func (c *Controller) misuseBrakes(a *axis, now time.Duration) {
	switch {
	case c.flaw.brakesAtSpeed && a.phase == ramping:
		a.release = false
	case c.flaw.releasesUnproved && a.phase == enabling && now-a.since < 400*time.Millisecond:
		a.release = true
		a.sendAll(cia402.CommandShutdown, 0, 0)
	}
}
