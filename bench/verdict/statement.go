package verdict

import (
	"regexp"
	"slices"
	"strings"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// limitFigure stands in a statement for the requirement's own limit; any other figure
// is a parameter's path, or several with plus signs between.
const limitFigure = "{limit}"

var figure = regexp.MustCompile(`\{([^{}]*)\}`)

// statementFlaws says what a statement lacks.
func (q Requirement) statementFlaws(say func(wrong bool, format string, args ...any)) {
	if q.Statement == "" {
		say(true, "%s: no statement", q.ID)
		return
	}
	say(!slices.Contains(strings.Fields(q.Statement), "shall"),
		"%s: the statement says nowhere what shall be", q.ID)
	told := strings.Contains(q.Statement, limitFigure)
	say(told && len(q.Limit) == 0, "%s: the statement has a %s and the requirement no limit",
		q.ID, limitFigure)
	say(!told && len(q.Limit) > 0, "%s: the statement does not tell its %s", q.ID, limitFigure)
}

// State fills a station's figures into a statement. Where they differ from axis to axis
// each is told with its axes.
func (l Limits) State(q Requirement) string {
	return figure.ReplaceAllStringFunc(q.Statement, func(hole string) string {
		asked := q
		if hole != limitFigure {
			asked = Requirement{Limit: strings.Split(strings.Trim(hole, "{}"), " + ")}
		}
		return l.figures(asked)
	})
}

// figures is the limit of a requirement in words.
func (l Limits) figures(q Requirement) string {
	var texts []string
	axes := map[string][]string{}
	for axis := range plant.Axis(plant.AxisCount) {
		text, ok := l.figure(q, axis.String())
		if !ok {
			continue // an axis without such a part
		}
		if axes[text] == nil {
			texts = append(texts, text)
		}
		axes[text] = append(axes[text], axis.Words())
	}
	switch len(texts) {
	case 0:
		return "a figure that this station does not give"
	case 1:
		return texts[0]
	}
	for i, text := range texts {
		texts[i] = text + " in " + strings.Join(axes[text], " and ")
	}
	return strings.Join(texts, ", ")
}

// figure is the limit of a requirement on one axis; of one with two ends, from the
// lower to the upper.
func (l Limits) figure(q Requirement, axis string) (text string, ok bool) {
	ends := plant.EndNames[:1]
	if q.Comparison == Inside {
		ends = plant.EndNames[:]
	}
	for i, end := range ends {
		_, dimension, _ := l(place(q.Limit[0], axis, end))
		si, err := l.sum(q.Limit, axis, end, dimension)
		if err != nil {
			return "", false
		}
		if i > 0 {
			text += " to "
		}
		text += quantity.Short(dimension, si)
	}
	return text, true
}
