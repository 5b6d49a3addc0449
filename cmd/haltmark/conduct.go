package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"syscall"

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
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer cancel()
	context.AfterFunc(ctx, cancel) // the second signal ends the program at once
	plan.Stop, plan.Slice = ctx.Done(), ch.slice
	corners, err := ch.planCorners(c, plan)
	if errors.Is(err, campaign.ErrStopped) {
		c.say("%s", stoppedLine)
		return ended(verdict.ExitBenchFailed)
	} else if err != nil {
		return err
	}
	manifest, err := ch.manifest(plan, corners, features)
	if err != nil {
		return err
	}
	if len(manifest.Own()) == 0 {
		return campaign.BadInput{fmt.Sprintf("--slice %s: none of %d scenarios is in it", ch.slice,
			len(manifest.Scenarios))}
	}
	host := thisHost(ch.jobs)
	plan.Folder, err = evidence.Create(ch.flags.Out, manifest, host)
	if err != nil {
		return err
	}
	if err := ch.assembly.CopyFiles(plan.Folder.Path()); err != nil {
		return err
	}
	cases, err := ch.try(c, append([]*campaign.Plan{plan}, corners...))
	stopped := errors.Is(err, campaign.ErrStopped)
	if err != nil && !stopped {
		return err
	}
	run := campaign.Total(manifest, ch.assembly.Rules(), cases, ch.assembly.Waivers)
	run.Coverage = campaign.Coverage(ch.assembly.Requirements, run.Cases)
	run.Inapplicable = ch.assembly.Inapplicable()
	if stopped {
		run.Verdict, run.ExitCode = verdict.BenchFailed, verdict.ExitBenchFailed
		run.Reasons = append([]string{stoppedLine}, run.Reasons...)
	}
	if err := rewriteWaived(plan.Folder, run.Cases); err != nil {
		return err
	}
	host.Wall = now().Sub(host.Started)
	if err := plan.Folder.Finish(&run, host); err != nil {
		return err
	}
	if stopped {
		c.say("%s", stoppedLine)
	}
	c.closing(&run, plan.Folder)
	return endedWith(run.ExitCode)
}

// thisHost is this machine, from now on.
func thisHost(jobs int) evidence.Host {
	h := evidence.Host{GOOS: runtime.GOOS, GOARCH: runtime.GOARCH, CPUs: runtime.NumCPU(),
		Jobs: jobs, Started: now()}
	h.Name, _ = os.Hostname() // a machine without a name has none
	return h
}

// stoppedLine says why a run is not whole.
const stoppedLine = "The run was stopped by a signal."

// planCorners plans the corners that were asked for. A signal meanwhile leaves no folder.
func (ch *chosen) planCorners(c *console, plan *campaign.Plan) ([]*campaign.Plan, error) {
	if ch.corners == campaign.WorstCorners && c.width > 0 {
		c.progress("looking for the worst corner of each requirement")
	}
	return ch.assembly.CornerPlans(plan, ch.corners)
}

// try runs everything that was planned, one plan after the other, until a signal stops
// it.
func (ch *chosen) try(c *console, plans []*campaign.Plan) ([]evidence.Case, error) {
	total := 0
	for _, plan := range plans {
		total += len(plan.Examples)
	}
	var cases []evidence.Case
	for _, plan := range plans {
		plan.Folder = plans[0].Folder
		plan.Done = func(done *campaign.Case) error {
			one := plan.Evidence(done)
			done.Discard()
			cases = append(cases, one)
			c.progress(progressLine(&one, total))
			return plan.Folder.FinishCase(&one)
		}
		if _, err := plan.Do(); err != nil {
			return cases, err
		}
	}
	return cases, nil
}

// rewriteWaived writes the cases again of which only the whole run tells that they
// are waived.
func rewriteWaived(folder *evidence.Folder, cases []evidence.Case) error {
	for i := range cases {
		if cases[i].Waived == "" {
			continue
		}
		if err := folder.FinishCase(&cases[i]); err != nil {
			return err
		}
	}
	return nil
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

func (ch *chosen) manifest(
	plan *campaign.Plan, corners []*campaign.Plan, features []string,
) (evidence.Manifest, error) {
	m := ch.assembly.Manifest(plan, corners...)
	m.Command, m.CommandLine = ch.command, ch.commandLine(features)
	m.Date, m.Tags = ch.date, ch.flags.Tags
	var err error
	m.Build, err = buildHash()
	m.Versions = versions()
	return m, err
}
