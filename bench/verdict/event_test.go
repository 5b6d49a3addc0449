package verdict_test

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
	"haltmark/emulators/cia402"
)

func TestReportTime(t *testing.T) {
	q := verdict.Requirement{Measure: "report_time", Comparison: verdict.AtMost,
		Limit: []string{"stop.report"}}
	a := verdict.Ask{From: time.Second, Cause: "encoder_lost"} // 100 ms of supervision
	told := func(at time.Duration, name string) *world {
		w := newWorld(5 * time.Second)
		return w.mark(at, record.Report, name, "azimuth")
	}
	is(t, "told", ask(t, told(1800*ms, "encoder_lost"), q, a), 0.7, verdict.Pass)
	is(t, "late", ask(t, told(2200*ms, "encoder_lost"), q, a), 1.1, verdict.Fail)
	is(t, "wrong cause", ask(t, told(1200*ms, "drive_trip"), q, a), 3.9, verdict.Fail)
	is(t, "before", ask(t, told(900*ms, "encoder_lost"), q, a), 3.9, verdict.Fail)
	// An encoder that counts backwards can only be found out in motion.
	a.Cause = "encoder_implausible"
	reversed := told(4*time.Second, "encoder_implausible").edge(3*time.Second, "azimuth.standstill", 0)
	is(t, "from the first motion", ask(t, reversed, q, a), 1-0.24, verdict.Pass)
	a.Cause = "encoder_lost"
	short := newWorld(1500 * ms)
	if o := ask(t, short, q, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("the record ends first: %v", o.Verdict)
	}
}

func TestFlagTime(t *testing.T) {
	q := verdict.Requirement{Measure: "flag_time", Item: "interlock.discrepancy",
		Comparison: verdict.AtMost, Limit: []string{"interlock.discrepancy", "controller.cycle"}}
	a := verdict.Ask{From: time.Second}
	w := newWorld(5*time.Second).edge(1501*ms, "interlock.discrepancy", 1)
	is(t, "flagged", ask(t, w, q, a), 0.501, verdict.Pass)
	is(t, "never", ask(t, newWorld(5*time.Second), q, a), 4, verdict.Fail)
}

func TestRefused_CountsWhatChanged(t *testing.T) {
	q := verdict.Requirement{Measure: "refused", Comparison: verdict.AtMost}
	a := verdict.Ask{From: time.Second, Until: 3 * time.Second}
	w := newWorld(5*time.Second).edge(500*ms, "relay.delayed", 0)
	is(t, "refused", ask(t, w, q, a), 0, verdict.Pass)
	is(t, "relay", ask(t, w.edge(2*time.Second, "relay.delayed", 1), q, a), 1, verdict.Fail)
	is(t, "state", ask(t, w.edge(2*time.Second, "controller.state", 6), q, a), 2, verdict.Fail)
	w.edge(2*time.Second, "elevation.standstill", 0)
	is(t, "motion", ask(t, w, q, a), 3, verdict.Fail)
}

func TestTorqueStaysOff(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_stays_off", Comparison: verdict.AtMost}
	a := verdict.Ask{From: time.Second, Until: 3 * time.Second}
	is(t, "off", ask(t, newWorld(5*time.Second), q, a), 0, verdict.Pass)
	w := newWorld(5*time.Second).edge(2900*ms, "elevation.2.torque_on", 1)
	is(t, "on at the end of the window", ask(t, w, q, a), 0.1, verdict.Fail)
	a.Axis = "azimuth"
	is(t, "another axis", ask(t, w, q, a), 0, verdict.Pass)
}

// Horn for 5 s, then motion inside a window of 10 s, as the demo station has them.
func TestHornBeforeMotion(t *testing.T) {
	q := verdict.Requirement{Measure: "horn_before_motion", Comparison: verdict.AtLeast,
		Limit: []string{"controller.horn"}}
	start := func(from, until time.Duration) *world {
		w := newWorld(40 * time.Second)
		w.edge(from, "interlock.horn", 1).edge(until, "interlock.horn", 0)
		return w.edge(20*time.Second, "azimuth.1.torque_on", 1).
			edge(20500*ms, "azimuth.standstill", 0).edge(25*time.Second, "azimuth.standstill", 1).
			edge(26*time.Second, "azimuth.standstill", 0) // powered: no horn is owed again
	}
	good := start(14*time.Second, 19020*ms)
	is(t, "sounded", watch(t, good, q), 5.02, verdict.Pass)
	a := verdict.Ask{From: 13 * time.Second, Axis: "azimuth"}
	is(t, "asked", ask(t, good, q, a), 5.02, verdict.Pass)
	is(t, "short", watch(t, start(18*time.Second, 19*time.Second), q), 1, verdict.Fail)
	is(t, "long ago", watch(t, start(0, 4900*ms), q), 0, verdict.Fail)
	is(t, "after the start", watch(t, start(20*time.Second, 26*time.Second), q), 0.5, verdict.Fail)
	if o := watch(t, newWorld(time.Second), q); o.Verdict != verdict.NotExercised {
		t.Errorf("no motion: %v", o.Verdict)
	}
}

// Common practice: above 115 % of full rate with torque on for no longer than the
// overspeed time and 20 ms, 65 ms in all; without torque the wind may add to it.
func TestWatch_Overspeed(t *testing.T) {
	q := verdict.Requirement{Measure: "overspeed", Comparison: verdict.AtMost,
		Limit: []string{"overspeed.time"}}
	// From 2 deg/s at 20 deg/s^2: 2.76 deg/s is passed 38 ms after 1 s.
	run := func(off time.Duration) *world {
		w := newWorld(3 * time.Second)
		w.motor["azimuth.2"] = func(s float64) float64 { return 2 + 20*max(0, min(s, 2)-1) }
		return w.edge(0, "azimuth.2.torque_on", 0).edge(100*ms, "azimuth.2.torque_on", 1).
			edge(off, "azimuth.2.torque_on", 0)
	}
	is(t, "in time", watch(t, run(1100*ms), q), 0.062, verdict.Pass)
	is(t, "late", watch(t, run(1110*ms), q), 0.072, verdict.Fail)
	if o := watch(t, run(1020*ms), q); o.Verdict != verdict.NotExercised {
		t.Errorf("the wind alone: %v", o.Verdict)
	}
	gone := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Limit: []string{"overspeed.time"}}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "overspeed"}
	is(t, "torque gone", ask(t, run(1100*ms), gone, a), 0.062, verdict.Pass)
	if o := ask(t, newWorld(3*time.Second), gone, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("never too fast: %v", o.Verdict)
	}
}

// A motor that no longer reports its speed is not judged by it from then on: it has its
// own time, and nobody could find it.
func TestWatch_OverspeedOfAMotorWithoutFeedback(t *testing.T) {
	q := verdict.Requirement{Measure: "overspeed", Comparison: verdict.AtMost,
		Limit: []string{"overspeed.time"}}
	run := func(motor string) *world {
		w := newWorld(3 * time.Second)
		w.motor["azimuth.2"] = func(s float64) float64 { return 2 + 20*max(0, min(s, 2)-1) }
		w.edge(0, "azimuth.2.torque_on", 0).edge(100*ms, "azimuth.2.torque_on", 1)
		w.marks = append(w.marks, record.Mark{At: 900 * ms, Kind: record.Cause,
			Name: "uncontrolled_motion", Axis: "azimuth", Text: motor})
		return w.edge(1300*ms, "azimuth.2.torque_on", 0)
	}
	if o := watch(t, run("azimuth.2"), q); o.Verdict != verdict.NotExercised {
		t.Errorf("the motor itself: %v", o.Verdict)
	}
	if o := watch(t, run("azimuth.1"), q); o.Verdict != verdict.Fail {
		t.Errorf("its partner: %v", o.Verdict)
	}
}

// An uncontrolled motion may be told by the speed or by the trip that it shows in, a
// supply interruption as the loss it is while it lasts; no other cause by any other.
func TestReportTime_UnderAnotherName(t *testing.T) {
	q := verdict.Requirement{Measure: "report_time", Comparison: verdict.AtMost,
		Limit: []string{"stop.report"}}
	for _, c := range []struct {
		cause, told string
		want        verdict.Verdict
	}{
		{"uncontrolled_motion", "overspeed", verdict.Pass},
		{"uncontrolled_motion", "drive_trip", verdict.Pass},
		{"uncontrolled_motion", "encoder_lost", verdict.Fail},
		{"supply_dip", "supply_lost", verdict.Pass},
		{"supply_lost", "supply_dip", verdict.Fail},
		{"drive_trip", "overspeed", verdict.Fail},
	} {
		w := newWorld(9*time.Second).mark(time.Second, record.Cause, c.cause, "azimuth").
			mark(1500*ms, record.Report, c.told, "azimuth")
		a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: c.cause}
		if o := ask(t, w, q, a); o.Verdict != c.want {
			t.Errorf("%s told as %s: %v, %s", c.cause, c.told, o.Verdict, o.Reason)
		}
	}
}

// Wind that has the antenna stowed moves it as a command does; an emergency stop does not.
func TestTorqueGone_UntilTheWindHasItStowed(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"final_limit"}, Limit: []string{"stop.final_limit_torque_off"}}
	run := func(cause string) *world {
		return finalLimit(20*ms, 90*ms).mark(2*time.Second, record.Cause, cause, "").
			edge(3*time.Second, "azimuth.2.torque_on", 1).edge(3500*ms, "azimuth.2.torque_on", 0)
	}
	is(t, "wind", watch(t, run("wind"), q), 0.020, verdict.Pass)
	is(t, "invalid wind data", watch(t, run("wind_data_invalid"), q), 0.020, verdict.Pass)
	is(t, "another stop", watch(t, run("emergency_stop"), q), 2.5, verdict.Fail)
}

func TestWatch_BrakeAtSpeed(t *testing.T) {
	q := verdict.Requirement{Measure: "brake_at_speed", Comparison: verdict.AtMost}
	closure := func() *world {
		w := newWorld(9*time.Second).edge(time.Second, "azimuth.1.brake_set", 0)
		return w.edge(5*time.Second, "azimuth.1.brake_set", 1)
	}
	fast := func() *world { return closure().edge(5*time.Second, "azimuth.1.closed_at_speed", 1) }
	is(t, "at rest", watch(t, closure(), q), 0, verdict.Pass)
	is(t, "at speed", watch(t, fast(), q), 1, verdict.Fail)
	is(t, "by a final limit", watch(t, fast().mark(4900*ms, record.Cause, "final_limit", "azimuth"),
		q), 0, verdict.Pass)
	is(t, "of the other axis", watch(t, fast().mark(4900*ms, record.Cause, "final_limit",
		"elevation"), q), 1, verdict.Fail)
	is(t, "by a category 1 cause", watch(t, fast().mark(4900*ms, record.Cause, "encoder_lost",
		"azimuth"), q), 1, verdict.Fail)
	is(t, "by an uncontrolled motion that was only told", watch(t, fast().mark(4900*ms,
		record.Report, "uncontrolled_motion", "azimuth"), q), 1, verdict.Fail)
	turns := func(rate float64) func(float64) float64 {
		return func(s float64) float64 {
			if s < 4.6 || s > 4.9 {
				return 0
			}
			return rate
		}
	}
	both := func(one, two float64) *world {
		w := fast()
		w.motor["azimuth.1"], w.motor["azimuth.2"] = turns(one), turns(two)
		return w
	}
	is(t, "of motors that ran too fast", watch(t, both(2.8, 2.8), q), 0, verdict.Pass)
	is(t, "of motors that ran as they may", watch(t, both(2.7, 2.7), q), 1, verdict.Fail)
	is(t, "of motors that ran apart", watch(t, both(2, 1.4), q), 0, verdict.Pass)
	is(t, "by another that was told", watch(t, fast().mark(4900*ms, record.Report, "final_limit",
		"azimuth"), q), 1, verdict.Fail)
	is(t, "by itself", watch(t, fast().edge(time.Second, "azimuth.1.brake_coil", 1), q), 0,
		verdict.Pass)
	late := fast().mark(3*time.Second, record.Cause, "encoder_lost", "azimuth")
	is(t, "at the end of the controller's ramp time, 1.9 s", watch(t, late, q), 0, verdict.Pass)
	told := fast().mark(3*time.Second, record.Report, "encoder_lost", "azimuth")
	is(t, "at the end of a ramp that was only told", watch(t, told, q), 1, verdict.Fail)
	early := fast().mark(4*time.Second, record.Cause, "encoder_lost", "azimuth")
	is(t, "before it", watch(t, early, q), 1, verdict.Fail)
	is(t, "at the end of SS1", watch(t, fast().edge(4900*ms, "relay.delayed", 0), q), 0,
		verdict.Pass)
}

func TestWatch_BrakeDraggedAndReleased(t *testing.T) {
	drag := verdict.Requirement{Measure: "brake_dragged", Comparison: verdict.AtMost}
	release := verdict.Requirement{Measure: "release_with_torque", Comparison: verdict.AtLeast}
	w := newWorld(9*time.Second).edge(time.Second, "azimuth.1.brake_set", 0).
		edge(700*ms, "azimuth.1.torque_on", 1)
	is(t, "not dragged", watch(t, w, drag), 0, verdict.Pass)
	is(t, "torque first", watch(t, w, release), 0.3, verdict.Pass)
	w.edge(3*time.Second, "azimuth.1.brake_dragging", 1).
		edge(3025*ms, "azimuth.1.brake_dragging", 0)
	is(t, "dragged", watch(t, w, drag), 0.025, verdict.Fail)
	w.edge(2*time.Second, "azimuth.1.brake_coil", 1).edge(3015*ms, "azimuth.1.brake_coil", 0)
	is(t, "dragged by itself, then by a released coil", watch(t, w, drag), 0.010, verdict.Fail)
	late := newWorld(9*time.Second).edge(time.Second, "azimuth.1.brake_set", 0).
		edge(1200*ms, "azimuth.1.torque_on", 1)
	is(t, "torque after", watch(t, late, release), -0.2, verdict.Fail)
	never := newWorld(9*time.Second).edge(time.Second, "azimuth.1.brake_set", 0)
	if o := watch(t, never, release); o.Verdict != verdict.Fail {
		t.Errorf("torque never came: %v", o.Verdict)
	}
	if o := watch(t, newWorld(time.Second), drag); o.Verdict != verdict.NotExercised {
		t.Errorf("no release: %v", o.Verdict)
	}
}

func TestWatch_FirstCauseIsKept(t *testing.T) {
	q := verdict.Requirement{Measure: "cause_kept", Comparison: verdict.AtMost}
	w := newWorld(9*time.Second).edge(time.Second, "controller.cause", 9)
	is(t, "kept", watch(t, w, q), 0, verdict.Pass)
	is(t, "overwritten", watch(t, w.edge(2*time.Second, "controller.cause", 11), q), 1, verdict.Fail)
	w.mark(1500*ms, record.Command, "reset", "")
	is(t, "after a reset", watch(t, w, q), 0, verdict.Pass)
	soft := newWorld(9*time.Second).edge(time.Second, "controller.cause", 3).
		edge(2*time.Second, "controller.cause", 5)
	is(t, "a pre-limit gives way", watch(t, soft, q), 0, verdict.Pass)
	unknown := newWorld(9*time.Second).edge(time.Second, "controller.cause", -1).
		edge(2*time.Second, "controller.cause", 5)
	is(t, "one that nobody knows does not", watch(t, unknown, q), 1, verdict.Fail)
}

// A final limit is wired to the drives: its chain is open in the same steps, or it is
// not wired at all, however soon a controller acts (IEC 60204-1 9.2.2, hardwired).
func TestWatch_ChainMissed(t *testing.T) {
	q := verdict.Requirement{Measure: "chain_missed", Comparison: verdict.AtMost}
	limit := func() *world {
		return newWorld(5*time.Second).edge(time.Second, "azimuth.final_limit.upper", 1)
	}
	open := func(w *world, at time.Duration) *world {
		return w.edge(at, "azimuth.1.sto", 1).edge(at, "azimuth.2.sto", 1)
	}
	is(t, "wired", watch(t, open(limit(), time.Second), q), 0, verdict.Pass)
	is(t, "by the controller", watch(t, open(limit(), 1010*ms), q), 2, verdict.Fail)
	is(t, "one motor of two", watch(t, limit().edge(time.Second, "azimuth.2.sto", 1), q), 1,
		verdict.Fail)
	key := limit().edge(500*ms, "interlock.override", 1)
	if o := watch(t, key, q); o.Verdict != verdict.NotExercised {
		t.Errorf("under the key: %v", o.Verdict)
	}
	by, _ := verdict.TorqueRemovedBy(limit().edge(0, "azimuth.1.torque_on", 1).
		edge(1015*ms, "azimuth.1.torque_on", 0).record(), "azimuth", time.Second)
	if by != "the controller, through the drive's state" {
		t.Errorf("an unwired limit: removed by %s", by)
	}
}

// The path that first removed torque, by the edges of each path.
func TestTorqueRemovedBy(t *testing.T) {
	const fault = int64(cia402.Fault)
	for want, edges := range map[string][]record.Edge{
		"the safety relay's delayed contact": {{At: 2900 * ms, Channel: "relay.delayed", Value: 0},
			{At: 2900 * ms, Channel: "azimuth.1.sto", Value: 1}},
		"the final limit's own contact": {
			{At: 2900 * ms, Channel: "azimuth.final_limit.upper", Value: 1},
			{At: 2900 * ms, Channel: "azimuth.1.sto", Value: 1}},
		"the isolator of the axis": {{At: 2900 * ms, Channel: "azimuth.1.sto", Value: 1},
			{At: 2915 * ms, Channel: "azimuth.1.drive_state", Value: fault}},
		"the controller, through the interlock enable": {
			{At: 2 * time.Second, Channel: "interlock.enable.azimuth", Value: 0},
			{At: 2900 * ms, Channel: "azimuth.1.sto", Value: 1}},
		"the drive's own fault reaction": {
			{At: 2900 * ms, Channel: "azimuth.1.drive_state", Value: fault}},
		"the supply, which was lost or dipped": {
			{At: 2 * time.Second, Channel: "azimuth.1.supply", Value: 400},
			{At: 2900 * ms, Channel: "azimuth.1.drive_state", Value: fault}},
		// A dip that the drive rode through took nothing.
		"the controller, through the drive's state": {
			{At: 2 * time.Second, Channel: "azimuth.1.supply", Value: 400},
			{At: 2100 * ms, Channel: "azimuth.1.supply", Value: 1000}},
	} {
		w := newWorld(5*time.Second).edge(100*ms, "azimuth.1.torque_on", 1).
			edge(0, "azimuth.1.supply", 1000).edge(0, "azimuth.1.drive_state", 5).
			edge(2920*ms, "azimuth.1.torque_on", 0)
		w.edges = append(w.edges, edges...)
		if by, at := verdict.TorqueRemovedBy(w.record(), "azimuth", time.Second); by != want ||
			at != 2920*ms {
			t.Errorf("removed by %s at %v, want by %s", by, at, want)
		}
	}
	if by, _ := verdict.TorqueRemovedBy(newWorld(time.Second).record(), "elevation", 0); by !=
		"nothing" {
		t.Errorf("removed by %s", by)
	}
}

// On the wall clock the stamps are as wide as the largest lateness in the window.
func TestTimingUncertainty_FollowsTheLateness(t *testing.T) {
	q := verdict.Requirement{Measure: "report_time", Comparison: verdict.AtMost,
		Limit: []string{"stop.report"}}
	w := newWorld(5*time.Second).mark(1500*ms, record.Report, "supply_lost", "")
	w.edge(0, "bench.lateness", 50_000).edge(1200*ms, "bench.lateness", 3_000_000).
		edge(1300*ms, "bench.lateness", 60_000).edge(2*time.Second, "bench.lateness", 9e6)
	o := ask(t, w, q, verdict.Ask{From: time.Second, Cause: "supply_lost"})
	if want := verdict.StampUncertainty(0.003); math.Abs(o.Uncertainty.Timing-want) > 1e-15 {
		t.Errorf("timing uncertainty %v, want that of 3 ms, %v", o.Uncertainty.Timing, want)
	}
}
