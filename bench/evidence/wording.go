package evidence

import (
	"fmt"
	"math"
	"strings"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// axisWords names an axis of a record in a sentence.
func axisWords(name string) string {
	if axis, ok := plant.AxisNamed(name); ok {
		return axis.Words()
	}
	return plain(name)
}

// plain turns a name such as stop_travel into words.
func plain(name string) string { return strings.ReplaceAll(name, "_", " ") }

// shown prints a value in trade units; one that would print as zero and is not
// prints as closer to it than the last digit.
func shown(d quantity.Dimension, si float64) string {
	text := quantity.Format(d, si)
	number, unit, _ := strings.Cut(text, " ")
	digits := strings.TrimLeft(number, "-")
	if si == 0 || strings.Trim(digits, "0.") != "" || !strings.Contains(digits, ".") {
		return text
	}
	least := digits[:len(digits)-1] + "1 " + unit
	if si < 0 {
		return strings.TrimSpace("> -" + least)
	}
	return strings.TrimSpace("< " + least)
}

// likeNeighbour prints a figure that was computed of measured ones. A count's has
// three decimals at most, since the float's other digits say nothing.
func likeNeighbour(d quantity.Dimension, si float64) string {
	if d != quantity.DimNone {
		return shown(d, si)
	}
	return strings.TrimSuffix(strings.TrimRight(decimal(si, 3), "0"), ".")
}

// bound words a limit with its direction.
func bound(o *verdict.Outcome) string {
	word := "at most "
	if o.LeastOwed() {
		word = "at least "
	}
	return word + shown(o.Dimension, o.Limit)
}

// subject names what was measured: quantity, axis, end and item.
func subject(o *verdict.Outcome) string {
	text := plain(o.Measure)
	if o.Axis != "" {
		text += ", " + axisWords(o.Axis)
	}
	if o.End != "" {
		text += " " + o.End
	}
	if o.Item != "" && o.Item != o.Axis {
		text += ", " + plain(o.Item)
	}
	return text
}

// line is an outcome as one line of plain text.
func line(o *verdict.Outcome) string {
	text := fmt.Sprintf("%s %s: %s", o.Requirement, o.Verdict, subject(o))
	if o.Measured {
		text += fmt.Sprintf(" %s, %s, margin %s, uncertainty %s", shown(o.Dimension, o.Value),
			bound(o), shown(o.Dimension, o.Margin),
			shown(o.Dimension, o.Uncertainty.Expanded()))
	}
	if s := o.Spread; s != nil && s.Tried > 1 {
		text += fmt.Sprintf(", worst of %d phases", s.Tried)
	}
	if o.Watch {
		text += ", " + counted(o.Occasions, "occasion")
	}
	if o.Reason != "" {
		text += "; " + o.Reason
	}
	return text
}

// counted is a number with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// lasted words a span for people: 12.3 s, 4 min 05 s, 1 h 02 min.
func lasted(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%.1f s", d.Seconds())
	case d < time.Hour:
		return fmt.Sprintf("%d min %02d s", int(d/time.Minute), int(d%time.Minute/time.Second))
	}
	return fmt.Sprintf("%d h %02d min", int(d/time.Hour), int(d%time.Hour/time.Minute))
}

// asked are the outcomes that a sentence asked for.
func (c *Case) asked(s Sentence) []*verdict.Outcome {
	var found []*verdict.Outcome
	for i := range c.Outcomes {
		if o := &c.Outcomes[i]; !o.Watch && o.Text == s.Text {
			found = append(found, o)
		}
	}
	return found
}

// watched are the outcomes of watches.
func (c *Case) watched() []*verdict.Outcome {
	var found []*verdict.Outcome
	for i := range c.Outcomes {
		if c.Outcomes[i].Watch {
			found = append(found, &c.Outcomes[i])
		}
	}
	return found
}

// standing is the worth of a sentence with all that it asked for.
func (c *Case) standing(s Sentence) verdict.Verdict {
	worst := s.Verdict
	for _, o := range c.asked(s) {
		worst = verdict.Merge(worst, o.Verdict)
	}
	return worst
}

// because is why a case did not pass: its own reason, or its outcomes that did
// not.
func (c *Case) because() string {
	var lines []string
	if c.Reason != "" {
		lines = append(lines, c.Reason)
	}
	for i := range c.Outcomes {
		if o := &c.Outcomes[i]; o.Verdict.ExitCode() != 0 && o.Verdict != verdict.NotExercised {
			lines = append(lines, line(o))
		}
	}
	return strings.Join(lines, "\n")
}

// ratio is measured over derived; false where either is unknown.
func (s Stop) ratio() (float64, bool) {
	if !(s.Derived > 0) || math.IsInf(s.Derived, 0) || math.IsNaN(s.Travel) {
		return 0, false
	}
	return s.Travel / s.Derived, true
}
