package config

import (
	"fmt"
	"slices"
	"strings"

	"haltmark/bench/verdict"
)

// dutiesSection is one duty each, in the order of rows.
type dutiesSection struct {
	Time   dutySection `yaml:"time"`
	Travel dutySection `yaml:"travel"`
	Torque dutySection `yaml:"torque"`
	Brakes dutySection `yaml:"brakes"`
	Stow   dutySection `yaml:"stow"`
	Report dutySection `yaml:"report"`
}

// dutySection is what the requirements about one duty have in common.
type dutySection struct {
	Measure    text  `yaml:"measure"`
	Statement  text  `yaml:"statement"`
	Statement1 text  `yaml:"statement_1,omitempty"` // for causes of category 1
	Clause     text  `yaml:"clause,omitempty"`      // of all; else the cause's
	Hazard     text  `yaml:"hazard,omitempty"`      // of all; else the cause's
	Category0  words `yaml:"category_0,omitempty"`  // the limit by stop category
	Category1  words `yaml:"category_1,omitempty"`
	Category2  words `yaml:"category_2,omitempty"`
}

// causeSection is a stop cause with what it owes.
type causeSection struct {
	Cause        text  `yaml:"cause"`
	Words        text  `yaml:"words"`
	When         text  `yaml:"when,omitempty"`
	Number       count `yaml:"number,omitempty"`
	Category     count `yaml:"category,omitempty"`
	EveryAxis    flag  `yaml:"every_axis,omitempty"`
	Latching     flag  `yaml:"latching,omitempty"`
	CountedFrom  text  `yaml:"counted_from,omitempty"`
	Supervision  words `yaml:"supervision,omitempty"`
	ReportedAs   words `yaml:"reported_as,omitempty"`
	Unmarked     flag  `yaml:"unmarked,omitempty"`
	Stows        flag  `yaml:"stows,omitempty"`
	Uncontrolled flag  `yaml:"uncontrolled,omitempty"`
	SpeedUnknown flag  `yaml:"speed_unknown,omitempty"`
	Hazard       text  `yaml:"hazard,omitempty"`
	Clause       text  `yaml:"clause,omitempty"`

	Time   *owedSection `yaml:"time,omitempty"`
	Travel *owedSection `yaml:"travel,omitempty"`
	Torque *owedSection `yaml:"torque,omitempty"`
	Brakes *owedSection `yaml:"brakes,omitempty"`
	Stow   *owedSection `yaml:"stow,omitempty"`
	Report *owedSection `yaml:"report,omitempty"`

	Strikes []strikeSection `yaml:"strikes,omitempty"`
	Untried text            `yaml:"untried,omitempty"`
}

// owedSection is the requirement by which a cause answers for a duty, as far as it
// differs from the duty's own, or none and why.
type owedSection struct {
	ID          text  `yaml:"id,omitempty"`
	None        text  `yaml:"none,omitempty"`
	Answers     text  `yaml:"answers,omitempty"`
	Kind        text  `yaml:"kind,omitempty"`
	Clause      text  `yaml:"clause,omitempty"`
	Hazard      text  `yaml:"hazard,omitempty"`
	Measure     text  `yaml:"measure,omitempty"`
	Item        text  `yaml:"item,omitempty"`
	Watch       flag  `yaml:"watch,omitempty"`
	Limit       words `yaml:"limit,omitempty"`
	Supervision words `yaml:"supervision,omitempty"`
	Statement   text  `yaml:"statement,omitempty"`
}

// row is one duty of one cause.
type row struct {
	name string
	duty *dutySection
	owed *owedSection
	due  bool // the cause owes it
}

func rows(d *dutiesSection, c *causeSection) []row {
	stop, stow := c.Category.set && !c.Stows.value, c.Stows.value
	return []row{
		{"time", &d.Time, c.Time, stop}, {"travel", &d.Travel, c.Travel, stop},
		{"torque", &d.Torque, c.Torque, stop}, {"brakes", &d.Brakes, c.Brakes, stop},
		{"stow", &d.Stow, c.Stow, stow}, {"report", &d.Report, c.Report, stop || stow},
	}
}

// CauseTable is the embedded cause table's name; it stands by itself.
const CauseTable = "causes"

// Causes are the stop causes of the bench, from the embedded table.
func Causes() verdict.Causes { return embeddedCauses().Causes }

func embeddedCauses() *Requirements {
	set := &Requirements{}
	set.open(kindRegister, CauseTable, &report{})
	return set
}

// ReportedCauses are those of them whose report a requirement of the table is about.
func ReportedCauses() verdict.Causes {
	set := embeddedCauses()
	rules := verdict.Rules{Requirements: set.All}
	return slices.DeleteFunc(set.Causes, func(c verdict.Cause) bool {
		_, reported := rules.Find("report_time", c.Name)
		return !reported
	})
}

// readCauses takes in a cause table: its causes, and a requirement for each row.
func (set *Requirements) readCauses(d *document, form *requirementsFile, r *report) {
	if (form.Duties == nil) != (len(form.Causes) == 0) {
		r.add(d.file, 1, "holds duties without causes, or causes without duties; a table has both; "+
			"add the other")
		return
	}
	from := len(set.All)
	for i := range form.Causes {
		c := &form.Causes[i]
		at := fmt.Sprintf("causes[%d]", i)
		set.Causes = append(set.Causes, c.cause())
		set.caused = append(set.caused, origin{d.file, d.line(at)})
		if c.Category.set && !c.When.set {
			r.add(d.file, d.line(at), "cause %s has a stop category and no when; a requirement begins "+
				"with it; say when it has come", c.Cause.value)
		}
		for _, one := range rows(form.Duties, c) {
			where := origin{d.file, d.line(at + "." + one.name)}
			if why := one.wrong(); why != "" {
				r.add(d.file, where.line, "cause %s: %s %s", c.Cause.value, one.name, why)
			} else if one.owed != nil && one.owed.ID.set {
				set.owe(one, c, where, from, r)
			}
		}
	}
	set.fillIn(form.Causes, from)
	set.readStrikes(d, form.Causes, r)
}

func (c *causeSection) cause() verdict.Cause {
	category := verdict.NoStop
	if c.Category.set {
		category = int(c.Category.value)
	}
	return verdict.Cause{
		Name: c.Cause.value, Words: c.Words.value, Number: int(c.Number.value),
		Category: category, EveryAxis: c.EveryAxis.value, Latching: c.Latching.value,
		CountedFrom: c.CountedFrom.value, Supervision: c.Supervision.values,
		ReportedAs: c.ReportedAs.values, Unmarked: c.Unmarked.value, Stows: c.Stows.value,
		Uncontrolled: c.Uncontrolled.value, SpeedUnknown: c.SpeedUnknown.value,
	}
}

// wrong tells what a row lacks; "" for nothing.
func (one row) wrong() string {
	switch {
	case one.owed == nil && one.due:
		return "is missing; a cause answers for every duty; give its requirement, or none and why"
	case one.owed != nil && one.owed.ID.set == one.owed.None.set:
		return "has an id and none, or neither; give the requirement's id, or none and why"
	}
	return ""
}

// owe adds the requirement of a row, or the row's cause to the requirement of the same
// id that an earlier cause has.
func (set *Requirements) owe(one row, c *causeSection, where origin, from int, r *report) {
	o, d := one.owed, one.duty
	for i := from; i < len(set.All); i++ {
		if q := &set.All[i]; q.ID == o.ID.value {
			q.Causes = append(q.Causes, c.Cause.value)
			if same := (owedSection{ID: o.ID}); !same.equals(o) {
				r.add(where.file, where.line, "cause %s: %s: %s stands with cause %s already; "+
					"give no more than its id here", c.Cause.value, one.name, q.ID, q.Causes[0])
			}
			return
		}
	}
	limit := [...][]string{d.Category0.values, d.Category1.values, d.Category2.values}
	q := verdict.Requirement{
		ID:          o.ID.value,
		Statement:   either(o.Statement, d.statement(c)).value,
		Clause:      either(o.Clause, d.Clause, c.Clause).value,
		Hazard:      either(o.Hazard, d.Hazard, c.Hazard).value,
		Kind:        either(o.Kind, text{value: verdict.Reaction, set: true}).value,
		Answers:     either(o.Answers, text{value: verdict.Controller, set: true}).value,
		Measure:     either(o.Measure, d.Measure).value,
		Causes:      []string{c.Cause.value},
		Item:        o.Item.value,
		Watch:       o.Watch.value,
		Comparison:  verdict.AtMost,
		Limit:       limit[max(0, min(c.Category.value, 2))],
		Supervision: o.Supervision.values,
	}
	if o.Limit.set {
		q.Limit = o.Limit.values
	}
	set.All, set.where = append(set.All, q), append(set.where, where)
}

// statement is what the requirement of a cause says.
func (d *dutySection) statement(c *causeSection) text {
	if c.Category.value == 1 {
		return either(d.Statement1, d.Statement)
	}
	return d.Statement
}

func (o owedSection) equals(other *owedSection) bool { return fmt.Sprint(o) == fmt.Sprint(*other) }

// either is the first text that was given.
func either(texts ...text) text {
	for _, t := range texts {
		if t.set {
			return t
		}
	}
	return text{}
}

// fillIn puts causes, axes and supervision times into the statements of the table's own
// requirements.
func (set *Requirements) fillIn(causes []causeSection, from int) {
	for i := from; i < len(set.All); i++ {
		q := &set.All[i]
		var when []string
		axis := "the axis"
		for k := range causes {
			c := &causes[k]
			if !slices.Contains(q.Causes, c.Cause.value) {
				continue
			}
			if c.EveryAxis.value {
				axis = "every axis"
			}
			when = append(when, supervised(c.When.value, c.Supervision.values))
		}
		q.Statement = strings.NewReplacer("{cause}", strings.Join(when, ", or "), "{axis}", axis).
			Replace(further(q.Statement, causes, q.Causes))
		q.Statement = supervised(q.Statement, q.Supervision)
	}
}

// further says that a limit counts from the end of the supervision time, where the statement
// or the words of all of its causes name one.
func further(statement string, causes []causeSection, of []string) string {
	named := strings.Contains(statement, "{supervision}")
	if !named {
		named = !slices.ContainsFunc(causes, func(c causeSection) bool {
			return slices.Contains(of, c.Cause.value) &&
				!strings.Contains(c.When.value, "{supervision}")
		})
	}
	if named {
		return strings.Replace(statement, " within {limit}.", " within a further {limit}.", 1)
	}
	return statement
}

// supervised puts the paths of supervision times, to be summed, into a text.
func supervised(text string, paths []string) string {
	return strings.ReplaceAll(text, "{supervision}", "{"+strings.Join(paths, " + ")+"}")
}
