package campaign

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/verdict"
)

// A told case of three outcomes over two phases, of which the first is dropped.
func toldCase() *evidence.Case {
	watch := stop(0.1, verdict.Pass)
	watch.Requirement, watch.Watch, watch.Text = "HR-023", true, ""
	c := &evidence.Case{Outcomes: []verdict.Outcome{stop(1.5, verdict.Pass), watch},
		Phases: []evidence.Phase{{Number: 1}, {Number: 2, Kept: true}}}
	c.Phases[0].Figures = figures([]verdict.Outcome{stop(1.25, verdict.Pass)}, placesOf(c.Outcomes))
	return c
}

// Of a dropped phase its figures stand in, a watch without one had no occasion, and what was
// not asked is not there.
func TestDropped_IsWhatTheFiguresSay(t *testing.T) {
	c := toldCase()
	got, err := (&judge{}).dropped(c, &c.Phases[0])
	check(t, err)
	if len(got) != 2 || got[0].Value != 1.25 || got[0].Margin != 0.75 || !got[0].Measured ||
		got[0].Verdict != verdict.Pass || got[1].Verdict != verdict.NotExercised {
		t.Errorf("%+v", got)
	}
	c.Phases[0].Figures = nil
	if got, err = (&judge{}).dropped(c, &c.Phases[0]); err != nil || len(got) != 1 {
		t.Errorf("without figures: %+v, %v", got, err)
	}
	for what, edit := range map[string]func(*evidence.Phase){
		"a margin that does not follow": func(p *evidence.Phase) { p.Figures[0].Margin = 1 },
		"a value that misses":           func(p *evidence.Phase) { p.Figures[0].Value = 3 },
		"a phase that did not pass":     func(p *evidence.Phase) { p.Verdict = verdict.NotTestable },
	} {
		c := toldCase()
		edit(&c.Phases[0])
		if _, err := (&judge{}).dropped(c, &c.Phases[0]); err == nil {
			t.Errorf("%s is believed", what)
		}
	}
}

// What only runs at double the plant step could say stands where it leaves something open; a
// fail of the records stays one, whatever the case says of it.
func TestWithTold_LeavesOpenAndPassesNothing(t *testing.T) {
	old := stop(1, verdict.Inconclusive)
	old.Reason = "no value at double the plant step"
	for _, row := range []struct {
		fresh verdict.Outcome
		want  verdict.Verdict
	}{{stop(1, verdict.Pass), verdict.Inconclusive}, {stop(3, verdict.Fail), verdict.Fail}} {
		got := withTold([]verdict.Outcome{row.fresh}, []verdict.Outcome{old})
		if got[0].Verdict != row.want {
			t.Errorf("%v by its record: %v; want %v", row.fresh.Verdict, got[0].Verdict, row.want)
		}
	}
	wide := stop(1.9, verdict.Pass)
	wide.Uncertainty.Model = 0.2
	got := withTold([]verdict.Outcome{stop(1.9, verdict.Pass)}, []verdict.Outcome{wide})
	if got[0].Verdict != verdict.Inconclusive {
		t.Errorf("1.9 of 2 with 0.2 of model: %v", got[0].Verdict)
	}
}

// The worst phase is the records' own, and a worst value has its record.
func TestTotal_TheWorstIsThatOfTheRecords(t *testing.T) {
	tight, wide := stop(1.9, verdict.Pass), stop(1, verdict.Pass)
	phases := []Phase{{Outcomes: []verdict.Outcome{wide}}, {Outcomes: []verdict.Outcome{tight},
		Kept: true}}
	c := &evidence.Case{Worst: 1}
	fresh, v, err := (&judge{}).total(c, phases)
	check(t, err)
	if v != verdict.Pass || fresh[0].Value != 1.9 || fresh[0].Spread.Worst != 1 {
		t.Errorf("%v, %+v", v, fresh)
	}
	c.Worst = 0
	if _, _, err = (&judge{}).total(c, phases); err == nil ||
		!strings.Contains(err.Error(), "phase 1 for the worst, its records phase 2") {
		t.Errorf("another phase as the worst: %v", err)
	}
	c.Worst, phases[1].Kept = 1, false
	if _, _, err = (&judge{}).total(c, phases); err == nil ||
		!strings.Contains(err.Error(), "that of phase 2, whose record is not kept") {
		t.Errorf("a worst value without its record: %v", err)
	}
}

// Each thing that a case could tell otherwise than its records.
func TestTold_IsWhatTheRecordsSay(t *testing.T) {
	fresh := []verdict.Outcome{stop(1, verdict.Pass)}
	fresh[0].Spread = &verdict.Spread{Worst: 1, Greatest: 1}
	for want, edit := range map[string]func(*evidence.Case){
		"": func(*evidence.Case) {},
		"what no record asks": func(c *evidence.Case) {
			c.Outcomes = append(c.Outcomes, stop(1, verdict.Pass))
			c.Outcomes[1].Text = "another sentence"
		},
		"the value 0.5":   func(c *evidence.Case) { c.Outcomes[0].Value = 0.5 },
		"the limit 3":     func(c *evidence.Case) { c.Outcomes[0].Limit = 3 },
		"the margin 9":    func(c *evidence.Case) { c.Outcomes[0].Margin = 9 },
		"by timing":       func(c *evidence.Case) { c.Outcomes[0].Uncertainty.Timing = 1 },
		"that it is fail": func(c *evidence.Case) { c.Outcomes[0].Verdict = verdict.Fail },
		"spread over phases": func(c *evidence.Case) {
			c.Outcomes[0].Spread = &verdict.Spread{Worst: 1, Greatest: 0.9}
		},
	} {
		c := &evidence.Case{Outcomes: slices.Clone(fresh)}
		edit(c)
		err := told(c, fresh)
		if want == "" && err != nil || want != "" &&
			(err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%v; want %q", err, want)
		}
	}
}

// A sentence has the verdict of what it asked, and one that was not done none better.
func TestToldSentences_AreWhatTheyAsked(t *testing.T) {
	failed := stop(3, verdict.Fail)
	failed.Text = "it stops"
	c := &evidence.Case{Outcomes: []verdict.Outcome{failed},
		Sentences: []evidence.Sentence{{Text: "it moves"}, {Text: "it stops", Verdict: verdict.Fail}}}
	check(t, toldSentences(c))
	c.Sentences[0].Note = "it did not move"
	if toldSentences(c) == nil {
		t.Error("a sentence that was not done passes")
	}
	c.Sentences[0].Verdict, c.Sentences[1].Verdict = verdict.Inconclusive, verdict.Pass
	if toldSentences(c) == nil {
		t.Error("a sentence passes whose question fails")
	}
}
