package evidence

import (
	"slices"

	"haltmark/bench/verdict"
)

// hazardNamed is the entry of the register for an id.
func (r *Run) hazardNamed(id string) verdict.Hazard {
	h, _ := verdict.HazardNamed(r.Hazards, id)
	return h
}

// hazard is a hazard in words; its id where there is no register, "" where there is no id.
func (r *Run) hazard(id string) string {
	if h := r.hazardNamed(id); h.Name != "" {
		return h.String()
	}
	return id
}

type hazardView struct {
	verdict.Hazard
	Answers   []answerView
	Scenarios int // that tried one of those requirements
}

type answerView struct {
	ID      string
	Verdict said
}

// hazardViews lists the register with what the run showed of each hazard.
func (r *Run) hazardViews() []hazardView {
	verdicts := map[string]verdict.Verdict{}
	for i := range r.Standings {
		verdicts[r.Standings[i].Requirement] = r.Standings[i].Verdict
	}
	var views []hazardView
	for _, h := range r.Hazards {
		view := hazardView{Hazard: h}
		for _, q := range h.Answering(r.Requirements) {
			view.Answers = append(view.Answers, answerView{q.ID, said(verdicts[q.ID])})
		}
		view.Scenarios = r.trying(view.Answers)
		views = append(views, view)
	}
	return views
}

// trying counts the cases whose Rule is about one of these requirements.
func (r *Run) trying(answers []answerView) int {
	count := 0
	for i := range r.Cases {
		tags := r.Cases[i].Tags
		if slices.ContainsFunc(answers, func(a answerView) bool {
			return slices.Contains(tags, "@"+a.ID)
		}) {
			count++
		}
	}
	return count
}

type hazardJSON struct {
	ID           string   `json:"id"`
	Name         string   `json:"name"`
	Requirements []string `json:"requirements"`
	Scenarios    int      `json:"scenarios"`
	Beyond       string   `json:"beyond,omitempty"`
	Unanswered   string   `json:"unanswered,omitempty"`
}

func (r *Run) encodeHazards() []hazardJSON {
	forms := []hazardJSON{}
	for _, v := range r.hazardViews() {
		form := hazardJSON{ID: v.ID, Name: v.Name, Requirements: []string{},
			Scenarios: v.Scenarios, Beyond: v.Beyond, Unanswered: v.Unanswered}
		for _, a := range v.Answers {
			form.Requirements = append(form.Requirements, a.ID)
		}
		forms = append(forms, form)
	}
	return forms
}
