package standin

import (
	"math"
	"time"
)

// followPanel obeys the local panel: motion only while the control is held.
func (c *Controller) followPanel(now time.Duration) {
	held := c.handHeld()
	if !held {
		c.handSpent = false
	}
	i := c.inputs.handAxis
	rate, ok := c.handRate(i)
	if !held || c.handSpent || !ok || c.handMotion && i != c.handAxis {
		if c.handMotion {
			c.handMotion, c.handSpent = false, held
			c.raise(causeHandReleased, allAxes, now)
		}
		return
	}
	if !c.armed(now) {
		if c.hornUntil == 0 || now > c.armedUntil {
			c.arm(now)
		}
		return
	}
	c.handMotion, c.handAxis = true, i
	c.move(i, goal{goalRate, rate, math.Abs(rate)}, now)
}

// handHeld tells that the panel is in charge, a direction chosen and the enabling
// device pressed.
func (c *Controller) handHeld() bool {
	in := &c.inputs
	return in.mode != modeRemote && in.handDirection != 0 && in.enabling
}

// handRate is the rate the panel asks of an axis, and whether it may be given.
func (c *Controller) handRate(i int) (float64, bool) {
	in := &c.inputs
	rate := c.thresholds.hand * c.fullRate(i) * float64(in.handDirection)
	if i < MainAxes {
		if in.pin[i] {
			return 0, false
		}
		for end, sign := range [2]float64{-1, 1} {
			limit := in.preLimit[i][end] || in.finalLimit[i][end] || c.pastFinal[i][end]
			if limit && rate*sign > 0 {
				return 0, false
			}
		}
	}
	return rate, !c.anyLatched() || c.recovering(i)
}

// recovering reports whether the axis may be brought back from its final limit:
// override key held, panel in charge, and nothing else latched.
func (c *Controller) recovering(i int) bool {
	if i >= MainAxes || !c.inputs.override || c.inputs.mode == modeRemote {
		return false
	}
	for what, latched := range c.latched {
		if latched && cause(what) != causeFinalLimit {
			return false
		}
	}
	return true
}
