package scenario

import (
	"errors"
	"strings"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
	"haltmark/emulators/interlock"
)

// demoRun is a run of the demo station under the stand-in, on the virtual clock.
func demoRun(t *testing.T) Run {
	t.Helper()
	st, err := config.LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	return runOf(t, st)
}

func runOf(t *testing.T, st *config.Station) Run {
	t.Helper()
	required, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := config.LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	set, devices := st.Standin(&sheet.Profile)
	parameters := st.Station()
	return Run{
		Station: &parameters, Rules: required.For(st), Profile: sheet.Profile,
		Cycle: set.Timing.Cycle, Step: 250 * time.Microsecond,
		World: func(s seed.Seed) (clock.Clock, link.Network) {
			c := clock.NewVirtual()
			t.Cleanup(c.Close)
			return c, link.NewMemory(c)
		},
		Control: func(c clock.Clock, n link.Network, _ []station.Seat) controller.Controller {
			own := set
			own.Kept = &standin.Kept{}
			return &controller.Embedded{Launch: func() (func(), error) {
				k, err := standin.Start(c, n, own, devices)
				if err != nil {
					return nil, err
				}
				return k.Stop, nil
			}}
		},
	}
}

// marks lists the record's marks of a kind as "name axis".
func marks(r *record.Record, kind string) []string {
	var names []string
	for _, m := range r.Marks {
		if m.Kind == kind {
			names = append(names, strings.TrimSpace(m.Name+" "+m.Axis))
		}
	}
	return names
}

func TestRun_SaysWhatItDid(t *testing.T) {
	e := sentencesOf(t, "a.feature", []byte(good))[0]
	result := demoRun(t).Do(&e)
	if result.Err != nil || result.Record == nil {
		t.Fatalf("%v", result.Err)
	}
	for i, s := range result.Steps {
		if !s.Done || s.Err != nil || s.Sentence.Text != e.Steps[i].Text {
			t.Errorf("%q: done %v, %v", s.Sentence.Text, s.Done, s.Err)
		}
	}
	if got := marks(result.Record, record.Cause); len(got) != 1 || got[0] != "emergency_stop" {
		t.Errorf("causes %q", got)
	}
	// The cause is of no axis, so is what the supervisory system is told.
	if got := marks(result.Record, record.Report); len(got) != 1 || got[0] != "emergency_stop" {
		t.Errorf("reports %q", got)
	}
	asks := result.Record.Asks
	if len(asks) != 1 || asks[0].Requirement != "HR-020" || asks[0].Axis != "azimuth" ||
		asks[0].Cause != "emergency_stop" || asks[0].From == 0 || asks[0].From >= asks[0].At {
		t.Errorf("asks %+v", asks)
	}
}

// The trials use what no shipped scenario does.
func TestRun_Trials(t *testing.T) {
	for _, e := range sentencesOf(t, "trials.feature", []byte(trials)) {
		result := demoRun(t).Do(&e)
		if result.Err != nil {
			t.Fatal(result.Err)
		}
		names := marks(result.Record, record.Fault)
		if got := strings.Join(names, ","); got != "external_torque azimuth,brake_worn azimuth.1" {
			t.Errorf("faults %q", got)
		}
		if got := marks(result.Record, record.Command); got[len(got)-1] != "reset" {
			t.Errorf("commands %q", got)
		}
	}
}

// A phase strikes at its share of the control cycle; whole cycles come and go with
// what the controller takes up a cycle later.
func TestRun_PhaseShiftsTheCause(t *testing.T) {
	e := sentencesOf(t, "a.feature", []byte(good))[0]
	at := func(phase float64) time.Duration {
		r := demoRun(t)
		r.Phase = phase
		for _, m := range r.Do(&e).Record.Marks {
			if m.Kind == record.Cause {
				return m.At
			}
		}
		t.Fatal("no cause")
		return 0
	}
	const cycle = 20 * time.Millisecond
	first := at(0)
	for _, phase := range []float64{0.25, 0.5, 0.75} {
		want := time.Duration(phase * float64(cycle))
		if late := at(phase) - first; (late-want)%cycle != 0 || late < 0 || late > 4*cycle {
			t.Errorf("phase %g is later by %v, want %v and whole cycles", phase, late, want)
		}
	}
}

// What the sentences say and the world does not do is told with its place, and
// leaves a record.
func TestRun_NotReached(t *testing.T) {
	text := strings.Replace(good, "in mid-travel", "300 deg inside its upper software limit", 1)
	text = strings.Replace(text, "azimuth rests", "elevation rests", 1)
	e := sentencesOf(t, "a.feature", []byte(text))[0]
	result := demoRun(t).Do(&e)
	var at *Error
	if !errors.As(result.Err, &at) || at.Line != 5 ||
		!strings.Contains(at.What, "outside its travel") {
		t.Errorf("%v", result.Err)
	}
	if result.Steps[0].Done || result.Steps[1].Done || result.Record != nil {
		t.Errorf("%+v", result.Steps)
	}
}

// A panic inside a sentence is the bench's own failure, not the scenario's.
func TestRun_PanicIsTheBenchsFailure(t *testing.T) {
	e := sentencesOf(t, "a.feature", []byte(good))[0]
	e.Steps[2].Phrase = &Phrase{Keyword: When, Does: func(*World, Words) error {
		panic("out of order")
	}}
	defer func() {
		p, ok := recover().(*Panic)
		if !ok || p.Value != "out of order" || !strings.Contains(p.Stack, "run_test.go") {
			t.Errorf("%+v", p)
		}
		if ok && !strings.HasPrefix(p.Error(), "out of order\n") {
			t.Errorf("%v", p)
		}
	}()
	demoRun(t).Do(&e)
	t.Error("the panic went no further than godog")
}

func TestUnanswered(t *testing.T) {
	r := demoRun(t)
	for _, e := range shipped(t) {
		if errs := e.Unanswered(r.Rules.Requirements); errs != nil {
			t.Error(messagesOf(errs))
		}
	}
	e := sentencesOf(t, "a.feature", []byte(strings.Replace(good, "@HR-020", "@HR-001", 1)))[0]
	if got := messagesOf(e.Unanswered(r.Rules.Requirements)); !strings.HasPrefix(got,
		`a.feature:8: "azimuth stops within its category 1 time": its Rule carries no tag`) ||
		!strings.Contains(got, "@HR-020") {
		t.Errorf("%s", got)
	}
	if got := messagesOf(e.Unanswered(nil)); !strings.HasPrefix(got, "a.feature:8: ") ||
		!strings.Contains(got, "no requirement answers for stop_time") {
		t.Errorf("%s", got)
	}
}

// A Rule shows what its tags say: one that nothing asks about is found, as is one that is none.
func TestUnasked(t *testing.T) {
	all := demoRun(t).Rules.Requirements
	if errs := Unasked(shipped(t), all); errs != nil {
		t.Error(messagesOf(errs))
	}
	for tag, want := range map[string]string{
		"@HR-020": "", "@HR-062": "", "@smoke": "", // asked about, watched, and no requirement
		"@HR-017": "a.feature:4: no sentence of its Rule asks about @HR-017, which it carries as a " +
			"tag; ask, or remove the tag",
		"@HR-999": "a.feature:4: @HR-999 names no requirement of the loaded sets; mend or remove it",
	} {
		tagged := strings.Replace(good, "@HR-020", "@HR-020 "+tag, 1)
		examples := sentencesOf(t, "a.feature", []byte(tagged))
		if got := messagesOf(Unasked(examples, all)); got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
}

// Given is set-up only: no time passes, so no world is there yet.
func TestPhrases_GivenBuildsNoWorld(t *testing.T) {
	r := demoRun(t)
	for _, p := range Phrases() {
		if p.Keyword != Given {
			continue
		}
		w := &World{run: &r}
		if err := p.Does(w, Words{Number: 1, Angle: 0.1, Mode: interlock.Local, Torque: 1,
			Share: 0.5, Span: time.Second, Fault: "messages_lost", Target: "azimuth.encoder",
			Activity: "moving at full rate"}); err != nil {
			t.Errorf("%q: %v", p.Pattern, err)
		}
		if w.built || w.clock != nil {
			t.Errorf("%q builds the world", p.Pattern)
		}
	}
}

// Whatever stands first in a scenario, the world is there for it: each When comes to
// its end, if only to one that says what is missing.
func TestRun_AnyWhenMayBeTheFirst(t *testing.T) {
	draw := seed.Seed(5).Stream("first")
	for _, p := range Phrases() {
		if p.Keyword != When {
			continue
		}
		text := hole.ReplaceAllStringFunc(p.Pattern, func(h string) string {
			return sample(t, strings.Trim(h, "{}"), draw)
		})
		words, _, err := p.read(text)
		if err != nil || p.check(words) != nil {
			continue // another draw would do; the phrases without values always stay
		}
		e := sentencesOf(t, "a.feature", []byte(good))[0]
		e.Steps = []Sentence{{Keyword: When, Text: text, Phrase: p, Words: words}}
		func() {
			defer func() {
				if r := recover(); r != nil {
					t.Errorf("%s: %v", text, r)
				}
			}()
			r := demoRun(t)
			w := &World{run: &r}
			w.clock, w.net = r.World(r.Seed)
			_ = w.carryOut(&e.Steps[0])
			if !w.built {
				t.Errorf("%s: no world was built", text)
			}
			if err := w.close(); err != nil {
				t.Errorf("%s: %v", text, err)
			}
		}()
	}
}

// A horn that sounds for longer than usual is waited for, and so is what comes after it.
func TestRun_WaitsForALongHorn(t *testing.T) {
	text := strings.Replace(good, "Then azimuth stops within its category 1 time",
		"Then azimuth moves only after the horn has sounded", 1)
	e := sentencesOf(t, "a.feature", []byte(strings.Replace(text,
		"      And the emergency stop is pressed\n", "", 1)))[0]
	c, err := config.LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	if c, err = c.WithOverride("controller.horn", 13); err != nil {
		t.Fatal(err)
	}
	r := runOf(t, c)
	result := r.Do(&e)
	if result.Err != nil {
		t.Fatal(result.Err)
	}
	asks := []verdict.Ask{verdict.Ask(result.Record.Asks[0])}
	if o := verdict.Judge(result.Record, asks, r.Rules)[0]; o.Verdict != verdict.Pass || o.Value < 13 {
		t.Errorf("the horn sounded for %v s: %v %s", o.Value, o.Verdict, o.Reason)
	}
}
