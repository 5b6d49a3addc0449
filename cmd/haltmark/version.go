package main

// versionCommand prints what this program is.
type versionCommand struct{}

// Run implements the subcommand.
func (versionCommand) Run(c *console) error {
	build, err := buildHash()
	if err != nil {
		return err
	}
	all := versions()
	c.say("haltmark %s, %s %s, build %s", all[0].Version, all[1].Name, all[1].Version, build)
	return nil
}
