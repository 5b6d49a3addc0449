package verdict

import "fmt"

// Hazard is one entry of the hazard register.
type Hazard struct {
	ID         string   // HZ-xx
	Name       string   // in a few words
	Event      string   // what happens
	Harms      string   // whom or what
	Measures   []string // that are there against it
	Beyond     string   // what the bench cannot show of it, and why; "" is nothing
	Unanswered string   // why no requirement is about it; "" where one is
}

// String is the hazard as reports name it.
func (h Hazard) String() string { return h.ID + ", " + h.Name }

// HazardNamed finds an entry of a register by its id.
func HazardNamed(register []Hazard, id string) (Hazard, bool) {
	for _, h := range register {
		if h.ID == id {
			return h, true
		}
	}
	return Hazard{ID: id}, false
}

// Answering lists the requirements about a hazard, in their order.
func (h Hazard) Answering(all []Requirement) []Requirement {
	var found []Requirement
	for _, q := range all {
		if q.Hazard == h.ID {
			found = append(found, q)
		}
	}
	return found
}

// CheckRegister finds what is wrong with the form of a hazard register.
func CheckRegister(register []Hazard) []Flaw {
	var flaws []Flaw
	seen := map[string]bool{}
	for i, h := range register {
		if !numbered(h.ID, "HZ-", 2) {
			flaws = append(flaws, Flaw{i, fmt.Sprintf("hazard id %q is not HZ- and two digits", h.ID)})
		}
		if seen[h.ID] {
			flaws = append(flaws, Flaw{i, fmt.Sprintf("hazard %s stands twice", h.ID)})
		}
		seen[h.ID] = true
	}
	return flaws
}

// Unanswered finds the hazards that no requirement is about and that give no reason, and
// those whose reason is out of date.
func Unanswered(register []Hazard, all []Requirement) []Flaw {
	var flaws []Flaw
	for i, h := range register {
		switch answers := h.Answering(all); {
		case len(answers) == 0 && h.Unanswered == "":
			flaws = append(flaws, Flaw{i, fmt.Sprintf("%v: no requirement is about it, and it says "+
				"nothing of why (key unanswered)", h)})
		case len(answers) > 0 && h.Unanswered != "":
			flaws = append(flaws, Flaw{i, fmt.Sprintf("%v: it says that no requirement is about it; "+
				"%s is", h, answers[0].ID)})
		}
	}
	return flaws
}

// Unregistered finds the requirements whose hazard is not in a register.
func Unregistered(register []Hazard, all []Requirement) []Flaw {
	var flaws []Flaw
	for i, q := range all {
		if _, known := HazardNamed(register, q.Hazard); !known {
			flaws = append(flaws, Flaw{i, fmt.Sprintf("%s: hazard %s is not in the hazard register",
				q.ID, q.Hazard)})
		}
	}
	return flaws
}
