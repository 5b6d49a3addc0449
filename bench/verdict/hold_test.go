package verdict_test

import (
	"testing"
	"time"

	"haltmark/bench/verdict"
)

// held is azimuth under torque with its brakes open, from 1 s on.
func held(length time.Duration) *world {
	w := newWorld(length)
	for _, motor := range []string{"azimuth.1", "azimuth.2"} {
		w.edge(time.Second, motor+".torque_on", 1).edge(time.Second, motor+".brake_set", 0)
	}
	return w
}

func (w *world) both(at time.Duration, channel string, value int64) *world {
	return w.edge(at, "azimuth.1."+channel, value).edge(at, "azimuth.2."+channel, value)
}

// An axis that loses its torque before its brakes are set hangs on nothing, unless a cause of
// category 0, a lost supply, a limit or a motor out of control explains it.
func TestWatch_LooseTime(t *testing.T) {
	q := verdict.Requirement{Measure: "loose_time", Comparison: verdict.AtMost, Watch: true}
	let := func(torque, brakes time.Duration) *world {
		return held(9*time.Second).both(torque, "torque_on", 0).both(brakes, "brake_set", 1)
	}
	is(t, "brakes first", watch(t, let(5*time.Second, 4900*ms), q), 0, verdict.Pass)
	is(t, "torque first", watch(t, let(5*time.Second, 5100*ms), q), 0.1, verdict.Fail)
	loose := func() *world { return let(5*time.Second, 5100*ms) }
	one := held(9*time.Second).both(5*time.Second, "torque_on", 0).
		edge(4900*ms, "azimuth.1.brake_set", 1).edge(5200*ms, "azimuth.2.brake_set", 1)
	is(t, "one brake late", watch(t, one, q), 0.2, verdict.Fail)
	for what, w := range map[string]*world{
		"category 0":  loose().mark(4900*ms, "cause", "drive_trip", "azimuth"),
		"supply":      loose().both(4800*ms, "supply", 0),
		"final limit": loose().edge(4800*ms, "azimuth.final_limit.upper", 1),
		"wired wrong": loose().mark(0, "fault", "direction_changed", "azimuth.1"),
		"runaway":     loose().mark(2*time.Second, "cause", "overspeed", "azimuth"),
	} {
		is(t, what, watch(t, w, q), 0, verdict.Pass)
	}
	for what, w := range map[string]*world{
		"category 1":   loose().mark(4900*ms, "cause", "emergency_stop", ""),
		"another axis": loose().mark(4900*ms, "cause", "drive_trip", "elevation"),
		"long ago":     loose().mark(2*time.Second, "cause", "drive_trip", "azimuth"),
	} {
		is(t, what, watch(t, w, q), 0.1, verdict.Fail)
	}
}

// Half the difference of two torques is the bias; it is owed while both drive the axis, past the
// settling of its brakes, until something is wrong with a motor.
func TestWatch_BiasLack(t *testing.T) {
	q := verdict.Requirement{Measure: "bias_lack", Comparison: verdict.AtMost, Watch: true,
		Limit: []string{"<axis>.bias_band"}}
	biased := func(bias func(s float64) float64) *world {
		w := held(9*time.Second).both(8*time.Second, "torque_on", 0).both(7900*ms, "brake_set", 1)
		w.torque["azimuth.1"] = func(s float64) float64 { return 300 + bias(s) }
		w.torque["azimuth.2"] = func(s float64) float64 { return 300 - bias(s) }
		return w
	}
	steady := func(bias float64) func(float64) float64 {
		return func(float64) float64 { return bias }
	}
	drops := func(s float64) float64 {
		if s < 5 {
			return 1000
		}
		return 0
	}
	is(t, "as stated", watch(t, biased(steady(1000)), q), 0, verdict.Pass)
	is(t, "a little less", watch(t, biased(steady(700)), q), 300, verdict.Pass)
	is(t, "lost", watch(t, biased(steady(0)), q), 1000, verdict.Fail)
	is(t, "doubled", watch(t, biased(steady(2000)), q), 1000, verdict.Fail)
	is(t, "lost later", watch(t, biased(drops), q), 1000, verdict.Fail)
	is(t, "after an emergency stop", watch(t, biased(drops).
		mark(4*time.Second, "cause", "emergency_stop", ""), q), 1000, verdict.Fail)
	is(t, "after a trip", watch(t, biased(drops).
		mark(4*time.Second, "cause", "drive_trip", "azimuth"), q), 0, verdict.Pass)
}

// Torque counts as removed by safe torque off when that has had its time, whoever was faster.
func TestTorqueGone_BySafeTorqueOff(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost, Item: "sto",
		Limit: []string{"stop.final_limit_torque_off"}, Causes: []string{"final_limit"}}
	a := verdict.Ask{From: 4 * time.Second, Axis: "azimuth", Cause: "final_limit"}
	stops := func(torque time.Duration) *world {
		return held(9*time.Second).mark(4*time.Second, "cause", "final_limit", "azimuth").
			both(torque, "torque_on", 0)
	}
	is(t, "by it", ask(t, stops(4020*ms).both(4*time.Second, "sto", 1), q, a), 0.02, verdict.Pass)
	is(t, "before it", ask(t, stops(4001*ms).both(4*time.Second, "sto", 1), q, a), 0.02,
		verdict.Pass)
	is(t, "late", ask(t, stops(4001*ms).both(4100*ms, "sto", 1), q, a), 0.12, verdict.Fail)
	if o := ask(t, stops(4001*ms).edge(4*time.Second, "azimuth.1.sto", 1), q, a); o.Verdict !=
		verdict.Fail {
		t.Errorf("of one motor alone: %v", o.Verdict)
	}
	if o := ask(t, stops(4001*ms), q, a); o.Verdict != verdict.Fail {
		t.Errorf("by the controller alone: %v", o.Verdict)
	}
}

// What the controller asks for counts, not what it gets.
func TestEnableStaysOff(t *testing.T) {
	q := verdict.Requirement{Measure: "enable_stays_off", Comparison: verdict.AtMost}
	a := verdict.Ask{From: 2 * time.Second, Until: 8 * time.Second, Axis: "azimuth"}
	quiet := func() *world {
		return newWorld(9*time.Second).edge(time.Second, "interlock.enable.azimuth", 0)
	}
	is(t, "quiet", ask(t, quiet(), q, a), 0, verdict.Pass)
	is(t, "enabled", ask(t, quiet().edge(3*time.Second, "interlock.enable.azimuth", 1).
		edge(5*time.Second, "interlock.enable.azimuth", 0), q, a), 2, verdict.Fail)
	is(t, "released", ask(t, quiet().edge(3*time.Second, "interlock.brake_release.azimuth.2", 1).
		edge(4*time.Second, "interlock.brake_release.azimuth.2", 0), q, a), 1, verdict.Fail)
	is(t, "another axis", ask(t, quiet().edge(3*time.Second, "interlock.enable.elevation", 1), q, a),
		0, verdict.Pass)
}
