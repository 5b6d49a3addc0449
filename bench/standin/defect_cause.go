package standin

import "time"

// lateReactions are right in what they do and wrong in when.
func lateReactions() []Defect {
	late := func(name, wrong, id string, what cause, by time.Duration) Defect {
		return Defect{name, wrong, id, func(f *flaw) { f.late[what] = by }}
	}
	return []Defect{
		late("pre_limit_700_ms_late", "answers an open pre-limit 700 ms late", "HR-003",
			causePreLimit, 700*time.Millisecond),
		late("encoder_silence_1_s", "waits a second longer for a silent encoder", "HR-040",
			causeEncoderLost, time.Second),
		late("drive_silence_500_ms", "waits half a second longer for a silent drive", "HR-054",
			causeDriveSilent, 500*time.Millisecond),
		late("wind_60_s_late", "sets off for its stow attitude a minute late", "HR-082",
			causeWind, time.Minute),
		late("interlock_silence_1_s", "waits a second longer for a silent interlock unit", "HR-065",
			causeInterlockSilent, time.Second),
		late("partner_100_ms_late", "lets the partner of a tripped drive pull 100 ms longer",
			"HR-050", causeDriveTrip, 100*time.Millisecond),
		{"told_1_5_s_late", "tells every cause 1.5 s late", "HR-024",
			func(f *flaw) { f.tellsLate = 1500 * time.Millisecond }},
		{"brakes_400_ms_late", "closes the brakes 400 ms after standstill", "HR-023",
			func(f *flaw) { f.brakesLate = 400 * time.Millisecond }},
		{"hand_control_2_5_s_late", "goes on for 2.5 s when the hand control is let go", "HR-033",
			func(f *flaw) { f.handLate = 2500 * time.Millisecond }},
		{"horn_2_s", "sounds the horn for 2 s only", "HR-031",
			func(f *flaw) { f.hornShort = true }},
		{"software_limit_late", "plans its stop at a software limit with thrice its ramp", "HR-001",
			func(f *flaw) { f.brakesTooLate = true }},
	}
}

// deafReactions are missing for one cause.
func deafReactions() []Defect {
	deaf := func(name, wrong, id string, what ...cause) Defect {
		return Defect{name, wrong, id, func(f *flaw) {
			for _, w := range what {
				f.deaf[w] = true
			}
		}}
	}
	return []Defect{
		deaf("access_ignored", "moves on when a hatch, a ladder or a pin opens", "HR-035",
			causeAccessOpened),
		deaf("mode_ignored", "moves on when the mode selector is turned", "HR-036",
			causeModeChanged),
		deaf("runaway_ignored", "looks at no speed of its motors", "HR-061",
			causeRunaway, causeOverspeed, causeFollowingError, causeEncoderDoubted),
		{"operator_stop_ignored", "moves on when its operator stops it", "HR-012",
			func(f *flaw) { f.ignoresOperator = true }},
		deaf("brake_feedback_ignored", "drives on against a brake that is seen set", "HR-073",
			causeBrakeFeedback),
		deaf("wind_ignored", "does not stow in a strong wind", "HR-080", causeWind),
		deaf("mast_trusted", "trusts a mast that says nothing", "HR-081", causeWindDoubtful),
		{"stow_on_torque", "stays on its motors in the stow attitude", "HR-080",
			func(f *flaw) { f.stowsAndHolds = true }},
		{"alarm_ignored", "ignores an encoder's alarm while its data look good", "HR-040",
			func(f *flaw) { f.ignoresAlarm = true }},
		{"jump_followed", "follows an encoder that jumps", "HR-045",
			func(f *flaw) { f.followsJumps = true }},
		{"silent_drive_enabled", "leaves a silent drive its enable", "HR-054",
			func(f *flaw) { f.rampsSilent = true }},
		{"half_ramp", "stops with a quarter of its ramp", "HR-020",
			func(f *flaw) { f.weakRamp = true }},
		{"torque_kept", "keeps its torque on after a stop", "HR-041",
			func(f *flaw) { f.keepsTorque = true }},
	}
}

// muteReactions do what they must and do not tell.
func muteReactions() []Defect {
	mute := func(what cause, id string) Defect {
		return Defect{what.name() + "_untold", "does not tell the management side: " + what.String(),
			id, func(f *flaw) { f.mute[what] = true }}
	}
	return []Defect{
		mute(causePreLimit, "HR-004"), mute(causeFinalLimit, "HR-008"),
		mute(causeEmergencyStop, "HR-024"), mute(causeAccessOpened, "HR-038"),
		mute(causeEncoderLost, "HR-042"), mute(causeEncoderDoubted, "HR-045"),
		mute(causeDriveTrip, "HR-053"), mute(causeDriveSilent, "HR-056"),
		mute(causeWindDoubtful, "HR-082"), mute(causeBrakeFeedback, "HR-076"),
	}
}

// waits tells whether a seeded defect keeps a cause from being answered now.
func (c *Controller) waits(what cause, now time.Duration) bool {
	if c.flaw.deaf[what] {
		return true
	}
	late := c.flaw.late[what]
	if late == 0 {
		return false
	}
	if c.heardAt[what] == 0 {
		c.heardAt[what] = now
	}
	return now-c.heardAt[what] < late
}
