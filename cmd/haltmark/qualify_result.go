package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/config"
)

// Outcomes of a mutant.
const (
	notCompiled   = "not compiled"
	killedByTests = "killed by tests"
	killedByGate  = "killed by gate"
	survived      = "survived"
)

// byDeadline is told in place of a test's or a scenario's name.
const byDeadline = "the deadline"

// result is what became of a mutant, a line of results.jsonl.
type result struct {
	ID        string  `json:"id"`
	Key       string  `json:"key"`
	File      string  `json:"file"`
	Line      int     `json:"line"`
	Function  string  `json:"function"`
	Operator  string  `json:"operator"`
	Before    string  `json:"before"`
	After     string  `json:"after"`
	Outcome   string  `json:"outcome"`
	Test      string  `json:"test,omitempty"`
	GateTried bool    `json:"gate_tried,omitempty"`
	Gate      []catch `json:"gate,omitempty"`
	Seconds   float64 `json:"seconds"`
}

// catch is a scenario that did not pass, with the requirements that were not met in it.
type catch struct {
	Scenario     string   `json:"scenario"`
	Verdict      string   `json:"verdict,omitempty"` // none where the gate left no summary
	Requirements []string `json:"requirements,omitempty"`
}

// requirements that a mutant was caught by, each once.
func (r *result) requirements() []string {
	var ids []string
	for _, by := range r.Gate {
		ids = append(ids, by.Requirements...)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// line tells of one mutant that has been tried.
func (r *result) line() string {
	by := r.Test
	if len(r.Gate) > 0 {
		first := r.Gate[0]
		by = strings.Join(append(r.requirements(), first.Verdict, first.Scenario), " ")
	}
	return fmt.Sprintf("%-15s  %s  %s:%d  %s: %s -> %s  %s (%.0f s)", r.Outcome, r.ID, r.File,
		r.Line, r.Operator, r.Before, shown(r.After), by, r.Seconds)
}

func resultsName(out string) string { return filepath.Join(out, "results.jsonl") }

// openResults reads the results of earlier runs under the same key, and opens the file for
// more. A last line that was cut off by the end of a run is left out.
func openResults(out, key string) (map[string]result, *os.File, error) {
	text, err := config.ReadFile(resultsName(out), config.JSONLimit)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	known := map[string]result{}
	var kept bytes.Buffer
	for line := range bytes.Lines(text) {
		var r result
		if json.Unmarshal(line, &r) != nil {
			continue
		}
		kept.Write(line)
		if r.Key == key {
			known[r.ID] = r
		}
	}
	file, err := os.Create(resultsName(out))
	if err == nil {
		_, err = file.Write(kept.Bytes())
	}
	return known, file, err
}

func appendResult(to io.Writer, r result) error {
	line, err := json.Marshal(r)
	if err == nil {
		_, err = to.Write(append(line, '\n'))
	}
	return err
}

// writeMatrix writes which requirement caught which mutant.
func writeMatrix(out string, results []result, requirements []string) error {
	var b strings.Builder
	b.WriteString(strings.Join(append([]string{"id", "file", "function", "operator", "outcome",
		"test"}, requirements...), "\t") + "\n")
	for _, r := range results {
		row := []string{r.ID, r.File, r.Function, r.Operator, r.Outcome, r.Test}
		caught := r.requirements()
		for _, id := range requirements {
			row = append(row, map[bool]string{true: "x"}[slices.Contains(caught, id)])
		}
		b.WriteString(strings.Join(row, "\t") + "\n")
	}
	return os.WriteFile(filepath.Join(out, "matrix.tsv"), []byte(b.String()), 0o644)
}
