package evidence

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"haltmark/bench/verdict"
)

// parsed is JUnit XML as its readers take it: testsuites, testsuite, testcase and
// at most one of failure, error and skipped (the schema of the Ant task and its
// followers, from memory).
type parsed struct {
	Tests    int `xml:"tests,attr"`
	Failures int `xml:"failures,attr"`
	Errors   int `xml:"errors,attr"`
	Skipped  int `xml:"skipped,attr"`
	Suites   []struct {
		Name  string `xml:"name,attr"`
		Tests int    `xml:"tests,attr"`
		Cases []struct {
			Name      string `xml:"name,attr"`
			ClassName string `xml:"classname,attr"`

			Failure *message `xml:"failure"`
			Error   *message `xml:"error"`
			Skipped *message `xml:"skipped"`
		} `xml:"testcase"`
	} `xml:"testsuite"`
}

type message struct {
	Text string `xml:"message,attr"`
}

func junit(t *testing.T, r *Run) parsed {
	t.Helper()
	var b bytes.Buffer
	check(t, WriteJUnit(&b, r))
	wellFormed(t, b.Bytes())
	var p parsed
	check(t, xml.Unmarshal(b.Bytes(), &p))
	return p
}

// wellFormed reads XML to its end, strictly.
func wellFormed(t *testing.T, text []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(text))
	d.Entity = xml.HTMLEntity
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			line, column := d.InputPos()
			t.Fatalf("line %d, column %d: %v", line, column, err)
		}
	}
}

// A fail is a failure, inconclusive and not testable are errors. A
// waived case is skipped with its reason; a failure cannot be waived.
func TestWriteJUnit_Elements(t *testing.T) {
	for v, want := range map[verdict.Verdict]string{
		verdict.Pass: "", verdict.Fail: "failure", verdict.Inconclusive: "error",
		verdict.NotTestable: "error", verdict.NotExercised: "error",
		verdict.BenchFailed: "error", verdict.NotSelected: "skipped",
	} {
		for _, waived := range []string{"", "no such drive"} {
			p := junit(t, &Run{Cases: []Case{{Name: "one", Verdict: v, Waived: waived}}})
			c := p.Suites[0].Cases[0]
			got := ""
			switch {
			case c.Failure != nil:
				got = "failure"
			case c.Error != nil:
				got = "error"
			case c.Skipped != nil:
				got = "skipped"
			}
			expect := want
			if waived != "" && want == "error" && v != verdict.BenchFailed {
				expect = "skipped"
			}
			if got != expect {
				t.Errorf("%v, waived %q: %q, want %q", v, waived, got, expect)
			}
			if p.Tests != 1 || p.Failures != count(expect == "failure") ||
				p.Errors != count(expect == "error") || p.Skipped != count(expect == "skipped") {
				t.Errorf("%v: counts %+v", v, p)
			}
			if got == "skipped" && waived != "" && v != verdict.NotSelected &&
				c.Skipped.Text != "waived: no such drive" {
				t.Errorf("%v: skipped without the reason: %q", v, c.Skipped.Text)
			}
		}
	}
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// A name says what it is about without its class, and no two cases share one.
func TestWriteJUnit_NamesStandByThemselves(t *testing.T) {
	r, _ := sampleRun()
	first := r.Cases[0]
	want := first.Rule + ": " + first.Name
	if !strings.Contains(want, "Pressed in motion, it brings every axis to rest: azimuth moves") {
		t.Fatalf("the sample is another: %s", want)
	}
	seen := map[string]bool{}
	for _, c := range junit(t, r).Suites[0].Cases {
		seen[c.ClassName+c.Name] = true
	}
	if !seen[first.Feature+want] || len(seen) != 2 { // two of its cases are one, once waived
		t.Errorf("names %v; want %q of %q among them", seen, want, first.Feature)
	}
}

// Files and cases stand in the order in which they were given, and the
// requirements that nobody exercised are seen.
func TestWriteJUnit_Order(t *testing.T) {
	r, _ := sampleRun()
	p := junit(t, r)
	var names []string
	for _, s := range p.Suites {
		names = append(names, s.Name)
	}
	same(t, []string{r.Cases[0].Feature, "Final limits", "Requirements"}, names)
	if p.Tests != 8 || p.Failures != 2 || p.Errors != 2 || p.Skipped != 2 {
		t.Errorf("counts %d, %d, %d, %d; want 8 tests, 2 failures, 2 errors, 2 skipped",
			p.Tests, p.Failures, p.Errors, p.Skipped)
	}
}

func TestWriteCucumber_Steps(t *testing.T) {
	r, _ := sampleRun()
	var b bytes.Buffer
	check(t, WriteCucumber(&b, r))
	var features []struct {
		URI      string `json:"uri"`
		Elements []struct {
			Name  string `json:"name"`
			Steps []struct {
				Keyword string   `json:"keyword"`
				Output  []string `json:"output"`
				Result  struct {
					Status string `json:"status"`
				} `json:"result"`
			} `json:"steps"`
		} `json:"elements"`
	}
	check(t, json.Unmarshal(b.Bytes(), &features))
	if len(features) != 2 || len(features[0].Elements) != 3 {
		t.Fatalf("%d features, want 2 with 3 scenarios in the first", len(features))
	}
	var got []string
	for _, s := range features[0].Elements[0].Steps {
		got = append(got, s.Keyword+s.Result.Status)
	}
	same(t, []string{"Given passed", "When passed", "And passed", "Then failed"}, got)
	if n := len(features[0].Elements[0].Steps[3].Output); n != 2 {
		t.Errorf("the Then tells of %d measurements, want 2", n)
	}
	if got := features[0].Elements[1].Steps[0].Result.Status; got != "pending" {
		t.Errorf("not testable is %s, want pending", got)
	}
	if got := features[0].Elements[2].Steps[0].Result.Status; got != "skipped" {
		t.Errorf("waived is %s, want skipped", got)
	}
}
