package evidence

import (
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/verdict"
)

// byNumber finds the planned scenarios by their numbers.
func (m *Manifest) byNumber() map[int]Planned {
	all := make(map[int]Planned, len(m.Scenarios))
	for _, p := range m.Scenarios {
		all[p.Number] = p
	}
	return all
}

// check tells what no run writes into its manifest.
func (m *Manifest) check() error {
	seen := map[int]bool{}
	for _, p := range m.Scenarios {
		if p.Number < 1 || seen[p.Number] || p.Phases < 1 {
			return fmt.Errorf("scenario %d stands twice, or its number or its phases are none", p.Number)
		}
		seen[p.Number] = true
		// A scenario may be tried at fewer phases than the run has, and once more on the wall clock.
		most := m.Phases
		if m.Clock == "wall" {
			most++
		}
		if p.Phases > most {
			return fmt.Errorf("scenario %d has %d phases planned, the run %d", p.Number, p.Phases, m.Phases)
		}
	}
	if m.Slice.Of > 0 && len(m.Own()) == 0 {
		return fmt.Errorf("slice %v of %d scenarios holds none", m.Slice, len(m.Scenarios))
	}
	if _, err := time.Parse(time.DateOnly, m.Date); err != nil {
		return fmt.Errorf("date %q is no day; a run has one such as 2027-03-31", m.Date)
	}
	if m.Step <= 0 || m.Clock != "virtual" && m.Clock != "wall" {
		return fmt.Errorf("clock %q with a plant step of %v is none", m.Clock, m.Step)
	}
	return nil
}

// check tells what no run writes into a case: who reads it counts on the rest.
func (c *Case) check() error {
	if c.Worst < 0 || c.Worst >= max(1, len(c.Phases)) {
		return fmt.Errorf("worst_phase %d is none of its %d phases", c.Worst, len(c.Phases))
	}
	if c.Number < 1 || c.Line < 1 {
		return fmt.Errorf("number %d and line %d; both must be 1 or more", c.Number, c.Line)
	}
	for i := range c.Phases {
		if err := checkPhase(&c.Phases[i], i+1, len(c.Outcomes)); err != nil {
			return err
		}
	}
	told := map[string]bool{}
	for i := range c.Outcomes {
		o := &c.Outcomes[i]
		if err := checkOutcome(o, len(c.Phases)); err != nil {
			return fmt.Errorf("outcome of %s: %w", o.Requirement, err)
		}
		if told[o.Key()] {
			return fmt.Errorf("outcome of %s stands twice: %s", o.Requirement, o.Text)
		}
		told[o.Key()] = true
	}
	return nil
}

func checkPhase(p *Phase, place, outcomes int) error {
	if p.Number != place {
		return fmt.Errorf("phase %d stands in place %d", p.Number, place)
	}
	before := -1
	for _, f := range p.Figures {
		if f.Of <= before || f.Of >= outcomes {
			return fmt.Errorf("phase %d has a figure of outcome %d behind that of %d; the case has %d",
				p.Number, f.Of, before, outcomes)
		}
		before = f.Of
	}
	return nil
}

func checkOutcome(o *verdict.Outcome, phases int) error {
	u := o.Uncertainty
	switch {
	case !slices.Contains([]string{verdict.AtMost, verdict.AtLeast, verdict.Inside}, o.Comparison):
		return fmt.Errorf("comparison %q is not known", o.Comparison)
	case u.Timing < 0 || u.Model < 0:
		return fmt.Errorf("uncertainties %g and %g; both are 0 or more", u.Timing, u.Model)
	case o.Verdict == verdict.Pass && math.IsNaN(o.Value+o.Limit+u.Timing+u.Model):
		return fmt.Errorf("it passes, but of value %g, limit %g and uncertainties %g and %g one is not "+
			"a number", o.Value, o.Limit, u.Timing, u.Model)
	case o.Occasions < 0:
		return fmt.Errorf("occasions %d are less than none", o.Occasions)
	case o.Spread != nil && (o.Spread.Worst < 0 || o.Spread.Worst >= phases || o.Spread.Tried < 0):
		return fmt.Errorf("worst phase %d of %d tried; the case has %d", o.Spread.Worst,
			o.Spread.Tried, phases)
	}
	return nil
}
