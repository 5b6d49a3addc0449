package campaign

import (
	"slices"

	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/verdict"
)

// Coverage is the stop matrix of these causes, with what cases have shown of it.
func Coverage(set *config.Requirements, cases []evidence.Case) evidence.Coverage {
	came := map[string]verdict.Verdict{}
	for i := range cases {
		if c := &cases[i]; c.Corner == "" && !c.Unended && slices.Contains(c.Tags, scenario.MatrixTag) {
			came[c.Name] = c.Verdict
		}
	}
	out := evidence.Coverage{}
	activities := scenario.Activities()
	for i := range activities {
		out.Activities = append(out.Activities, activities[i].Words)
	}
	cells := scenario.StopMatrix(set.Strikes)
	places := len(cells) / max(1, len(set.Strikes)*len(activities)) // axes and directions
	for place := range slices.Chunk(cells, max(1, places)) {
		if len(out.Rows) == 0 || len(out.Rows[len(out.Rows)-1].Places) == len(activities) {
			out.Rows = append(out.Rows, evidence.CoverageRow{Cause: place[0].Strike.Words()})
		}
		row := &out.Rows[len(out.Rows)-1]
		row.Places = append(row.Places, covered(place, came))
	}
	for _, u := range set.Untried {
		out.Untried = append(out.Untried, u.Words+": "+u.Why)
	}
	return out
}

// covered counts the cells of one cause in one activity.
func covered(cells []scenario.Cell, came map[string]verdict.Verdict) (p evidence.CoveragePlace) {
	for i := range cells {
		c := &cells[i]
		if c.Lacks != "" {
			if !slices.Contains(p.Lacks, c.Lacks) {
				p.Lacks = append(p.Lacks, c.Lacks)
			}
			continue
		}
		p.Possible++
		if c.Chosen {
			p.Chosen++
		}
		if v, tried := came[c.Name()]; tried {
			p.Tried++
			if v == verdict.Pass {
				p.Passed++
			}
		}
	}
	return p
}
