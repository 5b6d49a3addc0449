package evidence

import (
	"fmt"
	"time"

	"haltmark/bench/verdict"
)

type caseJSON struct {
	Run          string         `json:"run_sha256,omitempty"` // see identityOf; in case.json alone
	Number       int            `json:"number"`
	Feature      string         `json:"feature"`
	Rule         string         `json:"rule,omitempty"`
	Name         string         `json:"name"`
	Path         string         `json:"path"`
	Line         int            `json:"line"`
	Tags         []string       `json:"tags,omitempty"`
	Corner       string         `json:"corner,omitempty"`
	Seed         string         `json:"seed"`
	Verdict      word           `json:"verdict"`
	Reason       string         `json:"reason,omitempty"`
	Waived       string         `json:"waived,omitempty"`
	Unended      bool           `json:"unended,omitempty"`
	Simulated    span           `json:"simulated_s"`
	Sentences    []sentenceJSON `json:"sentences"`
	Measurements []outcomeJSON  `json:"measurements"`
	Watches      []outcomeJSON  `json:"watches"`
	Stops        []stopJSON     `json:"stops,omitempty"`
	Phases       []phaseJSON    `json:"phases"`
	Worst        int            `json:"worst_phase"` // index into phases
	Plot         plotJSON       `json:"plot"`
}

type outcomeJSON struct {
	Requirement string          `json:"requirement"`
	Quantity    string          `json:"quantity"`
	Axis        string          `json:"axis,omitempty"`
	End         string          `json:"end,omitempty"`
	Item        string          `json:"item,omitempty"`
	Cause       string          `json:"cause,omitempty"`
	Sentence    string          `json:"sentence,omitempty"`
	Before      int             `json:"asked_before,omitempty"`
	Verdict     word            `json:"verdict"`
	Reason      string          `json:"reason,omitempty"`
	Measured    bool            `json:"measured"`
	Unit        string          `json:"unit"`
	Dimension   string          `json:"dimension"`
	Value       number          `json:"value"`
	Comparison  string          `json:"comparison"`
	Limit       number          `json:"limit"`
	Margin      number          `json:"margin"`
	Uncertainty uncertaintyJSON `json:"uncertainty"`
	At          span            `json:"at_s"`
	From        span            `json:"from_s"`
	Until       span            `json:"until_s"`
	Open        bool            `json:"open,omitempty"`
	Broken      bool            `json:"broken,omitempty"`
	Occasions   int             `json:"occasions,omitempty"`
	Parts       *partsJSON      `json:"parts,omitempty"`
	Spread      *spreadJSON     `json:"spread,omitempty"`
}

// uncertaintyJSON has standard uncertainties and the expanded one, k = 2.
type uncertaintyJSON struct {
	Timing   number `json:"timing"`
	Model    number `json:"model"`
	Expanded number `json:"expanded"`
}

type spreadJSON struct {
	Tried          int    `json:"phases_tried"`
	Missed         int    `json:"phases_missed"`
	Worst          int    `json:"worst_phase"` // index into phases
	Least          number `json:"minimum"`
	Greatest       number `json:"maximum"`
	Mean           number `json:"mean"`
	Sigma          number `json:"sigma"`
	MeanPlus3Sigma number `json:"mean_plus_3_sigma"`
	From           number `json:"interval_from"`
	Until          number `json:"interval_until"`
}

func encodeOutcome(o *verdict.Outcome) outcomeJSON {
	u := o.Uncertainty
	form := outcomeJSON{Requirement: o.Requirement, Quantity: o.Measure, Axis: o.Axis,
		End: o.End, Item: o.Item, Cause: o.Cause, Sentence: o.Text, Before: o.Before,
		Verdict: word(o.Verdict),
		Reason:  o.Reason, Measured: o.Measured, Unit: siUnit(o.Dimension),
		Dimension: o.Dimension.String(), Value: number(o.Value), Comparison: o.Comparison,
		Limit: number(o.Limit), Margin: number(o.Margin),
		Uncertainty: uncertaintyJSON{number(u.Timing), number(u.Model), number(u.Expanded())},
		At:          span(o.At), From: span(o.From), Until: span(o.Until), Open: o.Open,
		Broken: o.Broken, Occasions: o.Occasions}
	if o.Parts != nil {
		parts := encodeParts(*o.Parts)
		form.Parts = &parts
	}
	if s := o.Spread; s != nil {
		form.Spread = &spreadJSON{s.Tried, s.Missed, s.Worst, number(s.Least), number(s.Greatest),
			number(s.Mean), number(s.Sigma), number(s.MeanPlus3Sigma), number(s.From),
			number(s.Until)}
	}
	return form
}

func (f outcomeJSON) outcome(watch bool) (verdict.Outcome, error) {
	d, known := dimensionNamed(f.Dimension)
	if !known {
		return verdict.Outcome{}, fmt.Errorf("unknown dimension %q", f.Dimension)
	}
	o := verdict.Outcome{Requirement: f.Requirement, Measure: f.Quantity, Watch: watch,
		Axis: f.Axis, End: f.End, Item: f.Item, Cause: f.Cause, Text: f.Sentence, Before: f.Before,
		Dimension:  d,
		Comparison: f.Comparison, Value: float64(f.Value), Limit: float64(f.Limit),
		Margin: float64(f.Margin), Verdict: verdict.Verdict(f.Verdict), Reason: f.Reason,
		Uncertainty: verdict.Uncertainty{Timing: float64(f.Uncertainty.Timing),
			Model: float64(f.Uncertainty.Model)},
		From: time.Duration(f.From), Until: time.Duration(f.Until), At: time.Duration(f.At),
		Measured: f.Measured, Open: f.Open, Broken: f.Broken, Occasions: f.Occasions}
	if f.Parts != nil {
		parts := f.Parts.parts()
		o.Parts = &parts
	}
	if s := f.Spread; s != nil {
		o.Spread = &verdict.Spread{Tried: s.Tried, Missed: s.Missed, Worst: s.Worst,
			Least:    float64(s.Least),
			Greatest: float64(s.Greatest), Mean: float64(s.Mean), Sigma: float64(s.Sigma),
			MeanPlus3Sigma: float64(s.MeanPlus3Sigma), From: float64(s.From),
			Until: float64(s.Until)}
	}
	return o, nil
}

func encodeCase(c *Case) caseJSON {
	form := caseJSON{Number: c.Number, Feature: c.Feature, Rule: c.Rule, Name: c.Name,
		Path: c.Path, Line: c.Line, Tags: c.Tags, Corner: c.Corner, Seed: seedText(c.Seed),
		Verdict: word(c.Verdict), Reason: c.Reason, Waived: c.Waived,
		Unended: c.Unended, Simulated: span(c.Simulated), Sentences: []sentenceJSON{},
		Measurements: []outcomeJSON{}, Watches: []outcomeJSON{}, Phases: []phaseJSON{},
		Worst: c.Worst, Plot: plotJSON{c.Plot.Axis, span(c.Plot.From), span(c.Plot.Until),
			encodeChain(c.Plot.Chain)}}
	for _, s := range c.Sentences {
		form.Sentences = append(form.Sentences,
			sentenceJSON{s.Keyword, s.Text, s.Line, word(s.Verdict), s.Note})
	}
	for i := range c.Outcomes {
		to := &form.Measurements
		if c.Outcomes[i].Watch {
			to = &form.Watches
		}
		*to = append(*to, encodeOutcome(&c.Outcomes[i]))
	}
	for _, s := range c.Stops {
		form.Stops = append(form.Stops, stopJSON{s.Axis, s.Cause, encodeParts(s.Parts),
			number(s.Travel), number(s.Derived), s.RemovedBy})
	}
	for _, p := range c.Phases {
		form.Phases = append(form.Phases, encodePhase(p))
	}
	return form
}

func encodePhase(p Phase) phaseJSON {
	form := phaseJSON{Number: p.Number, Seed: seedText(p.Seed), Shift: span(p.Shift),
		Verdict: word(p.Verdict), Hash: p.Hash, Kept: p.Kept}
	for _, f := range p.Figures {
		form.Figures = append(form.Figures, figureJSON{f.Of, f.Axis, f.End, number(f.Value),
			number(f.Margin)})
	}
	return form
}

func (f phaseJSON) phase() (Phase, error) {
	seed, err := seedOf(f.Seed)
	if err != nil {
		return Phase{}, err
	}
	p := Phase{Number: f.Number, Seed: seed, Shift: time.Duration(f.Shift),
		Verdict: verdict.Verdict(f.Verdict), Hash: f.Hash, Kept: f.Kept}
	for _, x := range f.Figures {
		p.Figures = append(p.Figures, Figure{x.Of, x.Axis, x.End, float64(x.Value),
			float64(x.Margin)})
	}
	return p, nil
}

// toCase is the case that the form was made of.
func (f caseJSON) toCase() (Case, error) {
	c := Case{Number: f.Number, Feature: f.Feature, Rule: f.Rule, Name: f.Name, Path: f.Path,
		Line: f.Line, Tags: f.Tags, Verdict: verdict.Verdict(f.Verdict), Reason: f.Reason,
		Waived: f.Waived, Corner: f.Corner, Simulated: time.Duration(f.Simulated), Worst: f.Worst,
		Plot: Plot{f.Plot.Axis, f.Plot.Chain.chain(), time.Duration(f.Plot.From),
			time.Duration(f.Plot.Until)}}
	for _, s := range f.Sentences {
		c.Sentences = append(c.Sentences,
			Sentence{s.Keyword, s.Text, s.Line, verdict.Verdict(s.Verdict), s.Note})
	}
	for i, list := range [...][]outcomeJSON{f.Measurements, f.Watches} {
		for _, x := range list {
			o, err := x.outcome(i == 1)
			if err != nil {
				return c, err
			}
			c.Outcomes = append(c.Outcomes, o)
		}
	}
	for _, s := range f.Stops {
		c.Stops = append(c.Stops, Stop{s.Axis, s.Cause, s.Parts.parts(), float64(s.Travel),
			float64(s.Derived), s.RemovedBy})
	}
	for _, x := range f.Phases {
		p, err := x.phase()
		if err != nil {
			return c, err
		}
		c.Phases = append(c.Phases, p)
	}
	var err error
	c.Seed, err = seedOf(f.Seed)
	return c, err
}
