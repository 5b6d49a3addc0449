package evidence

import (
	"io"
	"strings"

	"haltmark/bench/verdict"
)

type cucumberFeature struct {
	URI      string            `json:"uri"`
	ID       string            `json:"id"`
	Keyword  string            `json:"keyword"`
	Name     string            `json:"name"`
	Elements []cucumberElement `json:"elements"`
}

type cucumberElement struct {
	ID      string         `json:"id"`
	Keyword string         `json:"keyword"`
	Type    string         `json:"type"`
	Name    string         `json:"name"`
	Line    int            `json:"line"`
	Tags    []cucumberTag  `json:"tags,omitempty"`
	Steps   []cucumberStep `json:"steps"`
}

type cucumberTag struct {
	Name string `json:"name"`
}

type cucumberStep struct {
	Keyword string         `json:"keyword"`
	Name    string         `json:"name"`
	Line    int            `json:"line"`
	Output  []string       `json:"output,omitempty"`
	Result  cucumberResult `json:"result"`
}

type cucumberResult struct {
	Status  string `json:"status"`
	Message string `json:"error_message,omitempty"`
}

// WriteCucumber writes the scenarios as Cucumber JSON, in file order, each step
// with what it measured. Inconclusive and not testable are pending, which strict
// readers count as not passed. A watch that did not hold is a step of its own
// behind the sentences.
func WriteCucumber(to io.Writer, r *Run) error {
	features := []cucumberFeature{}
	for _, group := range byFile(r.Cases) {
		f := cucumberFeature{URI: group[0].Path, ID: slug(group[0].Feature), Keyword: "Feature",
			Name: group[0].Feature}
		for i := range group {
			f.Elements = append(f.Elements, cucumberOf(&group[i]))
		}
		features = append(features, f)
	}
	text, err := encode(features)
	if err != nil {
		return err
	}
	_, err = to.Write(text)
	return err
}

func cucumberOf(c *Case) cucumberElement {
	ids := []string{slug(c.Feature)}
	if c.Rule != "" {
		ids = append(ids, slug(c.Rule))
	}
	e := cucumberElement{ID: strings.Join(append(ids, slug(c.Name)), ";"), Keyword: "Scenario",
		Type: "scenario", Name: c.Name, Line: c.Line, Steps: []cucumberStep{}}
	for _, tag := range c.Tags {
		e.Tags = append(e.Tags, cucumberTag{tag})
	}
	for _, s := range c.Sentences {
		step := cucumberStep{Keyword: s.Keyword + " ", Name: s.Text, Line: s.Line,
			Result: cucumberResult{Status: status(c.standing(s), c.Waived), Message: s.Note}}
		for _, o := range c.asked(s) {
			step.Output = append(step.Output, line(o))
			if o.Verdict != verdict.Pass {
				step.Result.Message = strings.TrimPrefix(step.Result.Message+"\n"+line(o), "\n")
			}
		}
		e.Steps = append(e.Steps, step)
	}
	for _, o := range c.watched() {
		if o.Verdict == verdict.NotExercised || o.Verdict.ExitCode() == verdict.ExitPass {
			continue
		}
		e.Steps = append(e.Steps, cucumberStep{Keyword: "And ", Line: c.Line,
			Name:   "watch " + o.Requirement + " held: " + plain(o.Measure),
			Result: cucumberResult{status(o.Verdict, c.Waived), line(o)}})
	}
	return e
}

// status is the nearest that this form has to a verdict.
func status(v verdict.Verdict, waived string) string {
	switch {
	case v == verdict.Pass:
		return "passed"
	case v == verdict.Fail || v == verdict.BenchFailed:
		return "failed"
	case v == verdict.NotSelected || waived != "":
		return "skipped"
	}
	return "pending"
}
