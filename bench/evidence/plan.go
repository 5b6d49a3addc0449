package evidence

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"haltmark/bench/config"
	"haltmark/bench/verdict"
)

// Planned is one scenario that a run sets out to try.
type Planned struct {
	Number  int
	Feature string
	Rule    string
	Name    string
	Path    string
	Line    int
	Tags    []string
	Corner  string // of the station; empty at nominal
	Seed    uint64
	Phases  int // runs of it, in virtual time and on the wall clock
}

type plannedJSON struct {
	Number  int      `json:"number"`
	Feature string   `json:"feature"`
	Rule    string   `json:"rule,omitempty"`
	Name    string   `json:"name"`
	Path    string   `json:"path"`
	Line    int      `json:"line"`
	Tags    []string `json:"tags,omitempty"`
	Corner  string   `json:"corner,omitempty"`
	Seed    string   `json:"seed"`
	Phases  int      `json:"phases"`
}

func encodePlanned(p Planned) plannedJSON {
	return plannedJSON{p.Number, p.Feature, p.Rule, p.Name, p.Path, p.Line, p.Tags,
		p.Corner, seedText(p.Seed), p.Phases}
}

func (f plannedJSON) planned() (Planned, error) {
	seed, err := seedOf(f.Seed)
	return Planned{f.Number, f.Feature, f.Rule, f.Name, f.Path, f.Line, f.Tags, f.Corner, seed,
		f.Phases}, err
}

// WithUnended adds to the cases that ended, in order of number, those that the
// run planned and that did not end. A case that did not end counts as not exercised.
func (m *Manifest) WithUnended(ended []Case) []Case {
	all := slices.Clone(ended)
	known := map[int]bool{}
	for i := range ended {
		known[ended[i].Number] = true
	}
	for _, p := range m.Own() {
		if known[p.Number] {
			continue
		}
		const why = "the scenario did not end"
		all = append(all, Case{Number: p.Number, Feature: p.Feature, Rule: p.Rule, Name: p.Name,
			Path: p.Path, Line: p.Line, Tags: p.Tags, Corner: p.Corner, Seed: p.Seed, Unended: true,
			Verdict: verdict.NotExercised, Reason: why, Sentences: []Sentence{{Keyword: "*",
				Text: "all of it", Line: p.Line, Verdict: verdict.NotExercised, Note: why}}})
	}
	slices.SortStableFunc(all, func(a, b Case) int { return a.Number - b.Number })
	return all
}

// Ended counts the cases that ended.
func (r *Run) Ended() int {
	n := 0
	for i := range r.Cases {
		if !r.Cases[i].Unended {
			n++
		}
	}
	return n
}

// complete reports whether every planned scenario ended.
func (r *Run) complete() bool { return r.Ended() >= max(len(r.Cases), len(r.Manifest.Own())) }

// Records says of how many phases the record is kept, and where the figures of the
// others come from.
func (r *Run) Records() string {
	kept, all := 0, 0
	for i := range r.Cases {
		for _, p := range r.Cases[i].Phases {
			all++
			if p.Kept {
				kept++
			}
		}
	}
	if kept == all {
		return fmt.Sprintf("The records of all %s are kept.", counted(all, "phase"))
	}
	return fmt.Sprintf("The records of %d of %d phases are kept; the figures of the dropped "+
		"phases come from case.json.", kept, all)
}

// identityOf is the SHA-256 of a manifest but for the command line, which two
// equal runs may differ in, and the slice, which is a part of the same one.
func identityOf(manifest []byte) (string, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(config.WithoutMark(manifest), &fields); err != nil {
		return "", err
	}
	delete(fields, "command_line")
	delete(fields, "slice")
	text, err := json.Marshal(fields) // in order of the keys, without blanks
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// strays finds what lies in the folder of a case that ended beside it and the records it
// tells of: a record that is not told of would not be judged.
func (f *Folder) strays(c *Case) error {
	dir := f.CaseDir(c.Number, c.Name)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	own := map[string]bool{caseFile: true}
	for i := range c.Phases {
		if c.Phases[i].Kept {
			own[filepath.Base(f.PhaseDir(c.Number, c.Name, c.Phases[i].Number))] = true
		}
	}
	for _, entry := range entries {
		if !own[entry.Name()] {
			return fmt.Errorf("evidence: %s: %s does not tell of it", filepath.Join(dir, entry.Name()),
				caseFile)
		}
		if !entry.IsDir() {
			continue
		}
		parts, err := os.ReadDir(filepath.Join(dir, entry.Name()))
		if err != nil {
			return fmt.Errorf("evidence: %w", err)
		}
		for _, part := range parts {
			if !slices.Contains(recordFiles(), part.Name()) {
				return fmt.Errorf("evidence: %s: is no part of a record",
					filepath.Join(dir, entry.Name(), part.Name()))
			}
		}
	}
	return nil
}

// ours tells what is wrong with a case that was found in a folder of scenarios.
func (f *Folder) ours(dir string, form *caseJSON, c *Case) error {
	other := func(why string) error {
		return fmt.Errorf("evidence: %s: is not of this run: %s", dir, why)
	}
	if form.Run != f.identity {
		return other("its case.json names another manifest.json")
	}
	p, planned := f.planned[c.Number]
	if !planned {
		return other(fmt.Sprintf("manifest.json plans no scenario %d", c.Number))
	}
	switch {
	case p.Path != c.Path || p.Line != c.Line || p.Name != c.Name:
		return other(fmt.Sprintf("manifest.json plans %s:%d %s", p.Path, p.Line, p.Name))
	case !slices.Equal(p.Tags, c.Tags):
		return other("its tags are not those of manifest.json")
	case p.Corner != c.Corner:
		return other("its corner is not that of manifest.json")
	case p.Seed != c.Seed:
		return other("its seed is not that of manifest.json")
	case filepath.Base(dir) != filepath.Base(f.CaseDir(c.Number, c.Name)):
		return other("its case.json belongs into " + filepath.Base(f.CaseDir(c.Number, c.Name)))
	case c.Verdict != verdict.BenchFailed && len(c.Phases) != p.Phases:
		return other(fmt.Sprintf("it has %d phases, planned were %d", len(c.Phases), p.Phases))
	}
	return nil
}
