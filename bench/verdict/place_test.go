package verdict_test

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

// slide is an axis that goes from one place to another at a constant rate.
func slide(from, to, start, rate float64) func(float64) (float64, float64) {
	end := start + math.Abs(to-from)/rate
	sign := math.Copysign(1, to-from)
	return func(s float64) (float64, float64) {
		switch {
		case s <= start:
			return from, 0
		case s >= end:
			return to, 0
		}
		return from + sign*rate*(s-start), sign * rate
	}
}

// sliding is azimuth that goes from one place to another after 1 s.
func sliding(from, to, rate float64) *world {
	w := newWorld(20 * time.Second)
	w.motion["azimuth"] = slide(from, to, 1, rate)
	end := time.Second + time.Duration(math.Abs(to-from)/rate*1e9)
	return w.edge(1010*ms, "azimuth.standstill", 0).edge(end, "azimuth.standstill", 1)
}

func TestRestInside_TheSoftwareLimit(t *testing.T) {
	q := verdict.Requirement{Measure: "rest_inside", Comparison: verdict.Inside,
		Limit: []string{"azimuth.software_limit.<end>"}}
	for _, c := range []struct {
		end  string
		to   float64
		want verdict.Verdict
	}{{"upper", 204.9, verdict.Pass}, {"upper", 205.1, verdict.Fail},
		{"lower", -204.9, verdict.Pass}, {"lower", -205.1, verdict.Fail}} {
		w := sliding(math.Copysign(200, c.to), c.to, 1)
		a := verdict.Ask{From: 500 * ms, Axis: "azimuth", End: c.end}
		is(t, c.end, ask(t, w, q, a), c.to*deg, c.want)
	}
	q.Limit[0] = "azimuth.software_limit.upper"
	still := newWorld(5 * time.Second)
	if o := ask(t, still, q, verdict.Ask{Axis: "azimuth", End: "upper"}); o.Verdict !=
		verdict.Inconclusive {
		t.Errorf("an axis that never moved: %v", o.Verdict)
	}
}

// The gear's backlash is 0.03 deg for each motor; twice that is no motion.
func TestStayed(t *testing.T) {
	q := verdict.Requirement{Measure: "stayed", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.lost_motion"}}
	a := verdict.Ask{From: 500 * ms, Axis: "azimuth"}
	is(t, "settles", ask(t, sliding(0, 0.05, 1), q, a), 0.05*deg, verdict.Pass)
	is(t, "moves up", ask(t, sliding(0, 0.07, 1), q, a), 0.07*deg, verdict.Fail)
	is(t, "moves down", ask(t, sliding(0, -3, 1), q, a), 3*deg, verdict.Fail)
	w := sliding(0, 3, 1).mark(time.Second, record.Command, "position", "azimuth")
	is(t, "moves when told to", ask(t, w, q, a), 0, verdict.Pass)
	a.Until = 1500 * ms
	is(t, "window given", ask(t, w, q, a), 0.5*deg, verdict.Fail)
}

func TestMoveTravel(t *testing.T) {
	q := verdict.Requirement{Measure: "move_travel", Comparison: verdict.AtMost,
		Limit: []string{"azimuth.pre_to_final"}}
	a := verdict.Ask{From: 500 * ms, Axis: "azimuth"}
	is(t, "stopped", ask(t, sliding(0, -0.4, 1), q, a), 0.4*deg, verdict.Pass)
	is(t, "goes on", ask(t, sliding(0, -9, 1), q, a), 9*deg, verdict.Fail)
}

func TestRecovery_InwardAndSlow(t *testing.T) {
	only := verdict.Requirement{Measure: "inward_only", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.lost_motion"}}
	rate := verdict.Requirement{Measure: "inward_rate", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.hand_rate"}}
	up := verdict.Ask{From: 500 * ms, Axis: "azimuth", End: "upper"}
	down := verdict.Ask{From: 500 * ms, Axis: "azimuth", End: "lower"}
	// under is a motion that has its torque until an instant.
	under := func(w *world, off time.Duration) *world {
		return w.edge(0, "azimuth.1.torque_on", 1).edge(off, "azimuth.1.torque_on", 0)
	}
	inward := under(sliding(206, 204, 0.2), 19*time.Second)
	outward := under(sliding(206, 207, 0.2), 19*time.Second)
	is(t, "inward", ask(t, inward, only, up), 0, verdict.Pass)
	is(t, "outward", ask(t, outward, only, up), 1*deg, verdict.Fail)
	is(t, "outward at the other end", ask(t, inward, only, down), 2*deg, verdict.Fail)
	is(t, "slow", ask(t, inward, rate, up), 0.2*deg, verdict.Pass)
	fast := func(off time.Duration) verdict.Outcome {
		return ask(t, under(sliding(206, 200, 0.6), off), rate, up)
	}
	is(t, "fast", fast(19*time.Second), 0.6*deg, verdict.Fail)
	// From 1.5 s on: too little to tell, or farther than a whole second's way already.
	short := func(rate float64) *world { return under(sliding(206, 196, rate), 2*time.Second) }
	if o := ask(t, short(0.4), rate, up); o.Verdict != verdict.Inconclusive {
		t.Errorf("half a second of motion under torque: %v", o.Verdict)
	}
	is(t, "too far", ask(t, short(2), rate, up), 0.98*deg, verdict.Fail)
	slowed := under(sliding(206, 204, 0.2), 3*time.Second)
	own := slowed.motion["azimuth"]
	slowed.motion["azimuth"] = func(s float64) (float64, float64) {
		if s < 3.1 {
			return own(s)
		}
		return 205.6 + 3*(s-3.1), 3 // blown back without torque
	}
	is(t, "blown", ask(t, slowed, rate, verdict.Ask{From: 500 * ms, Until: 5 * time.Second,
		Axis: "azimuth", End: "upper"}), 0.2*deg, verdict.Pass)
	if o := ask(t, outward, rate, up); o.Verdict != verdict.Inconclusive {
		t.Errorf("never moved inward: %v", o.Verdict)
	}
	peak := verdict.Requirement{Measure: "peak_rate", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.hand_rate"}}
	is(t, "peak", ask(t, sliding(206, 200, 0.6), peak, up), 0.6*deg, verdict.Fail)
}

func TestWatch_OutwardAtPreLimit(t *testing.T) {
	q := verdict.Requirement{Measure: "outward_at_pre_limit", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.lost_motion"}}
	at := func(second float64) *world {
		w := sliding(200, 208, 2) // rests at 5 s
		first := w.motion["azimuth"]
		again := slide(208, second, 8, 1)
		w.motion["azimuth"] = func(s float64) (float64, float64) {
			if s < 8 {
				return first(s)
			}
			return again(s)
		}
		return w.edge(4900*ms, "azimuth.pre_limit.upper", 1).
			edge(10*time.Second, "azimuth.pre_limit.upper", 0)
	}
	is(t, "stays", watch(t, at(208), q), 0, verdict.Pass)
	is(t, "goes on", watch(t, at(209), q), 1*deg, verdict.Fail)
	is(t, "goes back", watch(t, at(205), q), 0, verdict.Pass)
	if o := watch(t, sliding(0, 8, 2), q); o.Verdict != verdict.NotExercised {
		t.Errorf("no pre-limit: %v", o.Verdict)
	}
}

func TestWatch_Structure(t *testing.T) {
	q := verdict.Requirement{Measure: "structure", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.buffer_stroke"}}
	pressed := func(depth float64) *world { // touched at 205 deg, at 3.5 s
		return sliding(200, 205+depth, 2).edge(3500*ms, "azimuth.buffer.upper", 1)
	}
	is(t, "half the stroke", watch(t, pressed(0.45), q), 0.45*deg, verdict.Pass)
	is(t, "more than the stroke", watch(t, pressed(1.2), q), 1.2*deg, verdict.Fail)
	hit := pressed(0.45).edge(3600*ms, "azimuth.structure", 1)
	if o := watch(t, hit, q); o.Verdict != verdict.Fail {
		t.Errorf("the structure was hit: %v", o.Verdict)
	}
	final := newWorld(5*time.Second).edge(time.Second, "elevation.final_limit.lower", 1)
	is(t, "final limit only", watch(t, final, q), 0, verdict.Pass)
	if o := watch(t, newWorld(time.Second), q); o.Verdict != verdict.NotExercised {
		t.Errorf("nothing reached: %v", o.Verdict)
	}
}

// 2006/42/EC Annex I 1.2.4.3: a reset only permits a restart.
func TestWatch_NoMotionAfterReset(t *testing.T) {
	q := verdict.Requirement{Measure: "reset_motion", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.lost_motion"}}
	w := sliding(0, 5, 1).mark(500*ms, record.Command, "reset", "")
	is(t, "restarts", watch(t, w, q), 5*deg, verdict.Fail)
	w = sliding(0, 5, 1).mark(500*ms, record.Release, "emergency_stop", "")
	is(t, "restarts on release", watch(t, w, q), 5*deg, verdict.Fail)
	w.mark(700*ms, record.Command, "arm", "")
	is(t, "arming moves nothing", watch(t, w, q), 5*deg, verdict.Fail)
	w.mark(900*ms, record.Command, "rate", "azimuth")
	is(t, "fresh command", watch(t, w, q), 0, verdict.Pass)
	if o := watch(t, sliding(0, 5, 1), q); o.Verdict != verdict.NotExercised {
		t.Errorf("no reset: %v", o.Verdict)
	}
}

// What happens between samples counts, but only inside the window.
func TestStayed_SeesBetweenSamples(t *testing.T) {
	q := verdict.Requirement{Measure: "stayed", Comparison: verdict.AtMost,
		Limit: []string{"<axis>.lost_motion"}}
	w := newWorld(3 * time.Second)
	w.motion["azimuth"] = func(s float64) (float64, float64) {
		if s > 1.002 && s < 1.005 {
			return 1, 0
		}
		return 0, 0
	}
	a := verdict.Ask{From: 990 * ms, Until: 2 * time.Second, Axis: "azimuth"}
	is(t, "inside", ask(t, w, q, a), 1*deg, verdict.Fail)
	a.From = 1006 * ms
	is(t, "before", ask(t, w, q, a), 0, verdict.Pass)
}

// It is the rest that must lie inside, and it must stay there.
func TestRestInside_CountsFromTheRest(t *testing.T) {
	q := verdict.Requirement{Measure: "rest_inside", Comparison: verdict.Inside,
		Limit: []string{"azimuth.software_limit.<end>"}}
	a := verdict.Ask{From: 500 * ms, Axis: "azimuth", End: "upper"}
	swings := sliding(204, 204.9, 1)
	swings.motion["azimuth"] = func(s float64) (float64, float64) {
		if s < 1.9 {
			return 204 + 1.3*math.Max(0, s-1), 1
		}
		return 204.9, 0
	}
	is(t, "swings back", ask(t, swings, q, a), 204.9*deg, verdict.Pass)
	creeps := sliding(204, 204.9, 1)
	creeps.motion["azimuth"] = func(s float64) (float64, float64) {
		return 204.9 + 0.02*math.Max(0, math.Min(s, 17)-7), 0
	}
	is(t, "creeps on", ask(t, creeps, q, a), 205.1*deg, verdict.Fail)
}
