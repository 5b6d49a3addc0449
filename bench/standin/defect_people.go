package standin

import "time"

// peopleDefects move what a person near the antenna takes for still.
func peopleDefects() []Defect {
	return []Defect{
		{"latched_stop_obeys", "obeys commands although a stop is latched", "HR-102",
			inSpiteOf(errLatched)},
		{"unarmed_obeys", "obeys a motion command that nobody has armed", "HR-121",
			inSpiteOf(errNotArmed)},
		{"start_past_open_access", "gives torque for a command with an access open", "HR-122",
			acceptsAs(func(c *Controller) { c.inputs.accessOpen = false })},
		{"hand_control_in_remote", "follows the hand control with the selector at remote", "HR-123",
			followsPanelAs(func(c *Controller) { c.inputs.mode = modeLocal })},
		{"hand_control_fast", "moves at a fifth of the full rate by hand", "HR-124",
			func(c *Controller) { c.thresholds.hand = 0.2 }},
		{"hand_stop_keeps_torque", "keeps its torque when the hand control is released", "HR-126",
			respondsToHandBy(category2)},
		{"hand_stop_leaves_brakes", "leaves the brakes released after motion by hand", "HR-127",
			sends(keepBrakesOpen)},
		{"torque_not_proved", "releases the brakes without a look at the motors' torque", "HR-128",
			steps(proving, skipProof)},
	}
}

// respondsToHandBy answers the release of the hand control by another category.
func respondsToHandBy(other response) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.raise
		c.rules.raise = func(what cause, axis int, r response, now time.Duration) {
			if what == causeHandReleased {
				r = other
			}
			inner(what, axis, r, now)
		}
	}
}

func keepBrakesOpen(c *Controller, o *outputs, _ time.Duration) {
	if c.first != causeHandReleased || c.anyLatched() {
		return
	}
	for k := range MainAxes {
		o.setRelease(k, true)
	}
}

func skipProof(step) step {
	return func(a *axis, now time.Duration, _ float64) {
		a.sendBias()
		a.ref = atRest(a.position)
		a.enter(releasing, now)
	}
}
