package config

import (
	"fmt"

	"haltmark/bench/verdict"
)

// The embedded hazard register, which stands by itself.
const (
	kindRegister = ""
	registerName = "hazards"
)

// hazardSection is one entry of the hazard register.
type hazardSection struct {
	ID         text  `yaml:"id"`
	Name       text  `yaml:"name"`
	Event      text  `yaml:"event"`
	Harms      text  `yaml:"harms"`
	Measures   words `yaml:"measures"`
	Beyond     text  `yaml:"beyond,omitempty"`
	Unanswered text  `yaml:"unanswered,omitempty"`
}

func (set *Requirements) readHazards(d *document, sections []hazardSection) {
	for i := range sections {
		h := &sections[i]
		set.Hazards = append(set.Hazards, verdict.Hazard{ID: h.ID.value, Name: h.Name.value,
			Event: h.Event.value, Harms: h.Harms.value, Measures: h.Measures.values,
			Beyond: h.Beyond.value, Unanswered: h.Unanswered.value})
		set.listed = append(set.listed, origin{d.file, d.line(fmt.Sprintf("hazards[%d]", i))})
	}
}

// CheckRegister loads a hazard register, embedded or a file, beside the embedded
// requirements, and reports the hazards that none of them is about and that say nothing
// of why.
func CheckRegister(name string) (*Requirements, error) {
	set, r := &Requirements{}, &report{}
	kind := kindRequirement
	if !isPath(name) {
		kind = kindRegister
	}
	set.open(kind, name, r)
	if err := r.err(); err != nil {
		return nil, err
	}
	if len(set.All) == 0 {
		shipped, err := LoadRequirements()
		if err != nil {
			return nil, err
		}
		set.All, set.where = shipped.All, shipped.where
	}
	set.complain(r, set.listed, verdict.CheckRegister(set.Hazards))
	set.complain(r, set.where, verdict.Unregistered(set.Hazards, set.All))
	set.complain(r, set.listed, verdict.Unanswered(set.Hazards, set.All))
	return set, r.err()
}
