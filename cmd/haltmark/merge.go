package main

import (
	"haltmark/bench/campaign"
)

// mergeCommand joins the folders of slices.
type mergeCommand struct {
	Folders []string `arg:"" name:"run" help:"Run folders of the slices of one plan."`
	Out     string   `default:"runs" help:"Folder of the run folders."`
}

// Run implements the subcommand.
func (m *mergeCommand) Run(c *console) error {
	if err := checkOut(m.Out); err != nil {
		return campaign.BadInput{err.Error()}
	}
	host := thisHost(1)
	folder, run, err := campaign.Merge(m.Folders, m.Out, host)
	if err != nil {
		return err
	}
	host.Wall = now().Sub(host.Started)
	if err := folder.Finish(&run, host); err != nil {
		return err
	}
	c.closing(&run, folder)
	return endedWith(run.ExitCode)
}
