package standin

import (
	"math"
	"time"
)

// autoStow is how far the antenna has got on its own way to the stow attitude.
type autoStow int

const (
	autoStowIdle     autoStow = iota
	autoStowWarning           // the horn sounds
	autoStowMoving            // elevation moves there
	autoStowStopping          // the category 1 stop that ends it
	autoStowOver              // in place, or abandoned: only a fresh command moves on
)

// stowTolerance is how near to its stow attitude elevation is in place, rad.
const stowTolerance = 0.1 * math.Pi / 180

// underWay tells that the way to the stow attitude has begun and not ended.
func (s autoStow) underWay() bool { return s > autoStowIdle && s < autoStowOver }

// abandon ends the way: another stop cause came first.
func (s *autoStow) abandon() {
	if s.underWay() && *s != autoStowStopping {
		*s = autoStowOver
	}
}

// beginAutoStow starts the way, once for a cause. Nothing sets off by itself where
// people may be: away from remote, with an access open, or under another cause.
func (c *Controller) beginAutoStow(now time.Duration) {
	if c.autoStow != autoStowIdle {
		return
	}
	c.autoStow = autoStowOver
	if !c.rules.mayStow() {
		return
	}
	for k := range c.axes {
		c.axes[k].goal = goal{kind: goalHold}
	}
	if c.inStowAttitude() && !c.powered() {
		return
	}
	c.warn(now)
}

// warn has the horn sound where nothing moves yet.
func (c *Controller) warn(now time.Duration) {
	c.autoStow = autoStowWarning
	if !c.powered() || !c.armed(now) {
		c.arm(now)
	}
}

func (c *Controller) mayStowByItself() bool {
	in := &c.inputs
	return c.onlyWindLatched() && in.mode == modeRemote && !in.accessOpen && in.relayClosed
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

func (c *Controller) inStowAttitude() bool {
	return math.Abs(c.axes[1].position-float64(c.set.Stow)) < stowTolerance
}

// stowByItself carries the way on: horn, motion, and the stop that ends it.
func (c *Controller) stowByItself(now time.Duration) {
	el := &c.axes[1]
	switch c.autoStow {
	case autoStowWarning:
		switch {
		case !c.rules.mayStow(): // somebody came while the horn sounded
			c.autoStow = autoStowOver
		case now >= c.hornUntil:
			el.start(goal{goalPosition, float64(c.set.Stow), c.fullRate(1)}, now)
			c.autoStow = autoStowMoving
		}
	case autoStowMoving:
		if el.phase == off { // a stop came to its end first
			c.warn(now)
			return
		}
		if el.phase == running && el.goal.kind == goalPosition &&
			math.Abs(el.ref.position-el.goal.value) > stowTolerance {
			return
		}
		if !el.inPlace() {
			return
		}
		c.autoStow = autoStowStopping
		for k := range c.axes {
			c.axes[k].stop(now)
		}
	case autoStowStopping:
		if !c.powered() {
			c.disarm()
			c.autoStow = autoStowOver
		}
	}
}
