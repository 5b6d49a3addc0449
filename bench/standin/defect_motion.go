package standin

import (
	"time"

	"haltmark/emulators/cia402"
)

// motionDefects move, or stay on their motors, where nobody asked for it.
func motionDefects() []Defect {
	return []Defect{
		{"resumes_after_reset", "goes on with the last motion after a reset", "HR-030",
			obeys(VerbReset, resumeAfterReset)},
		{"resumes_after_restart", "goes on with the last motion after a power-up", "HR-060",
			resumesAtStart},
		{"resumes_after_supply_loss", "goes on with the last motion when its supply returns",
			"HR-093", sends(resumeWithSupply)},
		{"stows_in_local", "drives to stow by itself in local and maintenance", "HR-084",
			func(c *Controller) { c.rules.mayStow = func() bool { return true } }},
		{"torque_kept_in_stow", "stays on its motors in the stow attitude", "HR-080", staysInStow},
		{"leaves_stow", "drives back out of its stow attitude", "HR-083", leavesStow},
		{"stops_without_polls",
			"stops when its supervisory system has been silent for a second", "HR-087", needsPolls},
	}
}

func resumeAfterReset(c *Controller, now time.Duration) bool {
	stopped := c.anyLatched()
	c.reset(now)
	if stopped {
		c.resume(now)
	}
	return true
}

// resume goes on with the remembered motions.
func (c *Controller) resume(now time.Duration) {
	c.hornUntil, c.armedUntil = now, now+c.set.Timing.ArmedWindow
	for k := range c.axes {
		if g := c.remembered(k); g.kind != goalHold {
			c.axes[k].start(g, now)
		}
	}
}

// remembered is the remembered motion of an axis; a hold where there is none.
func (c *Controller) remembered(i int) goal {
	m := c.set.Kept.Moves[i]
	switch m.Kind {
	case "rate":
		return goal{goalRate, m.Value, c.fullRate(i)}
	case "position":
		return goal{goalPosition, m.Value, c.fullRate(i)}
	}
	return goal{}
}

// resumesAtStart goes on once the chain is closed and no drive is in fault.
func resumesAtStart(c *Controller) {
	resumed := false
	after(&c.rules.supervise, func(now time.Duration) {
		if resumed || !c.inputs.relayClosed || *c.set.Kept == (Kept{}) {
			return
		}
		for k := range c.axes {
			if c.axes[k].motors[0].state == cia402.Fault {
				c.clearDrives = 2
				return
			}
		}
		resumed = true
		c.resume(now)
	})
}

// resumeWithSupply resets the drives until their supply is back.
func resumeWithSupply(c *Controller, _ *outputs, now time.Duration) {
	switch {
	case !c.latched[causeSupplyLost]:
	case !c.present[causeSupplyLost]:
		c.reset(now)
		c.resume(now)
	case c.cycles%50 == 0: // a reset is an edge, not a level
		c.clearDrives = 2
	}
}

func staysInStow(c *Controller) {
	stow := c.rules.stow
	c.rules.stow = func(now time.Duration) {
		if c.autoStow != autoStowMoving || c.axes[1].phase == off {
			stow(now)
		}
	}
}

func leavesStow(c *Controller) {
	after(&c.rules.hand, func(now time.Duration) {
		el := &c.axes[1]
		if c.autoStow == autoStowOver && el.phase == off && now-el.since > 10*time.Second {
			el.start(goal{goalPosition, float64(c.set.Stow) / 2, c.fullRate(1)}, now)
		}
	})
}

func needsPolls(c *Controller) {
	var asked time.Duration
	answer := c.rules.answer
	c.rules.answer = func(dst, request []byte) []byte {
		asked = c.agent.now
		return answer(dst, request)
	}
	sends(func(c *Controller, _ *outputs, now time.Duration) {
		if now-asked > time.Second && c.powered() {
			c.rules.respond(allAxes, category1, now)
		}
	})(c)
}

// extreme obeys motion and nothing else.
func extreme() Defect {
	return Defect{Obstinate, "obeys motion and reacts to nothing",
		"every reaction that the controller answers",
		wraps(unlimited, followsJumps, reads(offLimits), supervisesNothing, inSpiteOf(errReset),
			inSpiteOf(errStopping), obeys(VerbStop, ignoreStop), sends(moveOn),
			reports(func(cause, time.Duration) bool { return false }))}
}

func supervisesNothing(c *Controller) {
	c.rules.supervise = func(time.Duration) { c.present = [causeCount]bool{} }
}

// moveOn keeps every axis that was sent moving, whatever has happened to it.
func moveOn(c *Controller, _ *outputs, now time.Duration) {
	for k := range c.axes {
		if g := c.remembered(k); g.kind != goalHold && !c.axes[k].started() {
			c.axes[k].start(g, now)
		}
	}
}
