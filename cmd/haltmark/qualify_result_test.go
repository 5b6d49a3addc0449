package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const explanationHead = "id\tfile\tfunction\toperator\tbefore\tafter\tclass\twhy\n"

func TestReadExplanations(t *testing.T) {
	for text, want := range map[string]string{
		"id\n":                     ":1: need the columns id, file,",
		explanationHead + "a\tb\n": ":2: 2 columns, need 8",
		explanationHead + "a\tb\tc\td\te\t\tmaybe\ty\n":                   `:2: "maybe" is no class`,
		explanationHead + "a\tb\tc\td\te\t\thole\t \n":                    ":2: it does not say why",
		explanationHead + strings.Repeat("a\tb\tc\td\te\t\thole\ty\n", 2): ":3: a is explained twice",
	} {
		name := filepath.Join(t.TempDir(), "survivors.tsv")
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := readExplanations(name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
	if found, err := readExplanations(filepath.Join(t.TempDir(), "none")); found != nil || err != nil {
		t.Errorf("no file: %v, %v", found, err)
	}
}

// The file that ships can be read, and every mutant that it explains exists.
func TestSurvivors_ThatShipExist(t *testing.T) {
	inTheTree(t)
	found, err := readExplanations(survivorsFile)
	if err != nil {
		t.Fatal(err)
	}
	for _, of := range []string{"standin", "drive", "interlock", "station", "verdict"} {
		q := &qualification{subject: subjects[of], explains: found}
		if q.all, err = readMutants(q.subject.dir); err != nil {
			t.Fatal(err)
		}
		for _, line := range q.staleExplanations(nil) {
			t.Error(line)
		}
	}
}

func TestOpenResults_ByKey(t *testing.T) {
	out := t.TempDir()
	text := `{"id":"a","key":"k","outcome":"survived"}` + "\n" +
		`{"id":"b","key":"other","outcome":"survived"}` + "\n" + `{"id":"c","key":"k","outc`
	if err := os.WriteFile(resultsName(out), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	known, file, err := openResults(out, "k")
	if err != nil {
		t.Fatal(err)
	}
	err = appendResult(file, result{ID: "d", Key: "k"})
	if closed := file.Close(); err != nil || closed != nil || len(known) != 1 ||
		known["a"].Outcome != survived {
		t.Errorf("%v, %v, %v", known, err, closed)
	}
	known, file, err = openResults(out, "k")
	if err != nil || len(known) != 2 || file.Close() != nil {
		t.Errorf("later: %v, %v", known, err)
	}
}

// What is explained as equivalent counts apart; a hole and what nobody explained fail.
func TestSummed_ByExplanation(t *testing.T) {
	q := &qualification{subject: subject{dir: "p"}, explains: []explanation{
		{line: 2, id: "same", file: "p/a.go", class: equivalent, why: "w"},
		{line: 3, id: "gap", file: "p/a.go", class: hole, why: "w"},
		{line: 4, id: "dead", file: "p/a.go", class: hole, why: "w"},
		{line: 5, id: "elsewhere", file: "other/a.go", class: hole, why: "w"},
	}}
	results := []result{
		{ID: "same", Operator: "o", Outcome: survived, GateTried: true},
		{ID: "seen", Operator: "o", Outcome: killedByGate, GateTried: true,
			Gate: []catch{{"f:1 s", "fail", []string{"HR-1", "HR-2"}},
				{"f:2 t", "fail", []string{"HR-1"}}, {"f:4 v", "inconclusive", nil}}},
		{ID: "test", Operator: "p", Outcome: killedByTests, Test: "TestA"},
		{ID: "none", Operator: "p", Outcome: notCompiled},
	}
	s := q.summed(results)
	if s.open() {
		t.Error("an equivalent survivor is open")
	}
	var out bytes.Buffer
	h := healthy{Requirements: []string{"HR-1", "HR-2", "HR-3"},
		Scenarios: []string{"f:1 s", "f:3 u", "f:4 v"}}
	s.print(&console{out: &out}, h, true, true)
	for _, want := range []string{
		"of 2 mutants that a gate tried, by requirement: HR-1 1, HR-2 1\n",
		"requirements that caught none: HR-3\nscenarios that failed for none: 2 of 3\n  f:3 u\n  f:4 v\n",
		"killed 2 of 3 mutants that compile, 100.0 % of those that are not equivalent; " +
			"survived: 1 equivalent, 0 holes, 0 not explained\n",
	} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
	if got := q.summed(nil).share(); got != "no mutant that compiles was tried" {
		t.Errorf("of none: %s", got)
	}
	for _, id := range []string{"gap", "unknown"} {
		if s = q.summed([]result{{ID: id, Outcome: survived}}); !s.open() {
			t.Errorf("%s is not open", id)
		}
	}
	stale := q.staleExplanations([]result{{ID: "seen", Outcome: killedByGate}})
	if len(stale) != 3 || !strings.Contains(stale[2], ":4: there is no mutant dead any longer") {
		t.Errorf("stale: %q", stale)
	}
}

func TestWriteUnexplained_IsTheFormOfTheFile(t *testing.T) {
	out := t.TempDir()
	v := survivor{result: result{ID: "a", File: "p/a.go", Function: "f", Operator: "o", Before: "b"}}
	if err := writeUnexplained(out, []survivor{v, {explained: &explanation{}}}); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(out, "survivors.tsv"))
	if want := explanationHead + "a\tp/a.go\tf\to\tb\t\t\t\n"; string(text) != want {
		t.Errorf("%q, %v; want %q", text, err, want)
	}
}

func TestWriteMatrix(t *testing.T) {
	out := t.TempDir()
	err := writeMatrix(out, []result{{ID: "a", Outcome: killedByGate,
		Gate: []catch{{"s", "fail", []string{"HR-2"}}}}}, []string{"HR-1", "HR-2"})
	text, _ := os.ReadFile(filepath.Join(out, "matrix.tsv"))
	want := "id\tfile\tfunction\toperator\toutcome\ttest\tHR-1\tHR-2\na\t\t\t\tkilled by gate\t\t\tx\n"
	if err != nil || string(text) != want {
		t.Errorf("%q, %v; want %q", text, err, want)
	}
}
