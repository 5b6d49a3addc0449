package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"haltmark/bench/campaign"
	"haltmark/bench/config"
)

// Classes of an explained survivor.
const (
	equivalent = "equivalent" // it changes nothing that anybody could see
	hole       = "hole"       // nothing looks; a scenario or a test is missing
)

// explanation is a line of survivorsFile.
type explanation struct {
	line     int
	id, file string
	class    string
	why      string
}

var survivorColumns = []string{"id", "file", "function", "operator", "before", "after", "class",
	"why"}

// readExplanations reads what is known of survivors; no file explains none.
func readExplanations(name string) ([]explanation, error) {
	text, err := config.ReadFile(name, config.FixtureLimit)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, campaign.BadInput{err.Error()}
	}
	var found []explanation
	var bad campaign.BadInput
	seen := map[string]bool{}
	for i, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		if i == 0 {
			if line != strings.Join(survivorColumns, "\t") {
				bad = append(bad, fmt.Sprintf("%s:1: need the columns %s, with tabs between", name,
					strings.Join(survivorColumns, ", ")))
			}
			continue
		}
		e, err := parseExplanation(line)
		if err == nil && seen[e.id] {
			err = fmt.Errorf("%s is explained twice", e.id)
		}
		if err != nil {
			bad = append(bad, fmt.Sprintf("%s:%d: %v", name, i+1, err))
		}
		e.line, seen[e.id] = i+1, true
		found = append(found, e)
	}
	if bad != nil {
		return nil, bad
	}
	return found, nil
}

func parseExplanation(line string) (explanation, error) {
	part := strings.Split(line, "\t")
	if len(part) != len(survivorColumns) {
		return explanation{}, fmt.Errorf("%d columns, need %d", len(part), len(survivorColumns))
	}
	e := explanation{id: part[0], file: part[1], class: part[6], why: strings.TrimSpace(part[7])}
	if e.class != equivalent && e.class != hole {
		return e, fmt.Errorf("%q is no class; need %s or %s", e.class, equivalent, hole)
	}
	if e.why == "" {
		return e, errors.New("it does not say why")
	}
	return e, nil
}

// writeUnexplained writes lines that only lack class and reason.
func writeUnexplained(out string, survivors []survivor) error {
	var b strings.Builder
	b.WriteString(strings.Join(survivorColumns, "\t") + "\n")
	for _, v := range survivors {
		if v.explained == nil {
			b.WriteString(strings.Join([]string{v.ID, v.File, v.Function, v.Operator, v.Before, v.After,
				"", "\n"}, "\t"))
		}
	}
	return os.WriteFile(filepath.Join(out, "survivors.tsv"), []byte(b.String()), 0o644)
}

// explained finds what is known of a survivor.
func (q *qualification) explained(id string) *explanation {
	for i := range q.explains {
		if q.explains[i].id == id {
			return &q.explains[i]
		}
	}
	return nil
}

// staleExplanations tells those about mutants that are no more, or survive no longer.
func (q *qualification) staleExplanations(results []result) []string {
	exists, outcome := map[string]bool{}, map[string]string{}
	for i := range q.all {
		exists[q.all[i].ID] = true
	}
	for i := range results {
		outcome[results[i].ID] = results[i].Outcome
	}
	var said []string
	for _, e := range q.explains {
		switch became := outcome[e.id]; {
		case path.Dir(e.file) != q.subject.dir:
		case !exists[e.id]:
			said = append(said, fmt.Sprintf("%s:%d: there is no mutant %s any longer", survivorsFile,
				e.line, e.id))
		case became != "" && became != survived:
			said = append(said, fmt.Sprintf("%s:%d: the mutant %s is %s now", survivorsFile, e.line,
				e.id, became))
		}
	}
	return said
}
