package standin

import "time"

// causeDefects do not see that a cause is there.
func causeDefects() []Defect {
	return []Defect{
		{"access_ignored", "moves on when a hatch, a ladder or a pin opens", "HR-035",
			ignores(causeAccessOpened)},
		{"mode_change_ignored", "moves on when the mode selector is turned", "HR-036",
			ignores(causeModeChanged)},
		{"uncontrolled_motion_ignored", "looks at no speed of its motors", "HR-061",
			ignores(causeRunaway, causeOverspeed, causeFollowingError, causeEncoderDoubted)},
		{"brake_feedback_ignored", "drives on against a brake that is seen set", "HR-073",
			ignores(causeBrakeFeedback)},
		{"wind_ignored", "does not stow in a strong wind", "HR-080", ignores(causeWind)},
		{"silent_mast_ignored", "trusts a mast that says nothing", "HR-081",
			ignores(causeWindDoubtful)},
		{"hand_control_sticks", "goes on when the hand control is released", "HR-033",
			ignores(causeHandReleased)},
		{"hand_control_runs_on", "travels on after the hand control is released", "HR-034",
			ignores(causeHandReleased)},
	}
}

// responseDefects see the cause and answer it wrongly.
func responseDefects() []Defect {
	return []Defect{
		{"stop_azimuth_only", "answers a stop cause on azimuth alone", "HR-020", stopsAzimuthAlone},
		{"silent_drive_enabled", "leaves a silent drive its enable", "HR-054", rampsSilentDrive},
		{"quarter_ramp", "stops with a quarter of its ramp", "HR-020",
			eachSetting(func(a *AxisSettings) { a.StopRamp /= 4 })},
		{"software_limit_late", "plans its stop at a software limit with thrice its ramp", "HR-001",
			func(c *Controller) {
				for k := range c.axes {
					c.axes[k].limitShape.acceleration *= 3
				}
			}},
		{"torque_kept_after_stop", "keeps its torque on after a stop", "HR-041",
			wraps(eachSetting(func(a *AxisSettings) { a.RampTime = 0 }), steps(applying, keepTorque))},
		{"trip_cannot_be_reset", "refuses the reset that alone would clear a drive's fault", "HR-100",
			refusesReset},
		{"operator_stop_ignored", "moves on when its operator stops it", "HR-012",
			obeys(VerbStop, ignoreStop)},
		{"operator_stop_removes_torque", "removes its torque for an operator's stop", "HR-013",
			obeys(VerbStop, func(c *Controller, now time.Duration) bool {
				c.eachAxis(allAxes, func(a *axis) { a.stop(now) })
				return false
			})},
	}
}

// refusesReset as long as a drive is in its fault state.
func refusesReset(c *Controller) {
	inner := c.rules.accept
	c.rules.accept = func(o order, now time.Duration) error {
		if o.verb == VerbReset && c.latched[causeDriveTrip] && c.present[causeDriveTrip] {
			return errReset
		}
		return inner(o, now)
	}
}

func stopsAzimuthAlone(c *Controller) {
	respond, ramp := c.rules.respond, c.rules.ramp
	every := false
	c.rules.respond = func(axis int, r response, now time.Duration) {
		every = r == category1
		respond(axis, r, now)
		every = false
	}
	c.rules.ramp = func(axis int, now time.Duration) {
		if axis == 0 || !every {
			ramp(axis, now)
		}
	}
}

// rampsSilentDrive ramps its axis instead of removing its torque.
func rampsSilentDrive(c *Controller) {
	raise := c.rules.raise
	c.rules.raise = func(what cause, axis int, r response, now time.Duration) {
		if what == causeDriveSilent {
			r = category1
		}
		raise(what, axis, r, now)
	}
}

func keepTorque(step) step {
	return func(a *axis, _ time.Duration, dt float64) {
		a.release = false
		a.holdStill(dt)
	}
}

func ignoreStop(c *Controller, _ time.Duration) bool {
	c.stowing = false
	return true
}

// commandDefects obey what they must refuse.
func commandDefects() []Defect {
	return []Defect{
		{"outward_at_pre_limit", "takes outward commands at an open pre-limit", "HR-011",
			wraps(inSpiteOf(errInward), stopsOnceAtPreLimit)},
		{"reset_with_cause_present", "takes a reset while the cause is still there", "HR-028",
			inSpiteOf(errReset)},
		{"recovery_at_half_rate", "recovers at half of the full rate", "HR-017",
			func(c *Controller) { c.thresholds.hand = 0.5 }},
	}
}

// stopsOnceAtPreLimit answers a pre-limit until the axis has come to rest at it.
func stopsOnceAtPreLimit(c *Controller) {
	var stopped [MainAxes][2]bool
	raises(func(c *Controller, what cause, axis int, _ time.Duration) bool {
		if what != causePreLimit {
			return true
		}
		for end, actuated := range c.inputs.preLimit[axis] {
			if actuated && stopped[axis][end] && c.axes[axis].outward(end) {
				return false
			}
		}
		return true
	})(c)
	after(&c.rules.supervise, func(time.Duration) {
		for k := range stopped {
			for end, actuated := range c.inputs.preLimit[k] {
				stopped[k][end] = actuated && (stopped[k][end] || c.axes[k].inPlace())
			}
		}
	})
}
