package scenario

import (
	"fmt"
	"slices"
	"strings"

	"haltmark/bench/verdict"
)

// Unanswered finds the sentences of an example that no requirement answers, or
// whose requirement its Rule does not carry as a tag.
func (e *Example) Unanswered(all []verdict.Requirement) []error {
	var errs []error
	for _, s := range e.Steps {
		if s.Keyword != Then || s.Phrase == nil {
			continue
		}
		for _, q := range s.Phrase.Asks {
			if why := e.unanswered(q, all); why != "" {
				errs = append(errs, &Error{e.Path, s.Line, fmt.Sprintf("%q: %s", s.Text, why)})
			}
		}
	}
	return errs
}

// unanswered tells why no requirement answers a question; "" when one does. Where
// the sentence is about whatever cause came last, any of the measure will do.
func (e *Example) unanswered(q question, all []verdict.Requirement) string {
	ids := q.answers(all)
	if len(ids) == 0 {
		return "no requirement answers for " + q.Measure + "; load the set that has one"
	}
	for _, id := range ids {
		if slices.Contains(e.Tags, "@"+id) {
			return ""
		}
	}
	return "its Rule carries no tag of a requirement that it asks about; tag it with one of @" +
		strings.Join(ids, ", @")
}

// answers are the requirements that may answer a question, by the cause that comes.
func (q *question) answers(all []verdict.Requirement) (ids []string) {
	for _, r := range all {
		fits := r.ID == q.ID
		if q.ID == "" {
			fits = r.Measure == q.Measure && (q.Cause == "" || slices.Contains(r.Causes, q.Cause))
		}
		if fits {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// Answers are, for each thing that a Then asks, the requirements of which its Rule carries
// at least one as a tag.
func (p *Phrase) Answers(all []verdict.Requirement) [][]string {
	var each [][]string
	for i := range p.Asks {
		each = append(each, p.Asks[i].answers(all))
	}
	return each
}
