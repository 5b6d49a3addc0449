package evidence

import (
	"fmt"
	"html/template"
	"strings"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

type caseView struct {
	Number, Line              int
	Name, Rule, Tags          string
	Verdict                   said
	Reason, Waived, Simulated string
	Sentences                 []sentenceView
	Stops                     []stopView
	Plot                      template.HTML
	Caption, PlotNote         string
	Watches                   []watchView
	WatchSummary, PhaseCount  string
	Phases                    []phaseView
}

type sentenceView struct {
	Keyword, Text string
	Measured      []string
	Judged        bool
	Verdict       said
}

type stopView struct {
	Name, Detected, Slowing, Rest, LoadRest, Brakes, Torque string
	Travel, Derived, Ratio, RemovedBy                       string
}

type watchView struct {
	ID, Name, Value, Limit, Margin string
	Occasions                      int
	Verdict                        said
}

type phaseView struct {
	Number      int
	Shift, Hash string
	Verdict     said
	Worst, Kept bool
}

func duration(s span) time.Duration { return time.Duration(s) }

func viewOf(c *Case, records func(*Case) (*record.Record, error)) caseView {
	v := caseView{Number: c.Number, Line: c.Line, Name: c.Name, Rule: c.Rule,
		Tags: strings.Join(c.Tags, " "), Verdict: said(c.Verdict), Reason: c.Reason,
		Waived: c.Waived, Simulated: lasted(c.Simulated),
		PhaseCount: counted(len(c.Phases), "phase")}
	for _, s := range c.Sentences {
		v.Sentences = append(v.Sentences, c.sentenceView(s))
	}
	for _, s := range c.Stops {
		v.Stops = append(v.Stops, stopOf(s))
	}
	for i, p := range c.Phases {
		v.Phases = append(v.Phases, phaseView{Number: p.Number, Hash: p.Hash, Kept: p.Kept,
			Shift: quantity.Format(quantity.DimSpan, p.Shift.Seconds()),
			Worst: i == c.Worst, Verdict: said(p.Verdict)})
	}
	v.watches(c)
	v.draw(c, records)
	return v
}

func (c *Case) sentenceView(s Sentence) sentenceView {
	outcomes := c.asked(s)
	v := sentenceView{Keyword: s.Keyword, Text: s.Text, Verdict: said(c.standing(s)),
		Judged: len(outcomes) > 0 || s.Verdict != verdict.Pass}
	if s.Note != "" {
		v.Measured = append(v.Measured, s.Note)
	}
	for _, o := range outcomes {
		v.Measured = append(v.Measured, measured(o))
	}
	return v
}

// measured words an outcome for the sentence that asked.
func measured(o *verdict.Outcome) string {
	text := o.Requirement + ", " + subject(o) + ": "
	if !o.Measured {
		return text + o.Reason
	}
	text += fmt.Sprintf("%s, %s; margin %s, U %s", tied(shown(o.Dimension, o.Value)),
		tied(bound(o)), tied(shown(o.Dimension, o.Margin)),
		tied(shown(o.Dimension, o.Uncertainty.Expanded())))
	if o.Reason != "" {
		text += "; " + o.Reason
	}
	return text
}

// tied keeps a value and its unit on one line.
func tied(text string) string { return strings.ReplaceAll(text, " ", "\u00a0") }

func stopOf(s Stop) stopView {
	p := s.Parts
	split := max(p.Detected, p.Slowing, p.Standstill, p.LoadRest, p.BrakeSet,
		p.TorqueOff) != verdict.NotSeen
	instant := func(d time.Duration) string {
		switch {
		case !split:
			return ""
		case d == verdict.NotSeen:
			return "never"
		}
		return quantity.Format(quantity.DimSpan, d.Seconds())
	}
	v := stopView{Name: axisWords(s.Axis) + " after " + plain(s.Cause),
		Detected: instant(p.Detected), Slowing: instant(p.Slowing),
		Rest: instant(p.Standstill), LoadRest: instant(p.LoadRest), Brakes: instant(p.BrakeSet),
		Torque: instant(p.TorqueOff), RemovedBy: s.RemovedBy}
	if s.Travel != 0 { // zero is a travel that nobody measured
		v.Travel = shown(quantity.DimAngle, s.Travel)
	}
	if ratio, ok := s.ratio(); ok {
		v.Derived, v.Ratio = shown(quantity.DimAngle, s.Derived), fmt.Sprintf("%.2f", ratio)
	}
	return v
}

func (v *caseView) watches(c *Case) {
	held := 0
	for _, o := range c.watched() {
		if o.Verdict == verdict.NotExercised || o.Verdict == verdict.NotSelected {
			continue
		}
		w := watchView{ID: o.Requirement, Name: subject(o), Occasions: o.Occasions,
			Verdict: said(o.Verdict)}
		if o.Measured {
			w.Value, w.Limit = shown(o.Dimension, o.Value), bound(o)
			w.Margin = shown(o.Dimension, o.Margin)
		} else if o.Reason != "" {
			w.Name += ": " + o.Reason
		}
		if o.Verdict == verdict.Pass {
			held++
		}
		v.Watches = append(v.Watches, w)
	}
	v.WatchSummary = fmt.Sprintf("%d had occasions here, %d of them held", len(v.Watches), held)
}

// draw makes the plot of the worst phase, or says why there is none.
func (v *caseView) draw(c *Case, records func(*Case) (*record.Record, error)) {
	if c.Plot.Axis == "" || records == nil {
		return
	}
	rec, err := records(c)
	switch {
	case err != nil:
		v.PlotNote = "No plot: the record of this scenario cannot be read."
		return
	case rec == nil:
		v.PlotNote = "No plot: no record of this scenario was kept."
		return
	}
	title := fmt.Sprintf("Scenario %d: %s", c.Number, c.Name)
	v.Plot = template.HTML(drawPlot(rec, c.Plot, title)) // its text is escaped where it is drawn
	if v.Plot == "" {
		v.PlotNote = "No plot: the record does not know the axis " + c.Plot.Axis + "."
		return
	}
	v.Caption = capital(axisWords(c.Plot.Axis)) + " in the worst phase. Where a value moved " +
		"within one pixel column, the column spans its minimum to its maximum."
}
