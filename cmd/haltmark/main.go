package main

import (
	"errors"
	"os"
	"runtime/debug"

	"github.com/alecthomas/kong"

	"haltmark/bench/campaign"
	"haltmark/bench/config"
	"haltmark/bench/verdict"
)

// commandLine is every subcommand.
type commandLine struct {
	Gate     gateCommand     `cmd:"" help:"Run every embedded scenario and end with a verdict."`
	Run      runCommand      `cmd:"" help:"Run the scenarios of some feature files."`
	Judge    judgeCommand    `cmd:"" help:"Judge a finished run again, from its folder alone."`
	Merge    mergeCommand    `cmd:"" help:"Join the folders of a plan's slices into one."`
	Serve    serveCommand    `cmd:"" help:"Serve the emulated station on ports of this machine."`
	Standin  standinCommand  `cmd:"" help:"Run the stand-in controller as a process of its own."`
	Check    checkCommand    `cmd:"" help:"Check fixtures and feature files."`
	Coverage coverageCommand `cmd:"" help:"Print which stop causes are tried in which activities."`
	Phrases  phrasesCommand  `cmd:"" help:"List what a scenario may say."`
	Faults   faultsCommand   `cmd:"" help:"List what can be broken on the bench."`
	Defects  defectsCommand  `cmd:"" help:"List the seeded defects of the stand-in."`
	Qualify  qualifyCommand  `cmd:"" help:"Measure how blind the bench is, by mechanical mutants."`
	Version  versionCommand  `cmd:"" help:"Print version and build."`
}

const about = "A bench that measures, against emulated drives, encoders and an interlock unit, " +
	"whether an antenna controller stops within its limits. " + caution

func main() { os.Exit(run(os.Args[1:], newConsole(os.Stdout, os.Stderr))) }

// run carries a command line out and returns the exit code. A panic is a failure of the
// bench; Go's own exit code for it would read as not decided.
func run(args []string, c *console) (code int) {
	defer func() {
		if p := recover(); p != nil {
			c.complain("haltmark: the bench failed: %v\n%s", p, debug.Stack())
			code = verdict.ExitBenchFailed
		}
	}()
	var line commandLine
	parser, err := kong.New(&line, kong.Name("haltmark"), kong.Description(about),
		kong.Writers(c.out, c.err), kong.Bind(c),
		kong.Vars{"subjects": subjectNames()})
	if err != nil {
		c.complain("haltmark: %v", err)
		return verdict.ExitBenchFailed
	}
	ctx, err := parser.Parse(args)
	if err != nil {
		c.complain("haltmark: %v; see haltmark --help", err)
		return verdict.ExitBadInput
	}
	return c.exitCode(ctx.Run())
}

// ended is the error of a command that did its work and ends with a code.
type ended int

func (ended) Error() string { return "ended with a verdict" }

// exitCode prints what an error says and tells the code to end with.
func (c *console) exitCode(err error) int {
	var code ended
	var bad campaign.BadInput
	var problems config.Problems
	switch {
	case err == nil:
		return verdict.ExitPass
	case errors.As(err, &code):
		return int(code)
	case errors.As(err, &bad), errors.As(err, &problems):
		c.complainOf(err)
		return verdict.ExitBadInput
	}
	c.complain("haltmark: the bench failed: %v", err)
	return verdict.ExitBenchFailed
}
