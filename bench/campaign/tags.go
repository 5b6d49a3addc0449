package campaign

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Tags is a selection by tags: one of its clauses must hold, and a clause holds
// when all of its terms do.
type Tags [][]term

type term struct {
	tag string
	not bool
}

var termForm = regexp.MustCompile(`^~?@[^\s~@,&]+$`)

// ParseTags reads a selection: @a has the tag, ~@a has it not, && is and, a comma
// is or and binds less close. An empty text selects everything.
func ParseTags(text string) (Tags, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	var all Tags
	for clause := range strings.SplitSeq(text, ",") {
		var terms []term
		for word := range strings.SplitSeq(clause, "&&") {
			word = strings.TrimSpace(word)
			if !termForm.MatchString(word) {
				return nil, fmt.Errorf("--tags %s: %q is no term; need @tag or ~@tag, "+
					"joined by && (and) or a comma (or)", text, word)
			}
			name, not := strings.CutPrefix(word, "~")
			terms = append(terms, term{name, not})
		}
		all = append(all, terms)
	}
	return all, nil
}

// Select reports whether tags are among the selection.
func (t Tags) Select(tags []string) bool {
	return len(t) == 0 || slices.ContainsFunc(t, func(clause []term) bool {
		return !slices.ContainsFunc(clause, func(one term) bool {
			return slices.Contains(tags, one.tag) == one.not
		})
	})
}
