package main

import (
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/scenario"
)

// phrasesCommand prints the phrasebook.
type phrasesCommand struct{}

// Run implements the subcommand.
func (phrasesCommand) Run(c *console) error {
	about := []string{
		scenario.Given: "sets up; no time passes",
		scenario.When:  "acts; the world begins with the first",
		scenario.Then:  "waits and measures; never acts",
	}
	set, err := config.LoadRequirements()
	if err != nil {
		return err
	}
	for _, keyword := range []scenario.Keyword{scenario.Given, scenario.When, scenario.Then} {
		c.say("%v (%s)", keyword, about[keyword])
		for _, p := range scenario.Phrases() {
			if p.Keyword == keyword {
				c.say("  %s\n      %s", p.Pattern, p.About)
				for _, ids := range p.Answers(set.All) {
					c.say("      tag of its Rule: @%s", strings.Join(ids, " or @"))
				}
			}
		}
		c.say("")
	}
	c.say("Values")
	for _, v := range scenario.Values() {
		c.say("  {%s}  %s", v.Name, v.Form)
	}
	return nil
}
