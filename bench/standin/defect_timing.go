package standin

import "time"

// timingDefects are right in what they do and wrong in when.
func timingDefects() []Defect {
	return []Defect{
		{"stop_600_ms_late", "begins every category 1 ramp 600 ms late", "HR-020", rampsLate},
		lateFor(causePreLimit, 700*time.Millisecond,
			"pre_limit_700_ms_late", "answers an open pre-limit 700 ms late", "HR-003"),
		lateFor(causeEncoderLost, time.Second,
			"silent_encoder_1_s_late", "waits a second longer for a silent encoder", "HR-040"),
		lateFor(causeDriveSilent, 500*time.Millisecond,
			"silent_drive_500_ms_late", "waits half a second longer for a silent drive", "HR-054"),
		lateFor(causeInterlockSilent, time.Second, "silent_interlock_unit_1_s_late",
			"waits a second longer for a silent interlock unit", "HR-065"),
		lateFor(causeWind, time.Minute,
			"auto_stow_60_s_late", "sets off for its stow attitude a minute late", "HR-082"),
		lateFor(causeDriveTrip, 100*time.Millisecond, "partner_torque_100_ms_late",
			"removes the torque of a tripped drive's partner 100 ms late", "HR-050"),
		{"brakes_400_ms_late", "applies the brakes 400 ms after standstill", "HR-023",
			steps(applying, brakesLate)},
		{"hand_control_2_5_s_late", "keeps moving for 2.5 s when the hand control is released",
			"HR-033", releasesLate},
		{"horn_2_s_only", "sounds the horn for 2 s only", "HR-031", sounds(2 * time.Second)},
		{"horn_skipped", "moves without its warning", "HR-031", sounds(0)},
		{"stops_on_lost_answer", "takes one answer that is missing for a silent device", "HR-088",
			func(c *Controller) { c.set.Timing.Silence = c.set.Timing.Cycle * 3 / 2 }},
		{"gust_of_one_reading", "takes one reading of the mast for a gust", "HR-085",
			func(c *Controller) { c.wind.gustReadings = 1 }},
	}
}

// lateFor answers one cause late. A drive trip is also one that only its state shows.
func lateFor(late cause, by time.Duration, name, wrong, requirement string) Defect {
	return Defect{name, wrong, requirement, func(c *Controller) {
		wait := delay{by: by}
		raises(func(_ *Controller, what cause, _ int, now time.Duration) bool {
			return what != late || wait.over(now)
		})(c)
		respond := c.rules.respond
		c.rules.respond = func(axis int, r response, now time.Duration) {
			if late != causeDriveTrip || r != category0Alone || wait.over(now) {
				respond(axis, r, now)
			}
		}
	}}
}

func rampsLate(c *Controller) {
	var waits [AxisCount]delay
	forget := func() {
		for k := range waits {
			waits[k] = delay{by: 600 * time.Millisecond}
		}
	}
	forget()
	ramp := c.rules.ramp
	c.rules.ramp = func(axis int, now time.Duration) {
		if waits[axis].over(now) {
			ramp(axis, now)
		}
	}
	obeys(VerbReset, func(*Controller, time.Duration) bool {
		forget()
		return false
	})(c)
}

func brakesLate(inner step) step {
	return func(a *axis, now time.Duration, dt float64) {
		if now-a.since < 400*time.Millisecond {
			a.release = true
			a.holdStill(dt)
			return
		}
		inner(a, now, dt)
	}
}

func releasesLate(c *Controller) {
	fresh := delay{by: 2500 * time.Millisecond}
	wait := fresh
	hand := c.rules.hand
	c.rules.hand = func(now time.Duration) {
		held := c.handHeld()
		if !held && c.handMotion && !wait.over(now) {
			return
		}
		hand(now)
		if held && c.handMotion {
			wait = fresh
		}
	}
}

// sounds has the station hear the horn for so long: the outputs take two cycles.
func sounds(horn time.Duration) func(*Controller) {
	return func(c *Controller) { c.set.Timing.Horn = horn - 2*c.set.Timing.Cycle }
}
