package evidence

import (
	"fmt"

	"haltmark/bench/verdict"
)

// cornerJSON is the worst corner of a requirement.
type cornerJSON struct {
	Corner   string      `json:"corner"`
	Scenario int         `json:"scenario"` // its number
	Worst    outcomeJSON `json:"worst"`
}

// WorstCorner finds the worst outcome of a requirement at the station's corners, and
// the case that it comes from; nil when no corner measured it.
func (r *Run) WorstCorner(id string) (*Case, *verdict.Outcome) {
	var outcomes []verdict.Outcome
	var from []*Case
	for i := range r.Cases {
		c := &r.Cases[i]
		if c.Corner == "" {
			continue
		}
		for _, o := range c.Outcomes {
			outcomes, from = append(outcomes, o), append(from, c)
		}
	}
	worst := verdict.Stand([]verdict.Requirement{{ID: id}}, outcomes, nil)[0].Worst
	for i := range outcomes {
		if &outcomes[i] == worst {
			return from[i], worst
		}
	}
	return nil, nil
}

// encodeCorner is the worst corner of a requirement for the summary; nil without.
func (r *Run) encodeCorner(id string) *cornerJSON {
	c, o := r.WorstCorner(id)
	if c == nil {
		return nil
	}
	return &cornerJSON{Corner: c.Corner, Scenario: c.Number, Worst: encodeOutcome(o)}
}

// cornerLine words the worst corner of a requirement; empty without.
func (r *Run) cornerLine(id string) string {
	c, o := r.WorstCorner(id)
	switch {
	case c == nil:
		return ""
	case !o.Measured:
		return fmt.Sprintf("worst corner %s: %s, scenario %d", c.Corner, o.Verdict, c.Number)
	}
	return fmt.Sprintf("worst corner %s: %s, %s, %s, margin %s, scenario %d", c.Corner, o.Verdict,
		shown(o.Dimension, o.Value), bound(o), shown(o.Dimension, o.Margin), c.Number)
}
