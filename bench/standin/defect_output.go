package standin

import (
	"time"

	"haltmark/emulators/cia402"
)

// outputDefects send what a drive or a brake must not get.
func outputDefects() []Defect {
	return []Defect{
		{"partner_torque_kept", "leaves the partner of a tripped drive its torque", "HR-050",
			sends(keepPartnerTorque)},
		{"brakes_at_speed", "applies the brakes as soon as a ramp begins", "HR-070",
			steps(ramping, applyAtSpeed)},
		{"brakes_at_speed_excused", "the same, and reports a motion that ran away", "HR-070",
			wraps(steps(ramping, applyAtSpeed), blamesMotors)},
		{"lets_go_before_the_brakes", "removes its torque as soon as it has called for the brakes",
			"HR-129", steps(applying, letGo)},
		{"bias_lost", "drives both motors of an axis without a bias", "HR-130",
			eachSetting(func(a *AxisSettings) { a.TorqueBias = 0 })},
		{"brakes_released_without_torque", "releases the brakes before there is torque", "HR-072",
			sends(releaseWithoutTorque)},
	}
}

func letGo(step) step {
	return func(a *axis, now time.Duration, dt float64) {
		a.enter(off, now)
		a.rest(now, dt)
	}
}

// blamesMotors reports every stop as that of a motor which ran away.
func blamesMotors(c *Controller) {
	inner := c.rules.report
	c.rules.report = func(now time.Duration) (cause, int) {
		first, axis := inner(now)
		if first.latches() {
			first = causeRunaway
		}
		return first, max(axis, 0)
	}
}

func keepPartnerTorque(c *Controller, o *outputs, _ time.Duration) {
	for k := range MainAxes {
		a := &c.axes[k]
		if a.phase != torqueOff {
			continue
		}
		for m := range a.set.Motors {
			if a.motors[m].state == cia402.OperationEnabled {
				a.out[m] = driveCommand{cia402.CommandEnableOperation, a.ref.rate, a.bias(m)}
				o.enable[k] = true
			}
		}
	}
}

func applyAtSpeed(inner step) step {
	return func(a *axis, now time.Duration, dt float64) {
		a.release = false
		inner(a, now, dt)
	}
}

func releaseWithoutTorque(c *Controller, o *outputs, now time.Duration) {
	for k := range MainAxes {
		a := &c.axes[k]
		if a.phase == enabling && now-a.since < 400*time.Millisecond {
			a.sendAll(cia402.CommandShutdown)
			o.setRelease(k, true)
		}
	}
}

// reportDefects do what they must and report it wrongly.
func reportDefects() []Defect {
	return []Defect{
		unreported(causePreLimit, "pre_limit_not_reported", "HR-004"),
		unreported(causeFinalLimit, "final_limit_not_reported", "HR-008"),
		unreported(causeEmergencyStop, "emergency_stop_not_reported", "HR-024"),
		unreported(causeAccessOpened, "access_not_reported", "HR-038"),
		unreported(causeEncoderLost, "lost_encoder_not_reported", "HR-042"),
		unreported(causeEncoderDoubted, "implausible_encoder_not_reported", "HR-045"),
		unreported(causeDriveTrip, "drive_trip_not_reported", "HR-053"),
		unreported(causeDriveSilent, "silent_drive_not_reported", "HR-056"),
		unreported(causeWindDoubtful, "silent_mast_not_reported", "HR-082"),
		unreported(causeBrakeFeedback, "brake_feedback_not_reported", "HR-076"),
		{"report_1_5_s_late", "reports every cause 1.5 s late", "HR-024", reportsLate},
		{"last_cause_reported", "overwrites the first cause with what follows from it", "HR-075",
			keepsLastCause},
	}
}

func unreported(kept cause, name, requirement string) Defect {
	return Defect{name, "does not report to the supervisory system: " + kept.String(), requirement,
		reports(func(first cause, _ time.Duration) bool { return first != kept })}
}

// reports decides whether the first cause is reported now.
func reports(does func(first cause, now time.Duration) bool) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.report
		c.rules.report = func(now time.Duration) (cause, int) {
			first, axis := inner(now)
			if !does(first, now) {
				first = causeNone
			}
			return first, axis
		}
	}
}

func reportsLate(c *Controller) {
	var last cause
	wait := delay{}
	reports(func(first cause, now time.Duration) bool {
		if first != last {
			last, wait = first, delay{by: 1500 * time.Millisecond}
		}
		return wait.over(now)
	})(c)
}

func keepsLastCause(c *Controller) {
	raise := c.rules.raise
	c.rules.raise = func(what cause, axis int, r response, now time.Duration) {
		later := what.latches() && !c.latched[what]
		raise(what, axis, r, now)
		if later {
			c.reportFirst(what, axis)
		}
	}
}
