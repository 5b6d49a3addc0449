package main

import (
	"cmp"
	"errors"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/campaign"
	"haltmark/bench/config"
	"haltmark/bench/quantity"
)

// checkCommand checks files that a person wrote, and prints what follows from a
// station's.
type checkCommand struct {
	Fixtures []string `arg:"" help:"Files, or bare names of embedded ones."`
}

// Run implements the subcommand.
func (k *checkCommand) Run(c *console) error {
	var bad campaign.BadInput
	for _, name := range k.Fixtures {
		if err := c.check(name); err != nil {
			bad = append(bad, strings.Split(err.Error(), "\n")...)
			continue
		}
		c.say("%s: good", name)
	}
	if bad != nil {
		return bad
	}
	return nil
}

// check checks one file by its kind.
func (c *console) check(name string) error {
	bare := !strings.ContainsAny(name, `/\`) && filepath.Ext(name) == ""
	if filepath.Ext(name) == ".feature" ||
		bare && slices.Contains(campaign.EmbeddedFeatures(), name) && config.EmbeddedKind(name) == "" {
		return campaign.CheckFeature(name)
	}
	var kind config.Kind
	var err error
	if bare {
		if kind = config.EmbeddedKind(name); kind == "" {
			return errors.New(name + ": no such embedded fixture or feature; use a file's path, or " +
				"one of " + strings.Join(embeddedNames(), ", "))
		}
	} else if kind, err = config.KindOf(name); err != nil {
		return err
	}
	switch kind {
	case config.KindStation:
		return c.checkStation(name)
	case config.KindSheet:
		return config.CheckSheet(name)
	case config.KindMap:
		_, err = config.LoadMap(name)
	case config.KindController:
		_, err = config.LoadController(name)
	case config.KindRequirement:
		return checkRequirements(name)
	case config.KindRegister:
		return c.checkRegister(name)
	case config.KindWaiver:
		_, _, err = config.LoadWaivers(name)
	}
	return err
}

// checkRequirements checks a set of requirements, and that the demo station has
// every parameter that their limits name.
func checkRequirements(name string) error {
	set, err := config.LoadRequirements(name)
	if err != nil {
		return err
	}
	st, err := config.LoadStation("demo")
	if err != nil {
		return err
	}
	return set.Against(st)
}

// checkRegister checks a hazard register and prints which requirements are about each
// hazard, and which hazards none is about.
func (c *console) checkRegister(name string) error {
	set, err := config.CheckRegister(name)
	if err != nil {
		return err
	}
	for _, h := range set.Hazards {
		ids := []string{}
		for _, q := range h.Answering(set.All) {
			ids = append(ids, q.ID)
		}
		slices.Sort(ids)
		c.say("%v\n    %s", h, cmp.Or(strings.Join(ids, " "), "no requirement: "+h.Unanswered))
	}
	return nil
}

func embeddedNames() []string {
	all := []string{string(config.KindRegister)}
	for _, kind := range config.Kinds() {
		all = append(all, config.Embedded(string(kind))...)
	}
	return append(all, campaign.EmbeddedFeatures()...)
}

// checkStation checks a station by its rules and prints its derived figures.
func (c *console) checkStation(name string) error {
	st, err := config.LoadStation(name)
	if err != nil {
		return err
	}
	c.say("Station %s, derived figures:", st.Name())
	for _, p := range st.Parameters() {
		if p.Derived {
			c.say("  %-48s %s", p.Path, quantity.Format(p.Dimension, p.Value))
		}
	}
	return nil
}
