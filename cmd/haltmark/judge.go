package main

import (
	"haltmark/bench/campaign"
)

// judgeCommand judges a finished run again.
type judgeCommand struct {
	Folder string `arg:"" name:"run" help:"Run folder, such as runs/latest."`
}

// Run implements the subcommand. It writes nothing.
func (j *judgeCommand) Run(c *console) error {
	folder, run, err := campaign.Rejudge(j.Folder)
	if err != nil {
		return err
	}
	c.closing(&run, folder)
	return endedWith(run.ExitCode)
}
