package main

import (
	"encoding/json"

	"haltmark/bench/standin"
)

// defectsCommand prints the catalogue of seeded defects.
type defectsCommand struct {
	JSON bool `name:"json" help:"As JSON."`
}

// defectForm is a defect as machines read it.
type defectForm struct {
	Name        string `json:"name"`
	Wrong       string `json:"wrong"`
	Requirement string `json:"requirement"`
}

// Run implements the subcommand.
func (d *defectsCommand) Run(c *console) error {
	if !d.JSON {
		for _, one := range standin.Defects() {
			c.say("%-28s %s\n%-28s caught by %s", one.Name, one.Wrong, "", one.Requirement)
		}
		return nil
	}
	var all []defectForm
	for _, one := range standin.Defects() {
		all = append(all, defectForm{one.Name, one.Wrong, one.Requirement})
	}
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(all)
}
