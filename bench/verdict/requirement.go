package verdict

import (
	"fmt"
	"slices"
	"strings"

	"haltmark/bench/quantity"
)

// The kinds of requirement.
const (
	Reaction  = "reaction"  // something must be done
	Restraint = "restraint" // something must not happen
)

// Who answers for a requirement.
const (
	Controller = "controller"
	Drive      = "drive"
	Station    = "station"
)

// How a value is held against its limit.
const (
	AtMost  = "at_most"
	AtLeast = "at_least"
	Inside  = "inside" // at most at the upper end, at least at the lower
)

// Requirement is one demand on the pairing of controller, drives and station.
type Requirement struct {
	ID         string   // HR-xxx
	Statement  string   // one sentence for a reviewer, with figures as in Limits.State
	Clause     string   // of a standard, or "common practice"
	Hazard     string   // HZ-xx
	Kind       string   // reaction or restraint
	Answers    string   // controller, drive or station
	Measure    string   // a name of Measures
	Causes     []string // the stop causes it is about
	Item       string   // what the measure wants named: a layer, a channel, a motor
	Watch      bool     // held through every scenario at every occasion
	Comparison string   // at_most, at_least or inside
	Limit      []string // paths of station parameters, summed; none is zero
	// Supervision is parameters that sum up to the time after the cause from which it
	// counts; nil is the cause's own.
	Supervision []string
}

// Rules is what a record is held against.
type Rules struct {
	Causes       Causes
	Hazards      []Hazard // the register
	Requirements []Requirement
	Limits       Limits // of the station
}

// Limits looks up a station parameter: its SI value and dimension.
type Limits func(path string) (si float64, d quantity.Dimension, ok bool)

// LimitError says that a station lacks a parameter, or has it in another dimension than the
// one that is measured.
type LimitError struct {
	Path     string
	Has      bool
	Is, Want quantity.Dimension
}

func (e *LimitError) Error() string {
	if e.Has {
		return fmt.Sprintf("verdict: the station's parameter %s is a %v, and what is measured a %v",
			e.Path, e.Is, e.Want)
	}
	return "verdict: the station has no parameter " + e.Path
}

// place fills the axis and the end into a path.
func place(path, axis, end string) string {
	return strings.NewReplacer("<axis>", axis, "<end>", end).Replace(path)
}

// value looks a path up for an axis and an end.
func (l Limits) value(path, axis, end string, want quantity.Dimension) (float64, error) {
	full := place(path, axis, end)
	si, d, ok := l(full)
	if !ok || d != want {
		return 0, &LimitError{Path: full, Has: ok, Is: d, Want: want}
	}
	return si, nil
}

// ResolveLimit is the limit of a requirement on an axis and at an end, in SI. A
// limit by axis that is held against all axes at once is an error, and so is one of another
// dimension than the measure's.
func (l Limits) ResolveLimit(q Requirement, axis, end string) (float64, error) {
	return l.sum(q.Limit, axis, end, Dimension(q.Measure))
}

func (l Limits) sum(paths []string, axis, end string, d quantity.Dimension) (float64, error) {
	sum := 0.0
	for _, path := range paths {
		v, err := l.value(path, axis, end, d)
		if err != nil {
			return 0, err
		}
		sum += v
	}
	return sum, nil
}

// upward reports whether less is better.
func upward(comparison, end string) bool {
	return comparison == AtMost || (comparison == Inside && end != "lower")
}

// Margin is what is left between value and limit, negative outside.
func Margin(comparison, end string, value, limit float64) float64 {
	if upward(comparison, end) {
		return limit - value
	}
	return value - limit
}

// Loosens reports whether a sentence's own limit allows more than the requirement.
func Loosens(q Requirement, end string, own, limit float64) bool {
	return Margin(q.Comparison, end, own, limit) < 0
}

// Requirement finds a requirement by its id.
func (r *Rules) Requirement(id string) (Requirement, bool) {
	return r.first(func(q Requirement) bool { return q.ID == id })
}

// Find finds the first requirement with this measure about this cause.
func (r *Rules) Find(measure, cause string) (Requirement, bool) {
	return r.first(func(q Requirement) bool { return q.Measure == measure && q.about(cause) })
}

func (r *Rules) first(fits func(Requirement) bool) (Requirement, bool) {
	i := slices.IndexFunc(r.Requirements, fits)
	if i < 0 {
		return Requirement{}, false
	}
	return r.Requirements[i], true
}

// about reports whether a requirement covers a cause.
func (q Requirement) about(cause string) bool {
	if cause == "" || len(q.Causes) == 0 {
		return cause == "" && len(q.Causes) == 0
	}
	return slices.Contains(q.Causes, cause)
}

// Flaw is what is wrong with the requirement at an index.
type Flaw struct {
	Index int
	Text  string
}

// Check finds what is wrong with a set of requirements about the causes of a table, in
// their order.
func Check(all []Requirement, table Causes) []Flaw {
	var flaws []Flaw
	seen := map[string]bool{}
	for i, q := range all {
		for _, text := range append(q.flaws(), q.unknownCauses(table)...) {
			flaws = append(flaws, Flaw{i, text})
		}
		if seen[q.ID] {
			flaws = append(flaws, Flaw{i, fmt.Sprintf("requirement %s stands twice", q.ID)})
		}
		seen[q.ID] = true
	}
	return flaws
}

// flaws are those of one requirement by itself.
func (q Requirement) flaws() []string {
	var texts []string
	say := func(wrong bool, format string, args ...any) {
		if wrong {
			texts = append(texts, fmt.Sprintf(format, args...))
		}
	}
	say(!numbered(q.ID, "HR-", 3), "requirement id %q is not HR- and three digits", q.ID)
	say(!numbered(q.Hazard, "HZ-", 2), "%s: hazard %q is not HZ- and two digits", q.ID, q.Hazard)
	q.statementFlaws(say)
	say(q.Clause == "", "%s: no clause; say \"common practice\" where there is none", q.ID)
	oneOf := func(what, got string, allowed ...string) {
		say(!slices.Contains(allowed, got), "%s: %s %q is none of %s",
			q.ID, what, got, strings.Join(allowed, ", "))
	}
	oneOf("kind", q.Kind, Reaction, Restraint)
	oneOf("who answers", q.Answers, Controller, Drive, Station)
	oneOf("comparison", q.Comparison, AtMost, AtLeast, Inside)
	m, known := measureNamed(q.Measure)
	oneOf("measure", q.Measure, Measures()...)
	say(known && q.Watch && m.occasions == nil, "%s: measure %s cannot watch", q.ID, q.Measure)
	say(known && !q.Watch && m.watchOnly, "%s: measure %s only watches", q.ID, q.Measure)
	return texts
}

// unknownCauses are those that the table lacks.
func (q Requirement) unknownCauses(table Causes) []string {
	var texts []string
	for _, name := range q.Causes {
		if _, known := table.Stop(name); !known {
			texts = append(texts, fmt.Sprintf("%s: unknown cause %q", q.ID, name))
		}
	}
	return texts
}

// numbered reports whether a text is a prefix and a number of digits.
func numbered(text, prefix string, digits int) bool {
	rest, ok := strings.CutPrefix(text, prefix)
	if !ok || len(rest) != digits {
		return false
	}
	return strings.Trim(rest, "0123456789") == ""
}
