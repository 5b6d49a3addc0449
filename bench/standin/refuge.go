package standin

import (
	"math"
	"time"
)

// refuge is how far the antenna has got on its own way to the stow attitude.
type refuge int

const (
	refugeNone      refuge                = iota
	refugeWarned                          // the horn sounds
	refugeUnderWay                        // elevation moves there
	refugeSettling                        // the category 1 stop that ends it
	refugeOver                            // in place, or given up: only a fresh command moves on
	refugeOutOfLine = 0.1 * math.Pi / 180 // rad, from the stow attitude
)

// sought tells that the way to the stow attitude has begun and not ended.
func (r refuge) sought() bool { return r > refugeNone && r < refugeOver }

// abandon gives the way up: another stop cause came first.
func (r *refuge) abandon() {
	if r.sought() && *r != refugeSettling {
		*r = refugeOver
	}
}

// beginRefuge starts the way, once for a cause. Nothing sets off by itself where
// people may be: away from remote, with an access open, or under another cause.
func (c *Controller) beginRefuge(now time.Duration) {
	if c.refuge != refugeNone {
		return
	}
	c.refuge = refugeOver
	if !c.mayTakeRefuge() {
		return
	}
	for k := range c.axes {
		c.axes[k].goal = goal{kind: goalHold}
	}
	if c.stowed() && !c.powered() {
		return
	}
	c.warn(now)
}

// warn has the horn sound where nothing moves yet.
func (c *Controller) warn(now time.Duration) {
	c.refuge = refugeWarned
	if !c.powered() || !c.armed(now) {
		c.arm(now)
	}
}

func (c *Controller) mayTakeRefuge() bool {
	if c.flaw.stowsFromLocal {
		return true
	}
	return c.onlyWindLatched() && c.seen.mode == modeRemote && !c.seen.accessOpen && c.seen.relayClosed
}

// onlyWindLatched tells that nothing but the wind keeps the antenna from moving: then
// it may be sent to its stow attitude.
func (c *Controller) onlyWindLatched() bool {
	for what, latched := range c.latched {
		if latched && !cause(what).ofWind() {
			return false
		}
	}
	return true
}

// stowed tells whether elevation is in its stow attitude.
func (c *Controller) stowed() bool {
	return math.Abs(c.axes[1].position-float64(c.set.Stow)) < refugeOutOfLine
}

// seekRefuge carries the way on: horn, motion, and the stop that ends it.
func (c *Controller) seekRefuge(now time.Duration) {
	el := &c.axes[1]
	switch c.refuge {
	case refugeWarned:
		switch {
		case !c.mayTakeRefuge(): // somebody came while the horn sounded
			c.refuge = refugeOver
		case now >= c.hornUntil:
			el.start(goal{goalPosition, float64(c.set.Stow), c.fullRate(1)}, now)
			c.refuge = refugeUnderWay
		}
	case refugeUnderWay:
		if el.phase == off { // a stop came to its end first
			c.warn(now)
			return
		}
		if el.phase == running && el.goal.kind == goalPosition &&
			math.Abs(el.ref.position-el.goal.value) > refugeOutOfLine {
			return
		}
		if c.flaw.stowsAndHolds || !el.inPlace() {
			return
		}
		c.refuge = refugeSettling
		for k := range c.axes {
			c.axes[k].stop(now)
		}
	case refugeSettling:
		if !c.powered() {
			c.disarm()
			c.refuge = refugeOver
		}
	case refugeOver:
		if c.flaw.leavesStow && el.phase == off && now-el.since > leavesAfter {
			el.start(goal{goalPosition, float64(c.set.Stow) / 2, c.fullRate(1)}, now)
		}
	}
}

// leavesAfter is when the seeded defect drives out of the stow attitude.
const leavesAfter = 10 * time.Second
