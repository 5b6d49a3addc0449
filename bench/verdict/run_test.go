package verdict_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

// outcome is one measured value against 0.5, judged without uncertainty.
func outcome(value float64) verdict.Outcome {
	o := verdict.Outcome{Requirement: "HR-001", Comparison: verdict.AtMost, Value: value,
		Limit: 0.5, Margin: 0.5 - value, Measured: true}
	if o.Margin < 0 {
		o.Verdict = verdict.Fail
	}
	return o
}

func phases(values ...float64) [][]verdict.Outcome {
	var all [][]verdict.Outcome
	for _, v := range values {
		all = append(all, []verdict.Outcome{outcome(v)})
	}
	return all
}

// Worst, mean, sample standard deviation and interval of 0.1 0.2 0.4 0.3, by
// hand: mean 0.25, squares 0.05, sigma sqrt(0.05/3); largest neighbour change 0.2.
func TestPhases_WorkedByHand(t *testing.T) {
	out := verdict.Phases(phases(0.1, 0.2, 0.4, 0.3))
	if len(out) != 1 || out[0].Spread == nil {
		t.Fatalf("outcomes: %+v", out)
	}
	s, sigma := out[0].Spread, math.Sqrt(0.05/3)
	want := verdict.Spread{Tried: 4, Worst: 2, Least: 0.1, Greatest: 0.4, Mean: 0.25,
		Sigma: sigma, MeanPlus3Sigma: 0.25 + 3*sigma, From: -0.1, Until: 0.6}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }
	if s.Tried != want.Tried || s.Worst != want.Worst || !near(s.Mean, want.Mean) ||
		!near(s.Sigma, want.Sigma) || !near(s.MeanPlus3Sigma, want.MeanPlus3Sigma) ||
		!near(s.From, want.From) || !near(s.Until, want.Until) || out[0].Value != 0.4 {
		t.Errorf("spread %+v of worst %v, want %+v", *s, out[0].Value, want)
	}
	if down := verdict.Phases(phases(0.3, 0.4, 0.2, 0.1))[0].Spread; !near(down.From, -0.1) ||
		!near(down.Until, 0.6) {
		t.Errorf("from %v until %v where the largest change is downward", down.From, down.Until)
	}
	if out := verdict.Phases(phases(0.1, 0.6, 0.2)); out[0].Verdict != verdict.Fail {
		t.Errorf("one failed phase: %v", out[0].Verdict)
	}
}

func TestPhases_AMissingPhaseIsNoPass(t *testing.T) {
	all := append(phases(0.1, 0.2), []verdict.Outcome{})
	if out := verdict.Phases(all); out[0].Verdict != verdict.Inconclusive {
		t.Errorf("a phase did not ask: %v", out[0].Verdict)
	}
}

// A watch that had its occasion in one phase only was exercised.
func TestPhases_WatchesNeedOneOccasion(t *testing.T) {
	idle := verdict.Outcome{Requirement: "HR-010", Watch: true, Verdict: verdict.NotExercised}
	busy := outcome(0.2)
	busy.Requirement, busy.Watch, busy.Occasions = "HR-010", true, 3
	out := verdict.Phases([][]verdict.Outcome{{idle}, {busy}, {idle}})
	if out[0].Verdict != verdict.Pass || out[0].Occasions != 3 || out[0].Spread.Worst != 1 {
		t.Errorf("%v with %d occasions, phase %d", out[0].Verdict, out[0].Occasions,
			out[0].Spread.Worst)
	}
	if out := verdict.Phases([][]verdict.Outcome{{idle}, {idle}}); out[0].Verdict !=
		verdict.NotExercised {
		t.Errorf("no occasion anywhere: %v", out[0].Verdict)
	}
}

// U = 2 sqrt(timing^2 + model^2): a difference of 0.06 takes 0.12 off a margin.
func TestWithModel(t *testing.T) {
	for _, c := range []struct {
		value, double float64
		want          verdict.Verdict
	}{{0.37, 0.43, verdict.Pass}, {0.39, 0.33, verdict.Inconclusive},
		{0.61, 0.55, verdict.Inconclusive}, {0.63, 0.57, verdict.Fail}} {
		got := verdict.WithModel([]verdict.Outcome{outcome(c.value)}, []verdict.Outcome{outcome(c.value)},
			[]verdict.Outcome{outcome(c.double)})[0]
		if got.Verdict != c.want || math.Abs(got.Uncertainty.Model-0.06) > 1e-12 {
			t.Errorf("%v and %v: %v, model %v", c.value, c.double, got.Verdict,
				got.Uncertainty.Model)
		}
	}
	lone := verdict.WithModel([]verdict.Outcome{outcome(0.1)}, []verdict.Outcome{outcome(0.1)}, nil)[0]
	if lone.Verdict != verdict.Inconclusive {
		t.Errorf("no run at double the step: %v", lone.Verdict)
	}
}

// A watch whose occasion does not come about at double the step measured all of its
// value by the grace of the step: 0.16 leaves 0.34 in hand and an uncertainty of 0.32.
func TestWithModel_WatchWithoutOccasion(t *testing.T) {
	idle := verdict.Outcome{Requirement: "HR-010", Watch: true, Verdict: verdict.NotExercised}
	for value, want := range map[float64]verdict.Verdict{0.16: verdict.Pass,
		0.18: verdict.Inconclusive} {
		o := outcome(value)
		o.Requirement, o.Watch, o.Comparison = "HR-010", true, verdict.AtMost
		one := []verdict.Outcome{o}
		got := verdict.WithModel(one, one, []verdict.Outcome{idle})[0]
		if got.Verdict != want || got.Uncertainty.Model != value {
			t.Errorf("%v: %v, model %v", value, got.Verdict, got.Uncertainty.Model)
		}
	}
}

// The wall clock's stop lies in the phase interval widened by both uncertainties.
func TestAgrees(t *testing.T) {
	virtual := verdict.Phases(phases(0.1, 0.2, 0.3))[0] // interval 0.0 to 0.4
	virtual.Uncertainty.Timing = 0.01                   // U 0.02
	for value, want := range map[float64]bool{0.25: true, 0.459: true, 0.461: false, -0.061: false} {
		wall := outcome(value)
		wall.Uncertainty.Timing = 0.02 // U 0.04
		if got := verdict.Agrees(wall, virtual); got != want {
			t.Errorf("%v: agrees %v, want %v", value, got, want)
		}
	}
}

func requirement(id string, watch bool) verdict.Requirement {
	return verdict.Requirement{ID: id, Watch: watch}
}

func TestStand_NotExercisedIsNoPass(t *testing.T) {
	all := []verdict.Requirement{requirement("HR-001", false), requirement("HR-002", false),
		requirement("HR-010", true)}
	good, bad := outcome(0.1), outcome(0.6)
	idle := verdict.Outcome{Requirement: "HR-010", Watch: true, Verdict: verdict.NotExercised}
	st := verdict.Stand(all, []verdict.Outcome{good, idle}, nil)
	if st[0].Verdict != verdict.Pass || st[1].Verdict != verdict.NotExercised ||
		st[2].Verdict != verdict.NotExercised || verdict.Exit(st) != verdict.ExitInconclusive {
		t.Errorf("whole run: %+v, exit %d", st, verdict.Exit(st))
	}
	first := func(id string) bool { return id == "HR-001" }
	st = verdict.Stand(all, []verdict.Outcome{good, idle}, first)
	if st[1].Verdict != verdict.NotSelected || verdict.Exit(st) != verdict.ExitPass {
		t.Errorf("partial run: %+v, exit %d", st, verdict.Exit(st))
	}
	broken := bad
	broken.Requirement, broken.Watch, broken.Occasions = "HR-010", true, 1
	st = verdict.Stand(all, []verdict.Outcome{good, broken}, first)
	if st[2].Verdict != verdict.Fail || verdict.Exit(st) != verdict.ExitFail {
		t.Errorf("a watch with occasions enters a partial run: %+v", st[2])
	}
	st = verdict.Stand(all, []verdict.Outcome{good, bad, good}, nil)
	if st[0].Verdict != verdict.Fail || st[0].Worst.Value != 0.6 || st[0].Outcomes != 3 {
		t.Errorf("worst of three: %+v", st[0])
	}
}

func TestWaive(t *testing.T) {
	all := []verdict.Requirement{requirement("HR-001", false), requirement("HR-002", false)}
	st := verdict.Stand(all, []verdict.Outcome{outcome(0.6)}, nil)
	w := verdict.Waiver{Requirement: "HR-002", Reason: "no hatch here", Expires: "2027-03-31"}
	waived, unused := verdict.Waive(st, []verdict.Waiver{w}, "2027-03-31")
	if waived[1].Waived == nil || len(unused) != 0 || st[1].Waived != nil {
		t.Errorf("on its last day: %+v, %v", waived[1], unused)
	}
	if verdict.Exit(waived) != verdict.ExitFail || verdict.Exit(waived[1:]) != verdict.ExitPass {
		t.Error("a waiver reaches farther, or not as far, as its requirement")
	}
	refused := map[string]verdict.Waiver{"2027-04-01": w, "2027-01-01": {Requirement: "HR-001",
		Reason: "it fails", Expires: "2027-03-31"}, "2027-01-02": {Requirement: "HR-002",
		Reason: " ", Expires: "2027-03-31"}, "2027-01-03": {Requirement: "HR-002",
		Reason: "why", Expires: "soon"}}
	for date, w := range refused {
		if got, unused := verdict.Waive(st, []verdict.Waiver{w}, date); len(unused) != 1 ||
			got[0].Waived != nil || got[1].Waived != nil {
			t.Errorf("%+v on %s was applied: %v", w, date, unused)
		}
	}
}

func TestCheck_FindsWhatIsWrong(t *testing.T) {
	good := verdict.Requirement{ID: "HR-001", Statement: "It shall stop.", Clause: "common practice",
		Hazard: "HZ-01", Kind: verdict.Reaction, Answers: verdict.Controller,
		Measure: "stop_time", Causes: []string{"final_limit"}, Comparison: verdict.AtMost}
	table := verdict.Causes{{Name: "final_limit"}, {Name: "following_error",
		Category: verdict.NoStop}}
	if flaws := verdict.Check([]verdict.Requirement{good}, table); len(flaws) != 0 {
		t.Errorf("a good one: %v", flaws)
	}
	for text, spoil := range map[string]func(*verdict.Requirement){
		"requirement id":         func(q *verdict.Requirement) { q.ID = "HR-1" },
		"hazard":                 func(q *verdict.Requirement) { q.Hazard = "HZ-1x" },
		"no statement":           func(q *verdict.Requirement) { q.Statement = "" },
		"nowhere what shall be":  func(q *verdict.Requirement) { q.Statement = "It stops." },
		"and the requirement no": func(q *verdict.Requirement) { q.Statement += " in {limit}" },
		"does not tell":          func(q *verdict.Requirement) { q.Limit = []string{"stop.report"} },
		"no clause":              func(q *verdict.Requirement) { q.Clause = "" },
		"kind":                   func(q *verdict.Requirement) { q.Kind = "wish" },
		"who answers":            func(q *verdict.Requirement) { q.Answers = "nobody" },
		"measure":                func(q *verdict.Requirement) { q.Measure = "luck" },
		"cannot watch":           func(q *verdict.Requirement) { q.Watch = true },
		"only watches":           func(q *verdict.Requirement) { q.Measure = "structure" },
		"comparison":             func(q *verdict.Requirement) { q.Comparison = "<" },
		`cause "following_error"`: func(q *verdict.Requirement) {
			q.Causes = []string{"following_error"}
		},
		"unknown cause \"rain\"": func(q *verdict.Requirement) { q.Causes = []string{"rain"} },
	} {
		q := good
		spoil(&q)
		flaws := verdict.Check([]verdict.Requirement{q}, table)
		if len(flaws) != 1 || !strings.Contains(flaws[0].Text, text) {
			t.Errorf("%s: %v", text, flaws)
		}
	}
	if flaws := verdict.Check([]verdict.Requirement{good, good}, table); len(flaws) != 1 ||
		flaws[0].Index != 1 {
		t.Errorf("twice: %v", flaws)
	}
}

func TestFind(t *testing.T) {
	all := []verdict.Requirement{
		{ID: "HR-001", Measure: "stop_time", Causes: []string{"emergency_stop"}},
		{ID: "HR-002", Measure: "stop_time", Causes: []string{"encoder_lost", "emergency_stop"}},
		{ID: "HR-003", Measure: "stayed"},
	}
	r := rules(all...)
	for _, c := range []struct{ measure, cause, want string }{
		{"stop_time", "emergency_stop", "HR-001"}, {"stop_time", "encoder_lost", "HR-002"},
		{"stayed", "", "HR-003"}, {"stop_time", "", ""}, {"stayed", "final_limit", ""},
	} {
		if q, ok := r.Find(c.measure, c.cause); q.ID != c.want || ok != (c.want != "") {
			t.Errorf("%s about %q: %q, %v", c.measure, c.cause, q.ID, ok)
		}
	}
	if q, ok := r.Requirement("HR-002"); !ok || q.ID != "HR-002" {
		t.Errorf("by id: %+v, %v", q, ok)
	}
}

// Judging is a pure function: a record read back gives the same outcomes.
func TestJudge_TheSameFromTheRawForm(t *testing.T) {
	w := finalLimit(20*ms, 90*ms)
	q := verdict.Requirement{ID: "HR-007", Measure: "overtravel", Item: "final_limit",
		Comparison: verdict.AtMost, Limit: []string{"azimuth.final_to_buffer"}}
	asks := []verdict.Ask{{From: time.Second, Axis: "azimuth", End: "upper",
		Requirement: "HR-007"}}
	live := w.record()
	live.Asks = []record.Ask{record.Ask(asks[0])}
	var raw strings.Builder
	if _, err := live.WriteTo(&raw); err != nil {
		t.Fatal(err)
	}
	back, err := record.Read(strings.NewReader(raw.String()))
	if err != nil {
		t.Fatal(err)
	}
	a := verdict.Judge(live, asks, rules(q))[0]
	b := verdict.Judge(back, []verdict.Ask{verdict.Ask(back.Asks[0])}, rules(q))[0]
	if a != b || !a.Measured {
		t.Errorf("live %+v\nread %+v", a, b)
	}
}

// A limit of 1 that every one of three phases misses is a fail, however much the plant's step
// moves the value; where one phase kept it, or only two were tried, that stays open.
func TestWithModel_AMissOfEveryPhaseIsAFail(t *testing.T) {
	outcome := func(value float64) verdict.Outcome {
		o := verdict.Outcome{Requirement: "HR-020", Comparison: verdict.AtMost, Value: value, Limit: 1,
			Margin: 1 - value, Measured: true}
		o.Verdict = verdict.Accept(o.Margin, 0)
		return o
	}
	for want, values := range map[verdict.Verdict][]float64{
		verdict.Fail: {1.5, 1.2, 1.4}, verdict.Inconclusive: {1.5, 0.9, 1.4},
	} {
		var phases [][]verdict.Outcome
		for _, v := range values {
			phases = append(phases, []verdict.Outcome{outcome(v)})
		}
		got := verdict.WithModel(verdict.Phases(phases), []verdict.Outcome{outcome(1.5)},
			[]verdict.Outcome{outcome(2.5)})
		if got[0].Verdict != want || got[0].Uncertainty.Model != 1 {
			t.Errorf("%v: %v, %+v; want %v", values, got[0].Verdict, got[0].Uncertainty, want)
		}
	}
	two := verdict.Phases([][]verdict.Outcome{{outcome(1.5)}, {outcome(1.2)}})
	got := verdict.WithModel(two, []verdict.Outcome{outcome(1.5)}, []verdict.Outcome{outcome(2.5)})
	if got[0].Verdict != verdict.Inconclusive {
		t.Errorf("two phases: %v", got[0].Verdict)
	}
}
