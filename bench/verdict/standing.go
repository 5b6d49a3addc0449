package verdict

import (
	"fmt"
	"strings"
	"time"
)

// Standing is where one requirement stands after a whole run.
type Standing struct {
	Requirement string
	Verdict     Verdict
	Outcomes    int // asked for or watched with occasions
	Occasions   int
	Worst       *Outcome // of those the worst; nil when there is none
	Waived      *Waiver
}

// Stand adds up the outcomes of a run for each requirement, in the order of the
// requirements. selected tells which a partial run is about; nil is the whole
// run. What was never exercised counts against a whole run, and against a partial
// one for the requirements that it selected.
func Stand(all []Requirement, outcomes []Outcome, selected func(id string) bool) []Standing {
	var out []Standing
	for _, q := range all {
		st := Standing{Requirement: q.ID, Verdict: NotExercised}
		for i := range outcomes {
			o := &outcomes[i]
			if o.Requirement != q.ID || o.Verdict == NotExercised || o.Verdict == NotSelected {
				continue
			}
			st.Outcomes++
			st.Occasions += o.Occasions
			if st.Worst == nil || worse(*o, *st.Worst) {
				st.Worst, st.Verdict = o, o.Verdict
			}
		}
		if selected != nil && !selected(q.ID) && (st.Worst == nil || !q.Watch) {
			st.Verdict = NotSelected
		}
		out = append(out, st)
	}
	return out
}

// Exit is the exit code of a run: over its standings, waivers regarded.
func Exit(standings []Standing) int {
	code := ExitPass
	for _, st := range standings {
		if st.Waived == nil {
			code = MergeExit(code, st.Verdict.ExitCode())
		}
	}
	return code
}

// Waiver lets a requirement go unproved for a time. Only what was not testable or
// not exercised can be waived; a failure cannot.
type Waiver struct {
	Requirement string
	Reason      string
	Expires     string // the last day it holds, 2006-01-02
}

const day = "2006-01-02"

// Check tells what is wrong with a waiver by itself.
func (w Waiver) Check() error {
	switch {
	case !numbered(w.Requirement, "HR-", 3):
		return fmt.Errorf("verdict: waiver of %q names no requirement", w.Requirement)
	case strings.TrimSpace(w.Reason) == "":
		return fmt.Errorf("verdict: waiver of %s gives no reason", w.Requirement)
	}
	if _, err := time.Parse(day, w.Expires); err != nil {
		return fmt.Errorf("verdict: waiver of %s expires %q, not on a day such as 2027-03-31",
			w.Requirement, w.Expires)
	}
	return nil
}

// Waive applies waivers on a date (2006-01-02). It returns the standings, and of
// each waiver that had no effect why.
func Waive(standings []Standing, waivers []Waiver, date string) ([]Standing, []string) {
	out := append([]Standing(nil), standings...)
	var unused []string
	for i := range waivers {
		if why := waiveOne(out, &waivers[i], date); why != "" {
			unused = append(unused, "waiver of "+waivers[i].Requirement+" "+why)
		}
	}
	return out, unused
}

func waiveOne(standings []Standing, w *Waiver, date string) string {
	if err := w.Check(); err != nil {
		return "is not valid"
	}
	if date > w.Expires {
		return "expired on " + w.Expires
	}
	for i := range standings {
		st := &standings[i]
		if st.Requirement != w.Requirement {
			continue
		}
		if st.Verdict != NotTestable && st.Verdict != NotExercised {
			return "is not needed or not possible: the requirement stands at " + st.Verdict.String()
		}
		st.Waived = w
		return ""
	}
	return "names no requirement of this run"
}
