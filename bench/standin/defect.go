package standin

import (
	"fmt"
	"time"
)

// flaw switches an honest controller's behaviour to a wrong one. All zero is honest.
type flaw struct {
	obstinate          bool
	ignoresSoftware    bool
	preLimitsSwapped   bool
	stopsAzimuthOnly   bool
	restartsOnReset    bool
	trustsEncoder      bool
	stopLate           time.Duration
	partnerPulls       bool
	recoversOutward    bool
	recoversFast       bool
	recoversWithoutKey bool
	outwardAtPreLimit  bool
	deafToStop         bool
	resetsWhilePressed bool
	skipsHorn          bool
	remoteInLocal      bool
	handSticks         bool
	resumes            bool
	brakesAtSpeed      bool
	dragsBrake         bool
	releasesUnproved   bool
	namesLastCause     bool

	// What it does with a cause: answers it that much later, does not answer it,
	// or answers without telling the management side.
	late       [causeCount]time.Duration
	deaf, mute [causeCount]bool

	tellsLate         time.Duration
	brakesLate        time.Duration
	handLate          time.Duration
	hornShort         bool
	ignoresAlarm      bool
	followsJumps      bool
	weakRamp          bool
	brakesTooLate     bool // plans its stop at a software limit with three times its ramp
	keepsTorque       bool
	stowsAtOnce       bool // takes one word of the mast for a gust
	stowsFromLocal    bool
	stowsAndHolds     bool // stays on its motors in the stow attitude
	ignoresOperator   bool
	dropsForOperator  bool
	believesBrakes    bool // lets its torque go without having seen its brakes
	forgetsAccess     bool // sets off with a hatch open or a pin in
	resumesSupplied   bool
	leansOnManagement bool // stops when nobody has asked for a second
	impatient         bool // takes one answer that is missing for silence
	leavesStow        bool // drives back out of the stow attitude
	rampsSilent       bool // a silent drive's axis ramps instead of losing its enable
}

// Defect is a seeded fault of the controller's logic, for showing that the
// bench catches it.
type Defect struct {
	Name        string
	Wrong       string // what it does wrong
	Requirement string // the requirement expected to catch it
	set         func(*flaw)
}

// Obstinate is the extreme: it obeys motion and reacts to nothing, so every
// reaction that the controller answers for fails on it.
const Obstinate = "obstinate"

// Defects is the catalogue: reactions that are missing first, then what must not
// be done, one for each restraint, then the extreme.
func Defects() []Defect {
	all := append(missingReactions(), lateReactions()...)
	all = append(append(all, deafReactions()...), muteReactions()...)
	return append(append(all, brokenRestraints()...), Defect{Obstinate,
		"obeys motion and reacts to nothing", "every reaction that the controller answers",
		func(f *flaw) { f.obstinate = true }})
}

func missingReactions() []Defect {
	return []Defect{
		{"software_limits_ignored", "drives through its software limits", "HR-001",
			func(f *flaw) { f.ignoresSoftware = true }},
		{"pre_limits_swapped", "takes the lower pre-limit for the upper one", "HR-002",
			func(f *flaw) { f.preLimitsSwapped = true }},
		{"stop_azimuth_only", "answers a stop cause on azimuth alone", "HR-020",
			func(f *flaw) { f.stopsAzimuthOnly = true }},
		{"stop_600_ms_late", "begins every category 1 ramp 600 ms late", "HR-020",
			func(f *flaw) { f.stopLate = 600 * time.Millisecond }},
		{"frozen_encoder_accepted", "believes its encoders whatever the motors say", "HR-043",
			func(f *flaw) { f.trustsEncoder = true }},
		{"partner_keeps_pulling", "leaves the partner of a tripped drive its torque", "HR-050",
			func(f *flaw) { f.partnerPulls = true }},
	}
}

func brokenRestraints() []Defect {
	return []Defect{
		{"outward_at_pre_limit", "takes outward commands at an open pre-limit", "HR-011",
			func(f *flaw) { f.outwardAtPreLimit = true }},
		{"recovery_without_key", "recovers from a final limit without the key", "HR-015",
			func(f *flaw) { f.recoversWithoutKey = true }},
		{"recovery_outward", "lets the hand control drive outward at a final limit", "HR-016",
			func(f *flaw) { f.recoversOutward = true }},
		{"recovery_at_half_rate", "recovers at half of the full rate", "HR-017",
			func(f *flaw) { f.recoversFast = true }},
		{"deaf_to_emergency_stop", "moves although the emergency stop is pressed", "HR-025",
			func(f *flaw) { f.deafToStop = true }},
		{"torque_under_emergency_stop", "energises although the emergency stop is pressed",
			"HR-026", func(f *flaw) { f.deafToStop = true }},
		{"reset_while_pressed", "takes a reset while the cause is still there", "HR-028",
			func(f *flaw) { f.resetsWhilePressed = true }},
		{"restart_on_reset", "goes on with the last motion after a reset", "HR-030",
			func(f *flaw) { f.restartsOnReset = true }},
		{"horn_skipped", "moves without its warning", "HR-031",
			func(f *flaw) { f.skipsHorn = true }},
		{"remote_in_local", "obeys remote commands in local and maintenance", "HR-032",
			func(f *flaw) { f.remoteInLocal = true }},
		{"hand_control_sticks", "goes on when the hand control is let go", "HR-033",
			func(f *flaw) { f.handSticks = true }},
		{"hand_control_runs_on", "travels on after the hand control is let go", "HR-034",
			func(f *flaw) { f.handSticks = true }},
		{"resumes_after_restart", "goes on with the last motion after a power-up", "HR-060",
			func(f *flaw) { f.resumes = true }},
		{"brakes_at_speed", "closes the brakes as soon as a ramp begins", "HR-070",
			func(f *flaw) { f.brakesAtSpeed = true }},
		{"brake_dragged", "drives with one brake of the pair still set", "HR-071",
			func(f *flaw) { f.dragsBrake = true }},
		{"release_unproved", "releases the brakes before there is torque", "HR-072",
			func(f *flaw) { f.releasesUnproved = true }},
		{"hatch_at_rest_ignored", "sets off with a hatch open", "HR-029",
			func(f *flaw) { f.forgetsAccess = true }},
		{"pin_ignored", "pulls at an axis whose stow pin is in", "HR-039",
			func(f *flaw) { f.forgetsAccess = true }},
		{"resumes_with_supply", "goes on with the last motion when its supply returns", "HR-093",
			func(f *flaw) { f.resumesSupplied = true }},
		{"stops_unwatched", "stops when its management side has been silent for a second", "HR-087",
			func(f *flaw) { f.leansOnManagement = true }},
		{"one_lost_answer", "takes one answer that is missing for a device that is silent", "HR-088",
			func(f *flaw) { f.impatient = true }},
		{"operator_stop_drops", "takes its torque off for an operator's stop", "HR-013",
			func(f *flaw) { f.dropsForOperator = true }},
		{"brakes_unseen", "lets its torque go without having seen its brakes", "HR-077",
			func(f *flaw) { f.believesBrakes = true }},
		{"stow_left", "drives back out of its stow attitude", "HR-083",
			func(f *flaw) { f.leavesStow = true }},
		{"stow_from_local", "drives to stow by itself in local and maintenance", "HR-084",
			func(f *flaw) { f.stowsFromLocal = true }},
		{"one_word_a_gust", "takes one word of the mast for a gust", "HR-085",
			func(f *flaw) { f.stowsAtOnce = true }},
		{"last_cause_named", "overwrites the first cause with what follows from it", "HR-075",
			func(f *flaw) { f.namesLastCause = true }},
	}
}

// flawOf finds a defect by name; "" is none.
func flawOf(name string) (flaw, error) {
	var f flaw
	if name == "" {
		return f, nil
	}
	for _, d := range Defects() {
		if d.Name == name {
			d.set(&f)
			return f, nil
		}
	}
	return f, fmt.Errorf("standin: no defect %q; `haltmark defects` lists them", name)
}
