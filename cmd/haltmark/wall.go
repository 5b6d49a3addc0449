package main

import (
	"os"

	"haltmark/bench/campaign"
)

// onTheWall has every example run once more on the wall clock. The stand-in is
// this same program in a process of its own; another's controller is met as its
// sheet says, and has no virtual phases before.
func (ch *chosen) onTheWall(plan *campaign.Plan) error {
	plan.Wall = &campaign.Wall{}
	if !ch.assembly.StandIn() {
		plan.Phases = 0
		return nil
	}
	program, err := os.Executable()
	if err != nil {
		return err
	}
	plan.Wall.Command = []string{program, "standin", "--attached",
		"--station", ch.flags.Station, "--controller", ch.flags.Controller}
	if ch.flags.Defect != "" {
		plan.Wall.Command = append(plan.Wall.Command, "--defect", ch.flags.Defect)
	}
	return nil
}
