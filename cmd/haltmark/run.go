package main

// runCommand tries the scenarios of some features.
type runCommand struct {
	Features []string `arg:"" help:"Feature files; a bare name is an embedded feature."`
	trialFlags
}

// Run implements the subcommand.
func (r *runCommand) Run(c *console) error {
	chosen, err := r.choose("run", r.Features)
	if err != nil {
		return err
	}
	return chosen.conduct(c, r.Features)
}
