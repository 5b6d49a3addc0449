package config

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"haltmark/bench/plant"
	"haltmark/bench/verdict"
)

// requirementsFile is the form of a file of requirements, of the cause table that most of
// them come from, of the hazard register that they refer to, or of several of these.
type requirementsFile struct {
	Duties       *dutiesSection       `yaml:"duties,omitempty"`
	Causes       []causeSection       `yaml:"causes,omitempty"`
	Hazards      []hazardSection      `yaml:"hazards,omitempty"`
	Requirements []requirementSection `yaml:"requirements,omitempty"`
}

type requirementSection struct {
	ID         text  `yaml:"id"`
	Statement  text  `yaml:"statement"`
	Clause     text  `yaml:"clause"`
	Hazard     text  `yaml:"hazard"`
	Kind       text  `yaml:"kind"`
	Answers    text  `yaml:"answers"`
	Measure    text  `yaml:"measure"`
	Causes     words `yaml:"causes,omitempty"`
	Item       text  `yaml:"item,omitempty"`
	Watch      flag  `yaml:"watch,omitempty"`
	Comparison text  `yaml:"comparison,omitempty"` // at_most unless it is given
	Limit      words `yaml:"limit,omitempty"`
}

// Requirements is a set of requirements as loaded, with the causes and the hazards that
// they are about.
type Requirements struct {
	All     []verdict.Requirement // in order of their ids
	Causes  verdict.Causes
	Hazards []verdict.Hazard
	Strikes []Strike  // by which the causes come in the stop matrix
	Untried []Untried // the causes that it leaves out
	Files   []File
	where   []origin // of the requirements, by index
	caused  []origin // of the causes, by index
	listed  []origin // of the hazards, by index
}

// origin is where a requirement, a cause or a hazard stands.
type origin struct {
	file *file
	line int
}

// For are the rules by which a station is judged, with its figures in the statements.
func (set *Requirements) For(s *Station) verdict.Rules {
	rules := verdict.Rules{Causes: set.Causes, Hazards: set.Hazards, Limits: s.Limit}
	for _, q := range set.All {
		q.Statement = rules.Limits.State(q)
		rules.Requirements = append(rules.Requirements, q)
	}
	return rules
}

// LoadRequirements loads the named sets, embedded or files; none named means all
// embedded ones and the cause table. Where none of them brings a table of causes or a
// hazard register the embedded one counts.
func LoadRequirements(names ...string) (*Requirements, error) {
	if len(names) == 0 {
		names = append([]string{CauseTable}, Embedded(kindRequirement)...)
	}
	set, r := &Requirements{}, &report{}
	for _, name := range names {
		if name == CauseTable {
			set.open(kindRegister, name, r)
			continue
		}
		set.open(kindRequirement, name, r)
	}
	if len(set.Causes) == 0 && len(r.found) == 0 {
		table := embeddedCauses()
		set.Causes, set.Strikes, set.Untried = table.Causes, table.Strikes, table.Untried
	}
	if len(set.Hazards) == 0 {
		set.open(kindRegister, registerName, r)
	}
	if len(r.found) == 0 {
		set.order()
		set.complain(r, set.caused, set.Causes.Check())
		set.complain(r, set.where, verdict.Check(set.All, set.Causes))
		set.complain(r, set.listed, verdict.CheckRegister(set.Hazards))
		set.complain(r, set.where, verdict.Unregistered(set.Hazards, set.All))
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return set, nil
}

// order puts the requirements in order of their ids.
func (set *Requirements) order() {
	all, where := set.All, set.where
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, k int) int { return cmp.Compare(all[i].ID, all[k].ID) })
	set.All, set.where = nil, nil
	for _, i := range order {
		set.All, set.where = append(set.All, all[i]), append(set.where, where[i])
	}
}

func (set *Requirements) open(kind, name string, r *report) {
	f, err := open(kind, name)
	if err != nil {
		r.take(err)
		return
	}
	set.read(f, r)
}

// complain reports flaws where what has them stands.
func (set *Requirements) complain(r *report, where []origin, flaws []verdict.Flaw) {
	for _, flaw := range flaws {
		at := where[flaw.Index]
		r.add(at.file, at.line, "%s; mend it", flaw.Text)
	}
}

func (set *Requirements) read(f *file, r *report) {
	var form requirementsFile
	before := len(r.found)
	d := decode(f, &form, r)
	set.Files = append(set.Files, f.summary())
	if len(r.found) == before {
		set.readCauses(d, &form, r)
	}
	set.readHazards(d, form.Hazards)
	for i := range form.Requirements {
		q := &form.Requirements[i]
		set.All = append(set.All, verdict.Requirement{
			ID:         q.ID.value,
			Statement:  q.Statement.value,
			Clause:     q.Clause.value,
			Hazard:     q.Hazard.value,
			Kind:       q.Kind.value,
			Answers:    q.Answers.value,
			Measure:    q.Measure.value,
			Causes:     q.Causes.values,
			Item:       q.Item.value,
			Watch:      q.Watch.value,
			Comparison: cmp.Or(q.Comparison.value, verdict.AtMost),
			Limit:      q.Limit.values,
		})
		set.where = append(set.where, origin{f, d.line(fmt.Sprintf("requirements[%d]", i))})
	}
}

// Against reports the requirements whose limit names a parameter that the
// station lacks on a main axis.
func (set *Requirements) Against(s *Station) error {
	r := &report{}
	for i, q := range set.All {
		at := set.where[i]
		switch wrong := wrongLimit(q, s); {
		case wrong == nil:
		case wrong.Has:
			r.add(at.file, at.line, "%s: limit %s is a %v, and %s measures a %v; name a parameter of "+
				"that kind", q.ID, wrong.Path, wrong.Is, q.Measure, wrong.Want)
		default:
			r.add(at.file, at.line, "%s: limit %s; station %s has no such parameter; "+
				"name one of its table", q.ID, wrong.Path, s.Name())
		}
	}
	return r.err()
}

// wrongLimit is the first path of a limit that the station does not have, or not in the
// dimension of what is measured; nil where all are right.
func wrongLimit(q verdict.Requirement, s *Station) *verdict.LimitError {
	for axis := range plant.Axis(plant.MainAxes) {
		for _, end := range plant.EndNames {
			_, err := verdict.Limits(s.Limit).ResolveLimit(q, axis.String(), end)
			var wrong *verdict.LimitError
			if errors.As(err, &wrong) {
				return wrong
			}
		}
	}
	return nil
}
