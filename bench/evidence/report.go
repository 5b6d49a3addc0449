package evidence

import (
	"bytes"
	_ "embed" // for the template and its style sheet
	"fmt"
	"html/template"
	"io"
	"strings"
	"unicode"

	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

//go:embed report.html.tmpl
var reportTemplate string

//go:embed report.css
var reportStyle string

// said is a verdict for the report.
type said verdict.Verdict

// String is the verdict in words.
func (s said) String() string { return verdict.Verdict(s).String() }

// Class is the verdict as a class of the style sheet.
func (s said) Class() string { return slug(s.String()) }

type reportView struct {
	Style        template.CSS
	Verdict      said
	Lead         string
	Assumed      string
	Step         string
	Manifest     Manifest
	Run          *Run
	Reasons      []string // the first of them
	MoreReasons  int
	Troubles     []troubleView
	Requirements []requirementView
	Unselected   []requirementView // outside of a partial run
	Hazards      []hazardView
	Coverage     *Coverage // nil where no cell of the stop matrix was tried
	Features     []featureView
}

type troubleView struct {
	Number  int
	Name    string
	Verdict said
	First   string
}

type requirementView struct {
	ID, Statement, About string
	Verdict              said
	Waived               bool
	Figures              *figuresView
	Case                 int
}

type figuresView struct {
	Value, Limit, Margin, Timing, Model, Tried, Extreme, Sigma3 string
}

type featureView struct {
	Name, Path string
	Cases      []caseView
}

// WriteReport writes the report of a run as one HTML file that needs nothing
// else. records gives the record of a case's worst phase, or nil; where one cannot be
// read the report says so in the place of its plot.
func WriteReport(to io.Writer, r *Run, records func(*Case) (*record.Record, error)) error {
	page, err := template.New("report").Funcs(template.FuncMap{"letter": Letter}).Parse(reportTemplate)
	if err != nil {
		return err
	}
	m := r.Manifest
	view := reportView{Style: template.CSS(reportStyle), Verdict: said(r.Verdict),
		Lead: r.lead(), Assumed: assumed(m.Origins), Manifest: m, Run: r,
		Step: quantity.Format(quantity.DimSpan, m.Step.Seconds())}
	if m.Step > 0 { // to the microsecond: 0.25 ms is the usual one
		view.Step = fmt.Sprintf("%.3f ms", 1e3*m.Step.Seconds())
	}
	const first = 8 // what leads the report stays on its first page
	view.Reasons = r.Reasons[:min(first, len(r.Reasons))]
	view.MoreReasons = len(r.Reasons) - len(view.Reasons)
	for i := range r.Standings {
		st := &r.Standings[i]
		if one := r.requirementView(st); st.Verdict == verdict.NotSelected {
			view.Unselected = append(view.Unselected, one)
		} else {
			view.Requirements = append(view.Requirements, one)
		}
	}
	view.Hazards = r.hazardViews()
	if r.Coverage.Totals().Tried > 0 {
		view.Coverage = &r.Coverage
	}
	for _, group := range byFile(r.Cases) {
		f := featureView{Name: group[0].Feature, Path: group[0].Path}
		for i := range group {
			c := &group[i]
			f.Cases = append(f.Cases, viewOf(c, records))
			if c.Verdict != verdict.Pass {
				first, _, _ := strings.Cut(c.because(), "\n")
				view.Troubles = append(view.Troubles,
					troubleView{c.Number, c.Name, said(c.Verdict), first})
			}
		}
		view.Features = append(view.Features, f)
	}
	var b bytes.Buffer
	if err := page.Execute(&b, view); err != nil {
		return err
	}
	_, err = to.Write(bytes.Map(visible, b.Bytes()))
	return err
}

// visible keeps out of a page what a terminal would obey and what turns a line's order round:
// names come from files, and files from anybody.
func visible(r rune) rune {
	if r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
		return unicode.ReplacementChar
	}
	return r
}

// lead is the sentence below the verdict.
func (r *Run) lead() string {
	phases, passed := 0, 0
	var simulated span
	for i := range r.Cases {
		phases += len(r.Cases[i].Phases)
		simulated += span(r.Cases[i].Simulated)
		if r.Cases[i].Verdict == verdict.Pass {
			passed++
		}
	}
	return fmt.Sprintf("%s of station %s, controller %s: %d of %s passed, %s, %s simulated. "+
		"Exit code %d.", capital(r.Manifest.Command), r.Manifest.Station, r.Manifest.Controller,
		passed, counted(len(r.Cases), "scenario"), counted(phases, "phase"),
		lasted(duration(simulated)), r.ExitCode)
}

func capital(text string) string {
	if text == "" {
		return "Run"
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// assumed says how many of the parameters were only assumed.
func assumed(o Origins) string {
	if o.Total() == 0 {
		return "Where the parameters come from was not counted."
	}
	return fmt.Sprintf("Of the %d parameters that the run used, %d were only assumed, "+
		"%d come from a data sheet and %d were measured on site.", o.Total(), o.Assumed,
		o.DataSheet, o.MeasuredOnSite)
}

func (r *Run) requirementView(st *verdict.Standing) requirementView {
	q := r.requirement(st.Requirement)
	about := []string{}
	for _, part := range []string{r.hazard(q.Hazard), q.Clause, q.Kind} {
		if part != "" {
			about = append(about, part)
		}
	}
	if q.Answers != "" {
		about = append(about, q.Answers+" answers")
	}
	view := requirementView{ID: st.Requirement, Statement: q.Statement,
		About: strings.Join(about, "; "), Verdict: said(st.Verdict), Waived: st.Waived != nil}
	if st.Occasions > 0 {
		view.About += "; " + counted(st.Occasions, "occasion")
	}
	if st.Worst == nil {
		return view
	}
	if st.Worst.Measured {
		view.Figures = figuresOf(st.Worst)
	}
	if st.Worst.Reason != "" {
		view.About += "; " + st.Worst.Reason
	}
	if line := r.cornerLine(st.Requirement); line != "" {
		view.About += "; " + line
	}
	if c := r.caseOf(st.Worst); c != nil {
		view.Case = c.Number
	}
	return view
}

func figuresOf(o *verdict.Outcome) *figuresView {
	d := o.Dimension
	text := func(si float64) string { return tied(shown(d, si)) }
	v := &figuresView{Value: text(o.Value), Limit: tied(bound(o)), Margin: text(o.Margin),
		Timing: text(o.Uncertainty.Timing), Model: text(o.Uncertainty.Model)}
	if s := o.Spread; s != nil {
		v.Tried = fmt.Sprint(s.Tried)
		extreme, sigma3 := s.Greatest, s.MeanPlus3Sigma
		if o.LeastOwed() {
			extreme, sigma3 = s.Least, 2*s.Mean-s.MeanPlus3Sigma
		}
		if v.Extreme = text(extreme); s.Tried > 2 { // fewer have no deviation to speak of
			v.Sigma3 = tied(likeNeighbour(d, sigma3))
		}
	}
	return v
}
