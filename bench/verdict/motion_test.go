package verdict_test

import (
	"testing"
	"time"

	"haltmark/bench/verdict"
)

// An axis sets out after its last command; one that does not has missed its time, and one
// that moved already, or was not commanded, shows nothing.
func TestSetOut(t *testing.T) {
	q := verdict.Requirement{Measure: "set_out", Comparison: verdict.AtMost,
		Limit: []string{"controller.start"}}
	a := verdict.Ask{From: time.Second, Until: 9 * time.Second, Axis: "azimuth"}
	commanded := func(at time.Duration) *world {
		return newWorld(10*time.Second).mark(500*ms, "command", "rate", "azimuth").
			mark(at, "command", "rate", "azimuth").mark(at+time.Second, "command", "rate", "elevation")
	}
	is(t, "in time", ask(t, commanded(2*time.Second).edge(3*time.Second, "azimuth.standstill", 0), q,
		a), 1, verdict.Pass)
	is(t, "late", ask(t, commanded(2*time.Second).edge(6*time.Second, "azimuth.standstill", 0), q, a),
		4, verdict.Fail)
	is(t, "never", ask(t, commanded(2*time.Second), q, a), 7, verdict.Fail)
	is(t, "after the window", ask(t, commanded(2*time.Second).
		edge(9500*ms, "azimuth.standstill", 0), q, a), 7, verdict.Fail)
	moving := commanded(2*time.Second).edge(1500*ms, "azimuth.standstill", 0)
	for what, w := range map[string]*world{"moving": moving, "before": commanded(600 * ms),
		"after": commanded(9100 * ms)} {
		if o := ask(t, w, q, a); o.Verdict != verdict.Inconclusive {
			t.Errorf("%s: %v %s", what, o.Verdict, o.Reason)
		}
	}
}

// What an axis does on its set brakes, without torque: 1.3 deg is what a category 0 stop of
// azimuth may have left. Under torque, or with one brake open, it is no slip.
func TestWatch_BrakeSlip(t *testing.T) {
	q := verdict.Requirement{Measure: "brake_slip", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.final_to_buffer"}}
	slides := func(by float64) *world {
		w := newWorld(9 * time.Second)
		w.motion["azimuth"] = func(s float64) (float64, float64) {
			return by * min(max(0, s-4)/2, 1), 0
		}
		return w
	}
	is(t, "holds", watch(t, slides(0), q), 0, verdict.Pass)
	is(t, "slips", watch(t, slides(2), q), 2*deg, verdict.Fail)
	is(t, "settles", watch(t, slides(1), q), 1*deg, verdict.Pass)
	open := slides(2).edge(3*time.Second, "azimuth.2.brake_set", 0).
		edge(7*time.Second, "azimuth.2.brake_set", 1)
	is(t, "one brake open", watch(t, open, q), 0, verdict.Pass)
	driven := slides(2).edge(3*time.Second, "azimuth.1.torque_on", 1).
		edge(7*time.Second, "azimuth.1.torque_on", 0)
	is(t, "driven", watch(t, driven, q), 0, verdict.Pass)
}

// The rate that an axis loses, in the sense in which it moved; one at rest shows nothing.
func TestRateLost(t *testing.T) {
	q := verdict.Requirement{Measure: "rate_lost", Comparison: verdict.AtMost,
		Limit: []string{"disagreement.rate"}}
	a := verdict.Ask{From: time.Second, Until: 5 * time.Second, Axis: "azimuth"}
	moves := func(before, after float64) *world {
		w := newWorld(6 * time.Second)
		w.motion["azimuth"] = func(s float64) (float64, float64) {
			if s < 3 {
				return before * s, before
			}
			return before*3 + after*(s-3), after
		}
		return w
	}
	is(t, "slowed a little", ask(t, moves(2, 1.75), q, a), 0.25*deg, verdict.Pass)
	is(t, "stopped", ask(t, moves(2, 0), q, a), 2*deg, verdict.Fail)
	is(t, "stopped, downward", ask(t, moves(-2, 0), q, a), 2*deg, verdict.Fail)
	is(t, "faster", ask(t, moves(-2, -3), q, a), 0, verdict.Pass)
	if o := ask(t, moves(0, 0), q, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("at rest: %v", o.Verdict)
	}
}

// The antenna is stowed when elevation rests on its brakes in its stow attitude. One that was
// there already shows nothing; one that rests elsewhere has failed, moved or not.
func TestStowTime(t *testing.T) {
	q := verdict.Requirement{Measure: "stow_time", Comparison: verdict.AtMost,
		Limit: []string{"stow.time"}}
	a := verdict.Ask{From: time.Second, Cause: "emergency_stop"}
	rests := func(at float64, goes bool) *world {
		w := newWorld(9 * time.Second)
		w.motion["elevation"] = func(float64) (float64, float64) { return at, 0 }
		if goes {
			w.edge(2*time.Second, "elevation.1.brake_set", 0).edge(5*time.Second, "elevation.1.brake_set", 1)
		}
		return w
	}
	is(t, "goes there", ask(t, rests(88, true), q, a), 4, verdict.Pass)
	is(t, "goes elsewhere", ask(t, rests(80, true), q, a), 8, verdict.Fail)
	is(t, "stays elsewhere", ask(t, rests(80, false), q, a), 8, verdict.Fail)
	if o := ask(t, rests(88, false), q, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("there already: %v", o.Verdict)
	}
	late := rests(88, true).edge(7*time.Second, "azimuth.1.torque_on", 1)
	if o := ask(t, late, q, a); o.Verdict == verdict.Pass {
		t.Error("stowed while an axis has torque")
	}
}
