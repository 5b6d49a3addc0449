package evidence

import "haltmark/bench/verdict"

// summaryJSON is what machines read of a run. Values are SI of the unit beside
// them.
type summaryJSON struct {
	Verdict      word              `json:"verdict"`
	ExitCode     int               `json:"exit_code"`
	Reasons      []string          `json:"reasons"`
	Partial      bool              `json:"partial"`
	Tags         string            `json:"tags,omitempty"`
	Slice        string            `json:"slice,omitempty"`
	Seed         string            `json:"seed"`
	Date         string            `json:"date"`
	Station      string            `json:"station"`
	Controller   string            `json:"controller"`
	StandIn      bool              `json:"stand_in"`
	Defect       string            `json:"defect,omitempty"`
	Clock        string            `json:"clock"`
	Step         span              `json:"plant_step_s"`
	Phases       int               `json:"phases"`
	Simulated    span              `json:"simulated_s"`
	Build        string            `json:"build_sha256"`
	Versions     []versionJSON     `json:"versions"`
	Fixtures     []fixtureJSON     `json:"fixtures"`
	Parameters   originsJSON       `json:"parameters"`
	Waivers      []waiverJSON      `json:"waivers"`
	Unused       []string          `json:"waivers_without_effect"`
	NotExercised []string          `json:"not_exercised"`
	NotSelected  []string          `json:"not_selected"`
	Requirements []requirementJSON `json:"requirements"`
	Hazards      []hazardJSON      `json:"hazards"`
	Records      string            `json:"records"`
	Ended        int               `json:"scenarios_ended"`
	Planned      int               `json:"scenarios_planned"`
	Scenarios    []caseJSON        `json:"scenarios"`
}

type waiverJSON struct {
	Requirement string `json:"requirement"`
	Reason      string `json:"reason"`
	Expires     string `json:"expires"`
}

type requirementJSON struct {
	ID        string       `json:"id"`
	Statement string       `json:"statement"`
	Clause    string       `json:"clause"`
	Hazard    string       `json:"hazard"`
	HazardIs  string       `json:"hazard_name"`
	Kind      string       `json:"kind"`
	Answers   string       `json:"answers"`
	Verdict   word         `json:"verdict"`
	Waived    bool         `json:"waived,omitempty"`
	Outcomes  int          `json:"outcomes"`
	Occasions int          `json:"occasions"`
	Scenario  int          `json:"worst_scenario,omitempty"` // its number
	Worst     *outcomeJSON `json:"worst,omitempty"`
	Corner    *cornerJSON  `json:"worst_corner,omitempty"`
}

func summaryOf(r *Run) summaryJSON {
	m := encodeManifest(r.Manifest)
	s := summaryJSON{Verdict: word(r.Verdict), ExitCode: r.ExitCode,
		Reasons: orEmpty(r.Reasons), Partial: r.Manifest.Restricted(), Tags: m.Tags, Slice: m.Slice,
		Seed: m.Seed,
		Date: m.Date, Station: m.Station, Controller: m.Controller, StandIn: m.StandIn,
		Defect: m.Defect, Clock: m.Clock, Step: m.Step, Phases: m.Phases, Build: m.Build,
		Versions: orEmpty(m.Versions), Fixtures: orEmpty(m.Fixtures), Parameters: m.Parameters,
		Waivers: []waiverJSON{}, Unused: orEmpty(r.Unused), NotExercised: []string{},
		NotSelected: []string{}, Requirements: []requirementJSON{}, Scenarios: []caseJSON{},
		Hazards: r.encodeHazards(),
		Records: r.Records(), Ended: r.Ended(), Planned: len(r.Manifest.Own())}
	for _, w := range r.Waivers {
		s.Waivers = append(s.Waivers, waiverJSON(w))
	}
	for i := range r.Standings {
		st := &r.Standings[i]
		switch st.Verdict {
		case verdict.NotExercised:
			s.NotExercised = append(s.NotExercised, st.Requirement)
		case verdict.NotSelected:
			s.NotSelected = append(s.NotSelected, st.Requirement)
		}
		s.Requirements = append(s.Requirements, r.encodeRequirement(st))
	}
	for i := range r.Cases {
		s.Simulated += span(r.Cases[i].Simulated)
		s.Scenarios = append(s.Scenarios, encodeCase(&r.Cases[i]))
	}
	return s
}

// orEmpty keeps a list from becoming null.
func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (r *Run) encodeRequirement(st *verdict.Standing) requirementJSON {
	q := r.requirement(st.Requirement)
	form := requirementJSON{ID: st.Requirement, Statement: q.Statement, Clause: q.Clause,
		Hazard: q.Hazard, HazardIs: r.hazardNamed(q.Hazard).Name, Kind: q.Kind,
		Answers: q.Answers, Verdict: word(st.Verdict), Waived: st.Waived != nil,
		Outcomes: st.Outcomes, Occasions: st.Occasions, Corner: r.encodeCorner(st.Requirement)}
	if st.Worst != nil {
		worst := encodeOutcome(st.Worst)
		form.Worst = &worst
		if c := r.caseOf(st.Worst); c != nil {
			form.Scenario = c.Number
		}
	}
	return form
}

// requirement finds a requirement by its id; the zero value when there is none.
func (r *Run) requirement(id string) verdict.Requirement {
	for _, q := range r.Requirements {
		if q.ID == id {
			return q
		}
	}
	return verdict.Requirement{ID: id}
}

// caseOf finds the case that an outcome comes from; nil when none has it.
func (r *Run) caseOf(o *verdict.Outcome) *Case {
	for i := range r.Cases {
		for k := range r.Cases[i].Outcomes {
			x := &r.Cases[i].Outcomes[k]
			if x == o || (x.Key() == o.Key() && x.Verdict == o.Verdict &&
				number(x.Value) == number(o.Value) && x.At == o.At && x.Spread == o.Spread) {
				return &r.Cases[i]
			}
		}
	}
	return nil
}
