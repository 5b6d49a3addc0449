package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"time"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/quantity"
	"haltmark/bench/seed"
)

// trialFlags are the flags of gate and run.
type trialFlags struct {
	Station    string `default:"demo" help:"Embedded station, or a file."`
	Controller string `default:"standin" help:"Embedded controller sheet, or a file."`
	Clock      string `default:"virtual" enum:"virtual,wall" help:"virtual or wall."`
	Seed       string `default:"1" help:"Seed of the run; the same one gives the same records."`
	Tags       string `help:"Only scenarios with these tags: @a, ~@a, && (and), comma (or)."`
	Out        string `default:"runs" help:"Folder of the run folders."`
	Jobs       int    `help:"Scenarios at once; number of CPUs by default, 1 on the wall clock."`
	Phases     int    `default:"10" help:"Phases of the control cycle at which a cause strikes."`
	Defect     string `help:"Seeded defect of the stand-in; see haltmark defects."`
	Date       string `default:"today" help:"Day against which waivers expire, YYYY-MM-DD."`
	Waivers    string `help:"File of waivers."`
	Corners    string `enum:",none,worst,all" default:"" help:"none, worst, all; a whole gate: worst."`
	Full       bool   `help:"Every cell of the stop matrix, not one of each pair alone."`
	Slice      string `help:"One part of the plan, such as 2/5; haltmark merge joins their folders."`
	Step       string `default:"0.25 ms" help:"Plant step: 0.125 ms, 0.25 ms or 0.5 ms."`
}

// chosen is what the flags say, read and checked.
type chosen struct {
	flags    *trialFlags
	command  string
	assembly *campaign.Assembly
	seed     seed.Seed
	step     time.Duration
	date     string
	jobs     int
	corners  campaign.Corners
	slice    evidence.Slice
}

// maxPhases bounds the phases of one scenario.
const maxPhases = 1000

// choose reads the flags. Everything wrong in them and in what they name comes
// back at once, as a BadInput.
func (f *trialFlags) choose(command string, features []string) (*chosen, error) {
	var bad campaign.BadInput
	note := func(flag string, err error) {
		if err != nil {
			for line := range strings.SplitSeq(err.Error(), "\n") {
				bad = append(bad, flag+line)
			}
		}
	}
	c := &chosen{flags: f, command: command, date: f.Date}
	if c.date == "today" {
		c.date = today()
	}
	var err error
	c.seed, err = seed.Parse(f.Seed)
	note("--seed: ", err)
	c.step, err = plantStep(f.Step)
	note("--step: ", err)
	if _, err = time.Parse(time.DateOnly, c.date); err != nil {
		note("", fmt.Errorf("--date %s: no day; need such as 2027-03-31",
			cmp.Or(f.Date, `""`)))
	}
	if f.Phases < 1 || f.Phases > maxPhases {
		note("", fmt.Errorf("--phases %d: need 1 to %d", f.Phases, maxPhases))
	}
	c.corners, err = f.corners(command)
	note("", err)
	c.slice, err = evidence.ParseSlice(f.Slice)
	note("--slice: ", err)
	if f.Slice != "" && c.corners == campaign.WorstCorners {
		note("", fmt.Errorf("--slice %s: the worst corners are found among all scenarios; give "+
			"--corners none or --corners all", f.Slice))
	}
	c.jobs, err = f.jobs()
	note("", err)
	c.assembly, err = campaign.Assemble(campaign.Choice{Station: f.Station,
		Controller: f.Controller, Features: features, Tags: f.Tags, Defect: f.Defect,
		Waivers: f.Waivers, Full: f.Full})
	note("", err)
	if err == nil && f.Clock == "virtual" && !c.assembly.StandIn() {
		note("", fmt.Errorf("--clock virtual: controller %s runs outside of the bench; use "+
			"--clock wall", c.assembly.Controller.Name))
	}
	if f.Out == "" || bad == nil { // what is wrong elsewhere makes no folder
		note("", checkOut(f.Out))
	}
	if bad != nil {
		return nil, bad
	}
	return c, nil
}

// corners are those that were asked for. What is certified whole is certified at its
// worst corners too; work on a part of it is not held up by them.
func (f *trialFlags) corners(command string) (campaign.Corners, error) {
	whole := command == "gate" && f.Tags == ""
	switch {
	case f.Clock == "wall" && f.Corners != "" && f.Corners != "none":
		return 0, fmt.Errorf("--corners %s: corners are judged in virtual time only; leave it out",
			f.Corners)
	case f.Corners == "" && whole && f.Clock == "virtual":
		return campaign.WorstCorners, nil
	case f.Corners == "":
		return campaign.NoCorners, nil
	}
	return campaign.Corners(slices.Index(campaign.CornersNames(), f.Corners)), nil
}

// checkOut makes the folder of run folders, and tries whether it takes one.
func checkOut(out string) error {
	if out == "" {
		return errors.New("--out: the name of the folder is empty")
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return fmt.Errorf("--out %s: cannot be made a folder: %w", out, err)
	}
	probe, err := os.MkdirTemp(out, ".probe-")
	if err != nil {
		return fmt.Errorf("--out %s: nothing can be written there: %w", out, err)
	}
	return os.Remove(probe)
}

func (f *trialFlags) jobs() (int, error) {
	switch {
	case f.Jobs < 0:
		return 0, fmt.Errorf("--jobs %d: need 1 or more", f.Jobs)
	case f.Clock == "wall" && f.Jobs > 1:
		return 0, fmt.Errorf("--jobs %d: one scenario at a time on the wall clock; leave it out",
			f.Jobs)
	case f.Clock == "wall":
		return 1, nil
	}
	return cmp.Or(f.Jobs, runtime.NumCPU()), nil
}

// plantStep reads a plant step that the plant is proved for.
func plantStep(text string) (time.Duration, error) {
	step, err := quantity.ParseSpan(text)
	if err != nil {
		return 0, err
	}
	switch step {
	case 125 * time.Microsecond, 250 * time.Microsecond, 500 * time.Microsecond:
		return step, nil
	}
	return 0, fmt.Errorf("%s: need 0.125 ms, 0.25 ms or 0.5 ms", text)
}

// commandLine is the shortest command that gives the same records: what decides
// them, and neither jobs nor folders.
func (c *chosen) commandLine(features []string) []string {
	f := c.flags
	line := append([]string{"haltmark", c.command}, features...)
	add := func(name, value, standard string) {
		if value != standard {
			line = append(line, "--"+name, value)
		}
	}
	add("station", f.Station, "demo")
	add("controller", f.Controller, "standin")
	add("clock", f.Clock, "virtual")
	line = append(line, "--seed", f.Seed)
	add("tags", f.Tags, "")
	add("phases", fmt.Sprint(f.Phases), "10")
	add("defect", f.Defect, "")
	line = append(line, "--date", c.date)
	add("waivers", f.Waivers, "")
	add("corners", f.Corners, "")
	add("step", f.Step, "0.25 ms")
	add("slice", f.Slice, "")
	if f.Full {
		line = append(line, campaign.FullFlag)
	}
	return line
}
