package main

import "runtime"

// versionCommand prints what this program is.
type versionCommand struct{}

// Run implements the subcommand.
func (versionCommand) Run(c *console) error {
	build, err := buildHash()
	if err != nil {
		return err
	}
	all := versions()
	c.say("haltmark %s, built with %s, build %s", all[0].Version, runtime.Version(), build)
	return nil
}
