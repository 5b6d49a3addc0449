package verdict

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// Ask is a measurement that the scenario asked for; it has the fields of the
// record's own and converts from it.
type Ask struct {
	At          time.Duration
	From        time.Duration
	Until       time.Duration
	Requirement string
	Axis        string
	End         string
	Item        string
	Cause       string
	Tightened   bool
	Limit       float64
	Text        string
}

// Outcome is one measured value and what it is worth.
type Outcome struct {
	Requirement string
	Measure     string
	Watch       bool
	Axis        string
	End         string
	Item        string
	Cause       string
	Text        string // the sentence that asked
	Before      int    // how often the same was asked before
	Dimension   quantity.Dimension
	Comparison  string
	Value       float64
	Limit       float64
	Margin      float64 // positive inside
	Uncertainty Uncertainty
	Verdict     Verdict
	Reason      string        // why it is not judged, or what went wrong
	From, Until time.Duration // the window that was looked at
	At          time.Duration // where the value was reached
	Measured    bool          // Value is a value
	Open        bool          // the record ended before the value was final
	Broken      bool          // failed whatever the margin
	Occasions   int           // of a watch
	Parts       *Parts        // of a stop
	Spread      *Spread       // over phases
}

// Key tells outcomes of the same sentence or watch together.
func (o Outcome) Key() string {
	if o.Watch {
		return "watch\x00" + o.Requirement
	}
	return strings.Join([]string{"ask", o.Requirement, o.Axis, o.End, o.Item, o.Cause, o.Text,
		strconv.Itoa(o.Before)}, "\x00")
}

// LeastOwed tells that the limit is the smallest value that passes.
func (o Outcome) LeastOwed() bool { return !upward(o.Comparison, o.End) }

// Judge measures and judges everything that was asked of a record and every
// watch among the requirements: first the asks, then the watches, each in the
// given order. It is a pure function.
func Judge(trace Trace, asks []Ask, rules Rules) []Outcome {
	s := newScene(trace, rules)
	var out []Outcome
	asked := map[string]int{}
	for _, a := range asks {
		one := s.judgeAsk(a)
		one.Before, asked[one.Key()] = asked[one.Key()], asked[one.Key()]+1
		out = append(out, one)
	}
	for _, q := range rules.Requirements {
		if q.Watch {
			out = append(out, s.judgeWatch(q))
		}
	}
	return out
}

func (s *scene) judgeAsk(a Ask) Outcome {
	for _, q := range s.rules.Requirements {
		if q.ID != a.Requirement {
			continue
		}
		o := occasion{axis: a.Axis, end: a.End, item: a.Item, cause: a.Cause, from: a.From,
			until: a.Until, closed: a.Until > 0}
		if o.item == "" {
			o.item = q.Item
		}
		if o.cause == "" && len(q.Causes) == 1 {
			o.cause = q.Causes[0]
		}
		out := s.judge(q, o, &a)
		out.Text = a.Text
		switch q.Measure {
		case "stop_time", "stop_travel", "overtravel":
			if out.Measured && o.cause != "" {
				out.Parts = s.parts(o)
			}
		}
		return out
	}
	return Outcome{Requirement: a.Requirement, Axis: a.Axis, End: a.End, Item: a.Item,
		Cause: a.Cause, Text: a.Text, Verdict: Inconclusive,
		Reason: "there is no requirement " + a.Requirement}
}

// judgeWatch keeps the worst of all occasions.
func (s *scene) judgeWatch(q Requirement) Outcome {
	worst := Outcome{Requirement: q.ID, Measure: q.Measure, Watch: true,
		Comparison: q.Comparison, Dimension: Dimension(q.Measure), Verdict: NotExercised}
	m, ok := measureNamed(q.Measure)
	if !ok || m.occasions == nil {
		worst.Verdict, worst.Reason = Inconclusive, "no watch is named "+q.Measure
		return worst
	}
	found, err := m.occasions(s, q)
	if err != nil {
		worst.Verdict, worst.Reason = Inconclusive, err.Error()
		return worst
	}
	for i, o := range found {
		out := s.judge(q, o, nil)
		out.Watch = true
		if i == 0 || worse(out, worst) {
			worst = out
		}
	}
	worst.Occasions = len(found)
	return worst
}

// worse reports whether a is worse than b: by verdict, then by margin.
func worse(a, b Outcome) bool {
	if a.Verdict != b.Verdict {
		return Merge(a.Verdict, b.Verdict) == a.Verdict
	}
	return a.Measured && (!b.Measured || a.Margin < b.Margin)
}

// judge measures one occasion against a requirement; ask is nil for a watch.
func (s *scene) judge(q Requirement, o occasion, ask *Ask) Outcome {
	out := Outcome{Requirement: q.ID, Measure: q.Measure, Axis: o.axis, End: o.end,
		Item: o.item, Cause: o.cause, Comparison: q.Comparison,
		Dimension: Dimension(q.Measure), From: o.from, Until: o.until}
	limit, err := s.rules.Limits.ResolveLimit(q, o.axis, o.end)
	if err != nil {
		return out.unjudged(err)
	}
	if ask != nil && ask.Tightened {
		if Loosens(q, o.end, ask.Limit, limit) {
			return out.unjudged(fmt.Errorf("the sentence allows %s, %s only %s",
				quantity.Format(out.Dimension, ask.Limit), q.ID,
				quantity.Format(out.Dimension, limit)))
		}
		limit = ask.Limit
	}
	out.Limit, o.limit, o.supervision = limit, limit, q.Supervision
	m, ok := measureNamed(q.Measure)
	if !ok {
		return out.unjudged(errors.New("no measure is named " + q.Measure))
	}
	r, err := m.read(s, o)
	if err == nil && (math.IsNaN(r.value) || math.IsInf(r.value, 0)) {
		err = fmt.Errorf("%s gave no number", q.Measure)
	}
	if err != nil {
		return out.unjudged(err)
	}
	width, err := s.stampWidth(r.from, r.until)
	if err != nil {
		return out.unjudged(err)
	}
	out.Value, out.Measured, out.Open, out.Broken = r.value, true, r.open, r.broken
	out.At, out.From, out.Until, out.Reason = r.at, r.from, r.until, r.note
	out.Uncertainty.Timing = r.slope * StampUncertainty(width)
	return out.judged()
}

func (o Outcome) unjudged(err error) Outcome {
	o.Verdict, o.Reason = Inconclusive, err.Error()
	return o
}

// judged fills margin and verdict from value, limit and uncertainty. A value that
// was not final can fail, since it only grows, but not pass.
func (o Outcome) judged() Outcome {
	o.Margin = Margin(o.Comparison, o.End, o.Value, o.Limit)
	o.Verdict = Accept(o.Margin, o.Uncertainty.Expanded())
	if o.Open && o.Verdict == Pass {
		o.Verdict = Inconclusive
		const early = "the record ends too early"
		if !strings.HasSuffix(o.Reason, early) { // it may have been judged before
			o.Reason = strings.TrimPrefix(o.Reason+"; "+early, "; ")
		}
	}
	if o.Broken {
		o.Verdict = Fail
	}
	return o
}

// stampWidth is the width of a time stamp in a window, in seconds: one plant step, or
// on the wall clock the greatest lateness of an exchange.
func (s *scene) stampWidth(from, until time.Duration) (float64, error) {
	step, err := s.levels(channel.Step)
	if err != nil {
		return 0, err
	}
	width := step.level(until)
	if late, err := s.levels(channel.Lateness); err == nil {
		width = max(width, late.level(from))
		for i, at := range late.at {
			if at >= from && at <= until {
				width = max(width, late.value[i])
			}
		}
	}
	return time.Duration(width).Seconds(), nil
}
