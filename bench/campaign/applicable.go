package campaign

import (
	"maps"
	"slices"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// inapplicable are requirements that a station has nothing for, and why. They are neither
// judged nor passed.
type inapplicable map[string]string

// applicable leaves out the examples that are about what a station does not have, and tells
// the requirements that none of the others is about.
func applicable(
	examples []scenario.Example, st *station.Parameters,
) (kept []scenario.Example, lacks inapplicable) {
	lacks = inapplicable{}
	for i := range examples {
		e := &examples[i]
		why := e.Lacks(st)
		if why == "" {
			kept = append(kept, *e)
			continue
		}
		for _, tag := range e.Tags {
			if id := strings.TrimPrefix(tag, "@"); strings.HasPrefix(id, "HR-") {
				lacks[id] = why
			}
		}
	}
	for i := range kept {
		for _, tag := range kept[i].Tags {
			delete(lacks, strings.TrimPrefix(tag, "@"))
		}
	}
	return kept, lacks
}

// applicableIn is applicable for the features that a folder keeps.
func applicableIn(
	f *evidence.Folder, set *config.Requirements, st *station.Parameters,
) ([]scenario.Example, inapplicable, error) {
	m := f.Manifest()
	all, err := featuresIn(f.Path(), m.Fixtures,
		scenario.Tables(set.Strikes, slices.Contains(m.CommandLine, FullFlag)))
	if err != nil {
		return nil, nil, err
	}
	kept, lacks := applicable(all, st)
	return kept, lacks, nil
}

// from leaves the requirements that apply.
func (n inapplicable) from(rules verdict.Rules) verdict.Rules {
	rules.Requirements = slices.DeleteFunc(slices.Clone(rules.Requirements),
		func(q verdict.Requirement) bool { return n[q.ID] != "" })
	return rules
}

// lines word them in order of their ids.
func (n inapplicable) lines() []string {
	var all []string
	for _, id := range slices.Sorted(maps.Keys(n)) {
		all = append(all, id+": "+n[id])
	}
	return all
}
