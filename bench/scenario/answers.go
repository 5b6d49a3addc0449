package scenario

import (
	"fmt"
	"regexp"
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
			if q.occasion != nil {
				continue
			}
			if why := e.unanswered(q, all); why != "" {
				errs = append(errs, &Error{e.Path, s.Line, fmt.Sprintf("%q: %s", s.Text, why)})
			}
		}
	}
	return errs
}

// Unasked finds the tags that name no requirement, and those of a requirement that no
// sentence of the Rule asks about: whoever reads the Rule would think that it shows it. What
// is watched throughout needs no sentence.
func Unasked(examples []Example, all []verdict.Requirement) []error {
	asked := map[[2]string][]string{} // by path and Rule
	for i := range examples {
		e := &examples[i]
		for _, s := range e.Steps {
			if s.Phrase == nil {
				continue
			}
			for _, ids := range s.Phrase.Answers(all) {
				asked[e.rule()] = append(asked[e.rule()], ids...)
			}
		}
	}
	var errs []error
	for i := range examples {
		e := &examples[i]
		for _, tag := range e.Tags {
			if why := unasked(tag, asked[e.rule()], all); why != "" {
				errs = append(errs, &Error{e.Path, e.Line, why})
			}
		}
	}
	return errs
}

func (e *Example) rule() [2]string { return [2]string{e.Path, e.Rule} }

// idForm is that of the tags which name a requirement.
var idForm = regexp.MustCompile(`^@HR-[0-9]+$`)

func unasked(tag string, asked []string, all []verdict.Requirement) string {
	if !idForm.MatchString(tag) {
		return ""
	}
	at := slices.IndexFunc(all, func(q verdict.Requirement) bool { return "@"+q.ID == tag })
	switch {
	case at < 0:
		return tag + " names no requirement of the loaded sets; mend or remove it"
	case !all[at].Watch && !slices.Contains(asked, tag[1:]):
		return fmt.Sprintf("no sentence of its Rule asks about %s, which it carries as a tag; ask, or "+
			"remove the tag", tag)
	}
	return ""
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
