package main

import "haltmark/bench/scenario"

// phrasesCommand prints the phrasebook.
type phrasesCommand struct{}

// Run implements the subcommand.
func (phrasesCommand) Run(c *console) error {
	about := []string{
		scenario.Given: "sets up; no time passes",
		scenario.When:  "acts; the world begins with the first",
		scenario.Then:  "waits and measures; never acts",
	}
	for _, keyword := range []scenario.Keyword{scenario.Given, scenario.When, scenario.Then} {
		c.say("%v (%s)", keyword, about[keyword])
		for _, p := range scenario.Phrases() {
			if p.Keyword == keyword {
				c.say("  %s\n      %s", p.Pattern, p.About)
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
