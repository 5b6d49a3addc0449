package standin

import (
	"math"
	"slices"
	"time"

	"haltmark/bench/quantity"
)

// inputDefects read wrongly, or do not look at, what the devices say.
func inputDefects() []Defect {
	return []Defect{
		{"software_limits_ignored", "drives through its software limits", "HR-001", unlimited},
		{"pre_limits_swapped", "takes the lower pre-limit for the upper one", "HR-002",
			reads(swapPreLimits)},
		{"frozen_encoder_accepted", "believes its encoders whatever the motors say", "HR-043",
			wraps(followsJumps, trustsEncoders)},
		{"encoder_jump_followed", "follows an encoder that jumps", "HR-045", followsJumps},
		{"encoder_alarm_ignored", "ignores an encoder's alarm while its data look good", "HR-040",
			reads(func(c *Controller) {
				for k := range c.encoders {
					c.encoders[k].alarm = false
				}
			})},
		{"motion_under_emergency_stop", "moves although the emergency stop is pressed", "HR-025",
			reads(overlookEmergencyStop)},
		{"torque_under_emergency_stop", "energizes although the emergency stop is pressed",
			"HR-026", reads(overlookEmergencyStop)},
		{"recovery_without_key", "recovers from a final limit without the key", "HR-015",
			reads(func(c *Controller) { c.inputs.override = true })},
		{"recovery_outward", "lets the hand control drive outward at a final limit", "HR-016",
			followsPanelAs(offLimits)},
		{"remote_in_local", "obeys remote commands in local and maintenance", "HR-032",
			acceptsAs(func(c *Controller) { c.inputs.mode = modeRemote })},
		{"open_hatch_ignored", "sets off with a hatch open", "HR-029", overlookAccess},
		{"stow_pin_ignored", "pulls at an axis whose stow pin is in", "HR-039", overlookAccess},
		{"brake_feedback_not_awaited", "removes its torque without having seen its brakes set",
			"HR-077", reads(func(c *Controller) { c.seesBrakes(true, applying) })},
		{"brake_dragged", "drives with one brake of the pair still applied", "HR-071",
			wraps(reads(func(c *Controller) { c.seesBrakes(false, releasing, running, ramping) }),
				comparesNoMotors, sends(keepSecondBrakes))},
	}
}

// unlimited puts the software limits where no axis comes.
func unlimited(c *Controller) {
	const away = 1000 // rad
	eachSetting(func(a *AxisSettings) {
		a.SoftwareLimits[0] -= away
		a.SoftwareLimits[1] += away
	})(c)
}

func swapPreLimits(c *Controller) {
	if !c.interlock.fresh {
		return // they are those of the last answer, swapped already
	}
	for k, ends := range c.inputs.preLimit {
		c.inputs.preLimit[k] = [2]bool{ends[1], ends[0]}
	}
}

func followsJumps(c *Controller) { c.thresholds.jump = math.Inf(1) }

func trustsEncoders(c *Controller) { c.rules.plausible = func(int, time.Duration) {} }

func overlookEmergencyStop(c *Controller) { c.inputs.emergencyStop = false }

// offLimits forgets every limit switch.
func offLimits(c *Controller) {
	c.inputs.preLimit, c.inputs.finalLimit = [MainAxes][2]bool{}, [MainAxes][2]bool{}
	c.pastFinal = [MainAxes][2]bool{}
}

// overlookAccess looks at neither hatch nor pin before it sets off.
func overlookAccess(c *Controller) {
	acceptsAs(func(c *Controller) { c.inputs.accessOpen = false })(c)
	followsPanelAs(func(c *Controller) { c.inputs.pin = [MainAxes]bool{} })(c)
}

// seesBrakes takes the brakes of an axis for set or released in these phases.
func (c *Controller) seesBrakes(set bool, phases ...phase) {
	for k := range c.axes {
		if a := &c.axes[k]; slices.Contains(phases, a.phase) {
			a.motors[0].brakeSet, a.motors[1].brakeSet = set, set
		}
	}
}

// comparesNoMotors would find the brake by what it does to the motors otherwise.
func comparesNoMotors(c *Controller) {
	eachSetting(func(a *AxisSettings) { a.DisagreeRate = quantity.Rate(math.Inf(1)) })(c)
	c.thresholds.runaway = math.Inf(1)
}

func keepSecondBrakes(_ *Controller, o *outputs, _ time.Duration) {
	o.release[1], o.release[3] = false, false
}
