package verdict_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

// stopping is azimuth stopped from v deg/s by an emergency stop at 1 s.
func stopping(v, reaction, ramp float64) *world {
	w := newWorld(20 * time.Second)
	w.motion["azimuth"] = ideal(v, 1, reaction, ramp)
	stand := time.Duration(math.Round((1 + reaction + v/ramp) * 1e9))
	w.edge(100*ms, "azimuth.standstill", 0).edge(stand, "azimuth.standstill", 1)
	for _, m := range []string{"azimuth.1", "azimuth.2"} {
		w.edge(50*ms, m+".torque_on", 1).edge(80*ms, m+".brake_set", 0)
		w.edge(stand+300*ms, m+".brake_set", 1).edge(stand+310*ms, m+".torque_on", 0)
	}
	return w.mark(time.Second, record.Cause, "emergency_stop", "")
}

// testdata/SOURCES.md, "Stopping kinematics": d = v t_r + v^2/(2a), t = t_r + v/a, all
// rows without jerk. The bench agrees within v times the sample time and one step.
func TestStop_AgainstStoppingKinematics(t *testing.T) {
	rows := []struct{ v, reaction, ramp, d, seconds float64 }{
		{0.5, 0.10, 0.5, 0.300, 1.10}, {1.0, 0.20, 0.5, 1.200, 2.20},
		{2.0, 0.15, 1.0, 2.300, 2.15}, {0.3, 0.25, 0.2, 0.300, 1.75},
		{1.0, 0.05, 2.0, 0.300, 0.55}, {1.0, 0.02, 0.1, 5.020, 10.02},
		{0.5, 0.02, 0.1, 1.260, 5.02},
	}
	q := verdict.Requirement{Comparison: verdict.AtMost}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "emergency_stop"}
	for _, r := range rows {
		w := stopping(r.v, r.reaction, r.ramp)
		q.Measure, q.Limit = "stop_travel", []string{"azimuth.pre_to_final"}
		got := ask(t, w, q, a)
		if d := math.Abs(got.Value/deg - r.d); !got.Measured || d > r.v*0.01+1e-6 {
			t.Errorf("%+v: travel %.4f deg (%s)", r, got.Value/deg, got.Reason)
		}
		if want := verdict.StampUncertainty(250e-6) * r.v * deg; math.Abs(
			got.Uncertainty.Timing-want) > 1e-12 {
			t.Errorf("%+v: timing uncertainty %v, want rate times that of the stamps, %v",
				r, got.Uncertainty.Timing, want)
		}
		q.Measure, q.Limit = "stop_time", []string{"interlock.ss1_time"}
		got = ask(t, w, q, a)
		if math.Abs(got.Value-r.seconds) > 0.25e-3 {
			t.Errorf("%+v: time %.4f s (%s)", r, got.Value, got.Reason)
		}
	}
}

// The limits of the demo station on one stop from 2.4 deg/s: 2.2 deg/s^2 after
// 60 ms is 1.1509 s; one whose ramp is 1 deg/s^2 takes 2.46 s and fails 1.9 s.
func TestStopTime_HoldsAgainstTheRampTime(t *testing.T) {
	q := verdict.Requirement{Measure: "stop_time", Comparison: verdict.AtMost,
		Limit: []string{"interlock.ss1_time"}}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "emergency_stop"}
	good := ask(t, stopping(2.4, 0.06, 2.2), q, a)
	if good.Verdict != verdict.Pass || math.Abs(good.Margin-(1.9-0.06-2.4/2.2)) > 1e-6 {
		t.Errorf("honest ramp: %v, margin %v", good.Verdict, good.Margin)
	}
	if p := good.Parts; p == nil || p.BrakeSet < p.Standstill || p.TorqueOff < p.BrakeSet ||
		p.Slowing < 60*ms || p.Slowing > 110*ms {
		t.Errorf("parts of the stop: %+v", good.Parts)
	}
	is(t, "slow ramp", ask(t, stopping(2.4, 0.06, 1), q, a), 2.46, verdict.Fail)
	a.Tightened, a.Limit = true, 1.0
	if o := ask(t, stopping(2.4, 0.06, 2.2), q, a); o.Verdict != verdict.Fail || o.Limit != 1.0 {
		t.Errorf("a sentence may tighten: %v at limit %v", o.Verdict, o.Limit)
	}
	a.Limit = 3
	if o := ask(t, stopping(2.4, 0.06, 2.2), q, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("a sentence may not loosen: %v", o.Verdict)
	}
}

// A stop of 1 s from 2 deg/s that begins 0.6 s after its cause: ripple of 3 % before it is no
// slowing, the load swings for 0.4 s more, and one of two brakes never comes.
func TestParts_OfAStopWithRippleAndSwing(t *testing.T) {
	w := newWorld(6 * time.Second)
	w.motion["azimuth"] = func(s float64) (float64, float64) {
		switch s -= 1; {
		case s < 0.6:
			return 2 * s, 2 * (1 + 0.015*math.Sin(40*s) - 0.015)
		case s < 1.6:
			return 2 * s, 2 * (1.6 - s)
		case s < 2:
			return 3, 0.2 * math.Cos(15*(s-1.6))
		}
		return 3, 0
	}
	w.edge(100*ms, "azimuth.standstill", 0).edge(2600*ms, "azimuth.standstill", 1)
	for _, m := range []string{"azimuth.1", "azimuth.2"} {
		w.edge(100*ms, m+".torque_on", 1).edge(100*ms, m+".brake_set", 0)
	}
	w.edge(2700*ms, "azimuth.1.brake_set", 1).edge(2800*ms, "azimuth.1.torque_on", 0).
		edge(2900*ms, "azimuth.2.torque_on", 0)
	q := verdict.Requirement{Measure: "stop_time", Comparison: verdict.AtMost,
		Limit: []string{"interlock.ss1_time"}}
	p := ask(t, w, q, verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "emergency_stop"}).Parts
	if p == nil || p.Slowing < 600*ms || p.Slowing > 640*ms || p.Standstill != 1600*ms ||
		p.LoadRest < 1950*ms || p.LoadRest > 2010*ms || p.BrakeSet != verdict.NotSeen ||
		p.TorqueOff != 1900*ms {
		t.Errorf("%+v", p)
	}
}

// What never ends fails once it is beyond the limit, and is inconclusive when the
// record ends before that.
func TestStopTime_OfAnAxisThatNeverRests(t *testing.T) {
	q := verdict.Requirement{Measure: "stop_time", Comparison: verdict.AtMost,
		Limit: []string{"interlock.ss1_time"}}
	for _, c := range []struct {
		length time.Duration
		want   verdict.Verdict
	}{{2 * time.Second, verdict.Inconclusive}, {5 * time.Second, verdict.Fail}} {
		w := newWorld(c.length)
		w.motion["azimuth"] = func(s float64) (float64, float64) { return 2 * s, 2 }
		w.edge(100*ms, "azimuth.standstill", 0)
		o := ask(t, w, q, verdict.Ask{From: time.Second, Axis: "azimuth"})
		if o.Verdict != c.want {
			t.Errorf("record of %v: %v (%s), want %v", c.length, o.Verdict, o.Reason, c.want)
		}
	}
}

// The supervision time of a cause comes first (of the demo station 100 ms of silence;
// disagreement time and 40 ms), and the value counts from its end.
func TestStopTime_CountsFromTheSupervisionTime(t *testing.T) {
	q := verdict.Requirement{Measure: "stop_time", Comparison: verdict.AtMost,
		Limit: []string{"interlock.ss1_time"}}
	for cause, supervision := range map[string]float64{"emergency_stop": 0, "encoder_lost": 0.1,
		"drive_silent": 0.1, "interlock_silent": 0.1, "encoder_implausible": 0.24,
		"controller_silent": 0.2} {
		a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: cause}
		is(t, cause, ask(t, stopping(2, 0.1, 2), q, a), 1.1-supervision, verdict.Pass)
	}
}

func TestMissingAndNotANumber_AreInconclusiveByName(t *testing.T) {
	q := verdict.Requirement{ID: "HR-999", Measure: "stop_travel", Comparison: verdict.AtMost,
		Limit: []string{"azimuth.pre_to_final"}}
	asks := []verdict.Ask{{From: time.Second, Axis: "azimuth", Requirement: "HR-999"}}
	all := []verdict.Requirement{q}
	rec := stopping(2, 0.1, 2).record()
	rec.Values(0)[120] = math.NaN()
	expect := func(what string, o verdict.Outcome, text string) {
		t.Helper()
		if o.Verdict != verdict.Inconclusive || !strings.Contains(o.Reason, text) {
			t.Errorf("%s: %v, %q; want inconclusive, naming %q", what, o.Verdict, o.Reason, text)
		}
	}
	expect("NaN", verdict.Judge(rec, asks, rules(all...))[0], "azimuth.position")
	w := stopping(2, 0.1, 2)
	rec = w.record()
	rec.Channels[1].Name = "something else"
	expect("no rate", verdict.Judge(rec, asks, rules(all...))[0], "azimuth.rate")
	asks[0].Axis = "elevation"
	expect("at rest", verdict.Judge(w.record(), asks, rules(all...))[0], "elevation was at rest")
	all[0].Limit = []string{"<axis>.nothing"}
	expect("no parameter", verdict.Judge(w.record(), asks, rules(all...))[0], "elevation.nothing")
	asks[0].Requirement = "HR-998"
	expect("no requirement", verdict.Judge(w.record(), asks, rules(all...))[0], "HR-998")
}

// brakes and torque after a final limit at 1 s: torque off at +20 ms, brakes set
// at +90 ms and +95 ms. The demo station allows 30 ms, and 20 + 70 + 20 ms.
func finalLimit(torqueOff, brakeSet time.Duration) *world {
	w := newWorld(5 * time.Second)
	w.motion["azimuth"] = ideal(2.4, 1, 0.09, 60)
	w.edge(100*ms, "azimuth.standstill", 0).edge(1130*ms, "azimuth.standstill", 1)
	for i, m := range []string{"azimuth.1", "azimuth.2"} {
		w.edge(50*ms, m+".torque_on", 1).edge(80*ms, m+".brake_set", 0)
		w.edge(time.Second+torqueOff, m+".torque_on", 0)
		w.edge(time.Second+brakeSet+time.Duration(5*i)*ms, m+".brake_set", 1)
	}
	w.edge(time.Second, "azimuth.final_limit.upper", 1)
	return w.mark(time.Second, record.Cause, "final_limit", "azimuth")
}

func TestFinalLimit_TorqueBrakesAndOvertravel(t *testing.T) {
	a := verdict.Ask{From: time.Second, Axis: "azimuth", End: "upper", Cause: "final_limit"}
	torque := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"final_limit"}, Limit: []string{"stop.final_limit_torque_off"}}
	brakes := verdict.Requirement{Measure: "brake_time", Comparison: verdict.AtMost,
		Limit: []string{"brake.time"}}
	past := verdict.Requirement{Measure: "overtravel", Item: "final_limit",
		Comparison: verdict.AtMost, Limit: []string{"azimuth.final_to_buffer"}}
	good, bad := finalLimit(20*ms, 90*ms), finalLimit(40*ms, 190*ms)
	is(t, "torque", ask(t, good, torque, a), 0.020, verdict.Pass)
	is(t, "late torque", ask(t, bad, torque, a), 0.040, verdict.Fail)
	is(t, "torque, watched", watch(t, good, torque), 0.020, verdict.Pass)
	is(t, "late torque, watched", watch(t, bad, torque), 0.040, verdict.Fail)
	is(t, "brakes", ask(t, good, brakes, a), 0.095, verdict.Pass)
	is(t, "late brakes", ask(t, bad, brakes, a), 0.195, verdict.Fail)
	// 2.4 deg/s for 90 ms and a ramp of 60 deg/s^2: 0.216 + 0.048 deg.
	is(t, "overtravel", ask(t, good, past, a), 0.264*deg, verdict.Pass)
	past.Item = "pre_limit"
	if o := ask(t, good, past, a); o.Verdict != verdict.Inconclusive {
		t.Errorf("a pre-limit that never came: %v", o.Verdict)
	}
}

// The last brake counts, whichever it is.
func TestBrakeTime_OfEitherMotor(t *testing.T) {
	q := verdict.Requirement{Measure: "brake_time", Comparison: verdict.AtMost,
		Limit: []string{"brake.time"}}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "final_limit"}
	for late, other := range map[string]string{"azimuth.1": "azimuth.2", "azimuth.2": "azimuth.1"} {
		w := newWorld(3*time.Second).edge(80*ms, late+".brake_set", 0).
			edge(80*ms, other+".brake_set", 0).edge(1090*ms, other+".brake_set", 1).
			edge(1195*ms, late+".brake_set", 1)
		is(t, late, ask(t, w, q, a), 0.195, verdict.Fail)
	}
}

// Torque that comes back without a fresh command is torque that was not gone.
func TestTorqueGone_MustStayGone(t *testing.T) {
	torque := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"final_limit"}, Limit: []string{"stop.final_limit_torque_off"}}
	w := finalLimit(20*ms, 90*ms)
	w.edge(3*time.Second, "azimuth.2.torque_on", 1).edge(3500*ms, "azimuth.2.torque_on", 0)
	is(t, "back", watch(t, w, torque), 2.5, verdict.Fail)
	w.mark(2*time.Second, record.Command, "hand", "azimuth")
	is(t, "back on a fresh command", watch(t, w, torque), 0.020, verdict.Pass)
	w = finalLimit(20*ms, 90*ms)
	w.marks = nil
	if o := watch(t, w, torque); o.Verdict != verdict.NotExercised {
		t.Errorf("no cause: %v, want not exercised", o.Verdict)
	}
}

// Torque that was not there is not removed in time.
func TestTorqueGone_OfWhatHadNone(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"final_limit"}, Limit: []string{"stop.final_limit_torque_off"}}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "final_limit"}
	w := newWorld(3*time.Second).mark(time.Second, record.Cause, "final_limit", "azimuth")
	if o := ask(t, w, q, a); o.Verdict != verdict.Inconclusive || o.From != time.Second ||
		!strings.Contains(o.Reason, "nothing had torque") {
		t.Errorf("%v from %v, %q", o.Verdict, o.From, o.Reason)
	}
	w.edge(50*ms, "azimuth.1.torque_on", 1).edge(1020*ms, "azimuth.1.torque_on", 0)
	is(t, "with torque", ask(t, w, q, a), 0.020, verdict.Pass)
}

// The torque of the tripped motor itself is another requirement's.
func TestPartnerOff_NotTheTrippedOne(t *testing.T) {
	q := verdict.Requirement{Measure: "partner_off", Comparison: verdict.AtMost,
		Causes: []string{"drive_trip"}, Limit: []string{"controller.partner_off"}}
	w := newWorld(3*time.Second).edge(50*ms, "azimuth.1.torque_on", 1).
		edge(50*ms, "azimuth.2.torque_on", 1).edge(1045*ms, "azimuth.1.torque_on", 0).
		edge(1500*ms, "azimuth.2.torque_on", 0)
	w.marks = []record.Mark{{At: time.Second, Kind: record.Cause, Name: "drive_trip",
		Axis: "azimuth", Text: "azimuth.2"}}
	is(t, "the partner in time", watch(t, w, q), 0.045, verdict.Pass)
}

func TestPartnerOff(t *testing.T) {
	q := verdict.Requirement{Measure: "partner_off", Comparison: verdict.AtMost,
		Causes: []string{"drive_trip"}, Limit: []string{"controller.partner_off"}}
	for _, c := range []struct {
		off  time.Duration
		want verdict.Verdict
	}{{45 * ms, verdict.Pass}, {61 * ms, verdict.Fail}} {
		w := newWorld(3 * time.Second)
		w.edge(50*ms, "azimuth.1.torque_on", 1).edge(50*ms, "azimuth.2.torque_on", 1)
		w.edge(time.Second, "azimuth.2.torque_on", 0)
		w.edge(time.Second+c.off, "azimuth.1.torque_on", 0)
		w.marks = []record.Mark{{At: time.Second, Kind: record.Cause, Name: "drive_trip",
			Axis: "azimuth", Text: "azimuth.2"}}
		is(t, fmt.Sprint(c.off), watch(t, w, q), c.off.Seconds(), c.want)
		a := verdict.Ask{From: time.Second, Axis: "azimuth", Item: "azimuth.2", Cause: "drive_trip"}
		is(t, fmt.Sprint(c.off), ask(t, w, q, a), c.off.Seconds(), c.want)
	}
}

func TestBrakeTime_OfCategory1CountsFromStandstill(t *testing.T) {
	q := verdict.Requirement{Measure: "brake_time", Comparison: verdict.AtMost,
		Limit: []string{"standstill.hold", "brake.time"}}
	a := verdict.Ask{From: time.Second, Axis: "azimuth", Cause: "emergency_stop"}
	is(t, "from standstill", ask(t, stopping(2, 0.1, 2), q, a), 0.3, verdict.Pass)
	// A ramp of 0.5 deg/s^2 stands at 5.1 s; SS1 ends at 2.9 s.
	is(t, "from the end of SS1", ask(t, stopping(2, 0.1, 0.5), q, a), 2.5, verdict.Fail)
}

// A command that comes before the time is up does not end the watch over torque.
func TestTorqueGone_IsNotEndedByAnEarlyCommand(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"emergency_stop"}, Limit: []string{"stop.category1_torque_off"}}
	w := newWorld(9*time.Second).edge(50*ms, "azimuth.1.torque_on", 1).
		edge(4*time.Second, "azimuth.1.torque_on", 0).
		mark(time.Second, record.Cause, "emergency_stop", "").
		mark(1200*ms, record.Command, "rate", "azimuth")
	is(t, "torque for 3 s", watch(t, w, q), 3, verdict.Fail)
}

// The unit that fell silent opens its own chain: 200 ms, then SS1 and 50 ms.
func TestTorqueGone_AfterASilentInterlockUnit(t *testing.T) {
	q := verdict.Requirement{Measure: "torque_gone", Comparison: verdict.AtMost,
		Causes: []string{"interlock_silent"}, Limit: []string{"stop.category1_torque_off"},
		Supervision: []string{"interlock.watchdog"}}
	for off, want := range map[time.Duration]verdict.Verdict{3140 * ms: verdict.Pass,
		3160 * ms: verdict.Fail} {
		w := newWorld(9*time.Second).edge(50*ms, "azimuth.1.torque_on", 1).
			edge(off, "azimuth.1.torque_on", 0).
			mark(time.Second, record.Cause, "interlock_silent", "")
		is(t, off.String(), watch(t, w, q), off.Seconds()-1.2, want)
	}
}
