package evidence

import (
	"slices"
	"strings"
)

// Coverage is the stop matrix as a run has shown it: every stop cause in every activity.
type Coverage struct {
	Activities []string // the columns
	Rows       []CoverageRow
	Untried    []string // causes that have no row, and why
}

// CoverageRow is one stop cause, by the sentence that brings it about.
type CoverageRow struct {
	Cause  string
	Places []CoveragePlace // one for each activity
}

// CoveragePlace counts the axes and directions of one cause in one activity.
type CoveragePlace struct {
	Passed   int // in this run
	Tried    int // in this run
	Chosen   int // that a gate tries
	Possible int
	Lacks    []string // why the others cannot be, each reason once
}

// Totals are the sums over all places.
func (c *Coverage) Totals() (all CoveragePlace) {
	for _, row := range c.Rows {
		for _, p := range row.Places {
			all.Passed += p.Passed
			all.Tried += p.Tried
			all.Chosen += p.Chosen
			all.Possible += p.Possible
		}
	}
	return all
}

// Letter names a column.
func Letter(k int) string { return string(rune('A' + k)) }

// Lacks are the reasons why places are empty, each once.
func (c *Coverage) Lacks() string {
	var all []string
	for _, row := range c.Rows {
		for _, p := range row.Places {
			for _, why := range p.Lacks {
				if p.Possible == 0 && !slices.Contains(all, why) {
					all = append(all, why)
				}
			}
		}
	}
	return strings.Join(all, "; ")
}
