package main

// gateCommand tries everything that is embedded.
type gateCommand struct {
	trialFlags
}

// Run implements the subcommand.
func (g *gateCommand) Run(c *console) error {
	chosen, err := g.choose("gate", nil)
	if err != nil {
		return err
	}
	return chosen.conduct(c, nil)
}
