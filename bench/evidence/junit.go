package evidence

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"haltmark/bench/verdict"
)

type junitSuites struct {
	XMLName  xml.Name     `xml:"testsuites"`
	Name     string       `xml:"name,attr"`
	Tests    int          `xml:"tests,attr"`
	Failures int          `xml:"failures,attr"`
	Errors   int          `xml:"errors,attr"`
	Skipped  int          `xml:"skipped,attr"`
	Time     string       `xml:"time,attr"`
	Suites   []junitSuite `xml:"testsuite"`
}

type junitSuite struct {
	Name     string      `xml:"name,attr"`
	File     string      `xml:"file,attr,omitempty"`
	Tests    int         `xml:"tests,attr"`
	Failures int         `xml:"failures,attr"`
	Errors   int         `xml:"errors,attr"`
	Skipped  int         `xml:"skipped,attr"`
	Time     string      `xml:"time,attr"`
	Cases    []junitCase `xml:"testcase"`
	span     time.Duration
}

type junitCase struct {
	Name      string        `xml:"name,attr"`
	ClassName string        `xml:"classname,attr"`
	File      string        `xml:"file,attr,omitempty"`
	Line      int           `xml:"line,attr,omitempty"`
	Time      string        `xml:"time,attr"`
	Failure   *junitTrouble `xml:"failure,omitempty"`
	Error     *junitTrouble `xml:"error,omitempty"`
	Skipped   *junitTrouble `xml:"skipped,omitempty"`
	Output    string        `xml:"system-out,omitempty"`
}

type junitTrouble struct {
	Message string `xml:"message,attr"`
	Type    string `xml:"type,attr,omitempty"`
	Text    string `xml:",chardata"`
}

// WriteJUnit writes JUnit XML: a suite for each feature file, in file order, and
// one for the requirements, so that what was never exercised shows. Fail is a
// failure; inconclusive, not testable, not exercised and a failure of the bench
// are errors; what is waived or was not selected is skipped. A name holds its rule, since
// readers show names alone. Times are simulated.
func WriteJUnit(to io.Writer, r *Run) error {
	all := junitSuites{Name: "haltmark"}
	for _, group := range byFile(r.Cases) {
		suite := junitSuite{Name: group[0].Feature, File: group[0].Path}
		for i := range group {
			suite.add(junitOf(&group[i]))
			suite.span += group[i].Simulated
		}
		all.add(suite)
	}
	requirements := junitSuite{Name: "Requirements"}
	for i := range r.Standings {
		requirements.add(r.junitStanding(&r.Standings[i]))
	}
	if requirements.Tests > 0 {
		all.add(requirements)
	}
	total := time.Duration(0)
	for i := range all.Suites {
		total += all.Suites[i].span
	}
	all.Time = junitTime(total)
	if _, err := io.WriteString(to, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(to)
	e.Indent("", "  ")
	if err := e.Encode(all); err != nil {
		return err
	}
	_, err := io.WriteString(to, "\n")
	return err
}

// byFile groups cases that follow each other in one feature file.
func byFile(cases []Case) [][]Case {
	var groups [][]Case
	from := 0
	for i := range cases {
		if i+1 == len(cases) || cases[i+1].Path != cases[from].Path {
			groups = append(groups, cases[from:i+1])
			from = i + 1
		}
	}
	return groups
}

func junitTime(d time.Duration) string { return fmt.Sprintf("%.3f", d.Seconds()) }

func (s *junitSuite) add(c junitCase) {
	s.Tests++
	switch {
	case c.Failure != nil:
		s.Failures++
	case c.Error != nil:
		s.Errors++
	case c.Skipped != nil:
		s.Skipped++
	}
	s.Cases = append(s.Cases, c)
}

func (s *junitSuites) add(suite junitSuite) {
	suite.Time = junitTime(suite.span)
	s.Tests += suite.Tests
	s.Failures += suite.Failures
	s.Errors += suite.Errors
	s.Skipped += suite.Skipped
	s.Suites = append(s.Suites, suite)
}

// inFull is a name that stands by itself in a list of names.
func (c *Case) inFull() string {
	if c.Rule == "" {
		return c.Name
	}
	return c.Rule + ": " + c.Name
}

func junitOf(c *Case) junitCase {
	j := junitCase{Name: c.inFull(), ClassName: c.Feature, File: c.Path, Line: c.Line,
		Time: junitTime(c.Simulated)}
	var lines []string
	for i := range c.Outcomes {
		lines = append(lines, line(&c.Outcomes[i]))
	}
	j.Output = strings.Join(lines, "\n")
	j.judge(c.Verdict, c.Waived, c.because())
	return j
}

// judge fills in the element that a verdict asks for. The message is the first
// line of the text.
func (j *junitCase) judge(v verdict.Verdict, waived, text string) {
	first, _, _ := strings.Cut(text, "\n")
	if first == "" {
		first = v.String()
	}
	trouble := &junitTrouble{Message: first, Type: v.String(), Text: text}
	switch {
	case v == verdict.Pass:
	case v == verdict.Fail:
		j.Failure = trouble
	case v == verdict.NotSelected:
		j.Skipped = &junitTrouble{Message: v.String()}
	case waived != "" && v != verdict.BenchFailed:
		j.Skipped = &junitTrouble{Message: "waived: " + waived}
	default:
		j.Error = trouble
	}
}

func (r *Run) junitStanding(st *verdict.Standing) junitCase {
	q := r.requirement(st.Requirement)
	j := junitCase{Name: strings.TrimSpace(st.Requirement + " " + q.Statement),
		ClassName: "Requirements", Time: junitTime(0)}
	waived, text := "", st.Verdict.String()
	if st.Waived != nil {
		waived = st.Waived.Reason + " (until " + st.Waived.Expires + ")"
	}
	if st.Worst != nil {
		text = line(st.Worst)
		j.Output = text
	}
	j.judge(st.Verdict, waived, text)
	return j
}
