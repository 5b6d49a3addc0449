package main

import (
	"fmt"
	"strings"

	"haltmark/bench/campaign"
	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
)

// coverageCommand prints the stop matrix.
type coverageCommand struct {
	Folder string `arg:"" name:"run" optional:"" help:"Run folder, to tell what it has shown."`
	All    bool   `help:"Each cell by name, and why it cannot be."`
}

// Help is the long help.
func (coverageCommand) Help() string {
	return "Rows are stop causes, columns activities. Each place counts axes with their directions: " +
		"tried by a gate, of those that can be; of a run folder those that passed, that it tried and " +
		"that can be. A dot is a combination that cannot be; --all says why."
}

// Run implements the subcommand.
func (g *coverageCommand) Run(c *console) error {
	set, err := config.LoadRequirements()
	if err != nil {
		return err
	}
	coverage := campaign.Coverage(set, nil)
	if g.Folder != "" {
		_, run, err := campaign.Rejudge(g.Folder)
		if err != nil {
			return err
		}
		coverage = run.Coverage
	}
	g.grid(c, &coverage)
	if g.All {
		for _, cell := range scenario.StopMatrix(set.Strikes) {
			c.say("%s", told(&cell))
		}
	}
	return nil
}

func told(cell *scenario.Cell) string {
	switch {
	case cell.Lacks != "":
		return "cannot be: " + cell.Name() + ": " + cell.Lacks
	case cell.Chosen:
		return "gate: " + cell.Name()
	}
	return "gate --full: " + cell.Name()
}

func (g *coverageCommand) grid(c *console, m *evidence.Coverage) {
	header := fmt.Sprintf("%-56s", "stop cause")
	for k, words := range m.Activities {
		c.say("%s  %s", evidence.Letter(k), words)
		header += fmt.Sprintf("%8s", evidence.Letter(k))
	}
	c.say("\n%s", header)
	for _, row := range m.Rows {
		var line strings.Builder
		for _, p := range row.Places {
			fmt.Fprintf(&line, "%8s", g.place(p))
		}
		c.say("%-56s%s", row.Cause, line.String())
	}
	for _, why := range m.Untried {
		c.say("not in the matrix: %s", why)
	}
	all := m.Totals()
	c.say("%d cells can be; gate tries %d, each pair of cause, activity, and axis with direction; "+
		"gate --full tries all", all.Possible, all.Chosen)
	if g.Folder != "" {
		c.say("%s tried %d, of which %d passed", g.Folder, all.Tried, all.Passed)
	}
}

func (g *coverageCommand) place(p evidence.CoveragePlace) string {
	switch {
	case p.Possible == 0:
		return "."
	case g.Folder != "":
		return fmt.Sprintf("%d/%d/%d", p.Passed, p.Tried, p.Possible)
	}
	return fmt.Sprintf("%d/%d", p.Chosen, p.Possible)
}
