package evidence

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// The manifest tells before the first scenario what is planned, and a scenario of
// which the folder has nothing counts as not exercised.
func TestPlan_WhatDidNotEndIsNotExercised(t *testing.T) {
	f, r := stored(t)
	check(t, os.RemoveAll(f.CaseDir(2, r.Cases[1].Name)))
	again, err := Open(f.Path())
	check(t, err)
	ended, err := again.Cases()
	check(t, err)
	m := again.Manifest()
	all := m.WithUnended(ended)
	if len(ended) != 3 || len(all) != 4 {
		t.Fatalf("%d of %d ended; want 3 of 4", len(ended), len(all))
	}
	one := all[1]
	if one.Number != 2 || one.Name != r.Cases[1].Name || one.Line != 30 || !one.Unended ||
		one.Verdict != verdict.NotExercised || one.Reason == "" {
		t.Errorf("%+v; want scenario 2 as not exercised, with a reason", one)
	}
}

// Finishing a run that lacks a scenario does not make it complete.
func TestFinish_IncompleteStaysSo(t *testing.T) {
	for _, lacks := range []bool{false, true} {
		f, r := stored(t)
		if lacks {
			r.Cases = r.Manifest.WithUnended(r.Cases[:3])
		}
		check(t, f.Finish(r, Host{Wall: time.Second}))
		text, err := os.ReadFile(filepath.Join(f.Path(), hostFile))
		check(t, err)
		if complete := strings.Contains(string(text), `"complete": true`); complete == lacks {
			t.Errorf("lacks one: %v; host.json\n%s", lacks, text)
		}
		if r.Cases = r.Cases[:3]; lacks && r.complete() {
			t.Error("a run without the case that did not end is complete")
		}
	}
}

// A scenario of another run is refused by its folder's name: of another defect,
// build or seed, of another place in the run, or with a phase cut out.
func TestCases_RefusesAnothersScenario(t *testing.T) {
	for name, change := range map[string]func(*Manifest){
		"defect": func(m *Manifest) { m.Defect = "sleepy" },
		"build":  func(m *Manifest) { m.Build = "00" },
		"seed":   func(m *Manifest) { m.Seed++ },
		"plan":   func(m *Manifest) { m.Scenarios = m.Scenarios[:3] },
	} {
		f, r := stored(t)
		other := r.Manifest
		change(&other)
		g, err := Create(t.TempDir(), other, Host{})
		check(t, err)
		refused(t, name, f, g)
	}
	f, r := stored(t)
	same, err := Create(t.TempDir(), r.Manifest, Host{})
	check(t, err)
	check(t, os.CopyFS(filepath.Join(same.Path(), scenariosDir),
		os.DirFS(filepath.Join(f.Path(), scenariosDir))))
	if _, err := same.Cases(); err != nil {
		t.Errorf("the same run: %v", err)
	}
	check(t, os.Rename(f.CaseDir(4, r.Cases[3].Name), f.CaseDir(5, r.Cases[3].Name)))
	if _, err := f.Cases(); err == nil || !strings.Contains(err.Error(), "005-all-is-well") {
		t.Errorf("renamed: %v; want the folder's name", err)
	}
}

// refused holds that g does not take the scenarios of f.
func refused(t *testing.T, what string, f, g *Folder) {
	t.Helper()
	dir := filepath.Join(g.Path(), scenariosDir)
	check(t, os.CopyFS(dir, os.DirFS(filepath.Join(f.Path(), scenariosDir))))
	_, err := g.Cases()
	if err == nil || !strings.Contains(err.Error(), filepath.Join(dir, "001-azimuth-moves")) {
		t.Errorf("%s: %v; want a refusal that names the folder", what, err)
	}
}

func TestCases_RefusesAChangedCase(t *testing.T) {
	for what, change := range map[string]func(*Case){
		"seed":   func(c *Case) { c.Seed++ },
		"tags":   func(c *Case) { c.Tags = append(c.Tags, "@HR-009") },
		"corner": func(c *Case) { c.Corner = "brakes 80 %" },
		"line":   func(c *Case) { c.Line++ },
		"phases": func(c *Case) { c.Phases = c.Phases[:1] },
		"number": func(c *Case) { c.Number = 9 },
	} {
		f, r := stored(t)
		change(&r.Cases[0])
		check(t, f.FinishCase(&r.Cases[0]))
		if _, err := f.Cases(); err == nil || !strings.Contains(err.Error(), "not of this run") {
			t.Errorf("%s: %v; want a refusal", what, err)
		}
	}
}

// A record that was put in place of another is whole by itself and yet refused.
func TestRecord_RefusesAnothersRecord(t *testing.T) {
	f, r := stored(t)
	_, rec := sampleRun()
	rec.Marks[0].Name = "another"
	dir := f.PhaseDir(1, r.Cases[0].Name, 2)
	check(t, WriteRecord(dir, rec))
	if _, err := ReadRecord(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := f.WorstRecord(&r.Cases[0]); err == nil || !strings.Contains(err.Error(), dir) {
		t.Errorf("%v; want a refusal that names %s", err, dir)
	}
}

// The command line is not what a run is; everything else in the manifest is.
func TestIdentity_WithoutTheCommandLine(t *testing.T) {
	of := func(text string) string {
		sum, err := identityOf([]byte(text))
		check(t, err)
		return sum
	}
	a := of(`{"command_line": ["x"], "seed": "1"}`)
	if b := of(`{"seed":"1","command_line":["y"]}`); a != b {
		t.Error("the command line or the layout counts")
	}
	if b := of(`{"seed":"2","command_line":["x"]}`); a == b {
		t.Error("the seed does not count")
	}
}

// Mean + 3 sigma of counts has no more than three decimals, as every other figure; towards a
// least value it is mean - 3 sigma, beside the smallest value. Two phases have neither.
func TestFigures_MeanPlus3SigmaIsRounded(t *testing.T) {
	for _, row := range []struct {
		d    quantity.Dimension
		si   float64
		want string
	}{
		{quantity.DimNone, 1.1 + 2.2 + 1.0/3, "3.633"}, {quantity.DimNone, 10, "10"},
		{quantity.DimNone, 0, "0"}, {quantity.DimSpan, 1.0 / 3, "333.3\u00a0ms"},
	} {
		o := verdict.Outcome{Dimension: row.d, Comparison: verdict.AtMost,
			Spread: &verdict.Spread{Tried: 3, MeanPlus3Sigma: row.si}}
		if got := figuresOf(&o).Sigma3; got != row.want {
			t.Errorf("%v %v: %q; want %q", row.d, row.si, got, row.want)
		}
	}
	o := verdict.Outcome{Dimension: quantity.DimNone, Comparison: verdict.AtLeast,
		Spread: &verdict.Spread{Tried: 3, Least: 4, Greatest: 8, Mean: 6, MeanPlus3Sigma: 9}}
	if v := figuresOf(&o); v.Extreme != "4" || v.Sigma3 != "3" {
		t.Errorf("at least: extreme %q, mean less 3 sigma %q", v.Extreme, v.Sigma3)
	}
	if o.Spread.Tried = 2; figuresOf(&o).Sigma3 != "" {
		t.Error("two phases have a standard deviation")
	}
}
