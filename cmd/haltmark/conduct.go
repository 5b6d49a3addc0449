package main

import (
	"fmt"
	"os"
	"runtime"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/verdict"
)

// conduct carries a campaign out, writes its folder and prints its end.
func (ch *chosen) conduct(c *console, features []string) error {
	plan := ch.assembly.Plan(ch.seed, ch.flags.Phases, ch.step, ch.jobs)
	if ch.flags.Clock == "wall" {
		if err := ch.onTheWall(plan); err != nil {
			return err
		}
	}
	manifest, err := ch.manifest(plan, features)
	if err != nil {
		return err
	}
	host := evidence.Host{GOOS: runtime.GOOS, GOARCH: runtime.GOARCH, CPUs: runtime.NumCPU(),
		Jobs: ch.jobs, Started: now()}
	host.Name, _ = os.Hostname() // a machine without a name has none
	plan.Folder, err = evidence.Create(ch.flags.Out, manifest, host)
	if err != nil {
		return err
	}
	if err := ch.assembly.CopyFiles(plan.Folder.Path()); err != nil {
		return err
	}
	var cases []evidence.Case
	plan.Done = func(done *campaign.Case) error {
		one := plan.Evidence(done)
		cases = append(cases, one)
		c.progress(progressLine(&one, len(plan.Examples)))
		return plan.Folder.FinishCase(&one)
	}
	if _, err := plan.Do(); err != nil {
		return err
	}
	run := campaign.Total(manifest, ch.assembly.Requirements.All, cases, ch.assembly.Waivers)
	for i := range run.Cases {
		if run.Cases[i].Waived == "" {
			continue
		}
		if err := plan.Folder.FinishCase(&run.Cases[i]); err != nil {
			return err
		}
	}
	host.Wall = now().Sub(host.Started)
	if err := plan.Folder.Finish(&run, host); err != nil {
		return err
	}
	c.closing(&run, plan.Folder)
	return endedWith(run.ExitCode)
}

// endedWith is the error that ends the program with a code; nil for a pass.
func endedWith(code int) error {
	if code == verdict.ExitPass {
		return nil
	}
	return ended(code)
}

// progressLine tells of one finished scenario.
func progressLine(c *evidence.Case, total int) string {
	return fmt.Sprintf("%3d/%d  %-12s  %s:%d  %s", c.Number, total, c.Verdict, c.Path, c.Line,
		c.Name)
}

func (ch *chosen) manifest(plan *campaign.Plan, features []string) (evidence.Manifest, error) {
	m := ch.assembly.Manifest(plan)
	m.Command, m.CommandLine = ch.command, ch.commandLine(features)
	m.Date, m.Tags = ch.date, ch.flags.Tags
	var err error
	m.Build, err = buildHash()
	m.Versions = versions()
	return m, err
}
