package campaign

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// Choice is what a person chose, by names.
type Choice struct {
	Station      string
	Controller   string
	Features     []string // embedded names or files; none means every embedded one
	Requirements []string // the same
	Tags         string
	Defect       string // of the stand-in
	Waivers      string // a file; "" for none
	Full         bool   // every cell of the stop matrix
}

// FullFlag stands in the command line of a run that tried every cell of the stop matrix.
const FullFlag = "--full"

// BadInput is everything wrong with what a person gave, one line each.
type BadInput []string

func (b BadInput) Error() string { return strings.Join(b, "\n") }

// Assembly is everything that a campaign is about, loaded and checked.
type Assembly struct {
	Station      *config.Station
	Controller   *config.Controller
	Requirements *config.Requirements
	Examples     []scenario.Example // those selected, in file order
	Features     []config.File
	Full         bool // every cell of the stop matrix
	lacks        inapplicable
	Partial      bool // the selection leaves some out
	Defect       string
	Waivers      []verdict.Waiver
	WaiverFile   config.File // the zero value without
}

// Assemble loads what was chosen and checks all of it. Its error is a BadInput.
func Assemble(c Choice) (*Assembly, error) {
	var bad BadInput
	note := func(err error) {
		if err != nil {
			bad = append(bad, strings.Split(err.Error(), "\n")...)
		}
	}
	a := &Assembly{Defect: c.Defect, Full: c.Full}
	err := CheckNames(c.Station, c.Controller)
	note(err)
	if c.Station != "" {
		a.Station, err = config.LoadStation(c.Station)
		note(err)
	}
	if c.Controller != "" {
		a.Controller, err = config.LoadController(c.Controller)
		note(err)
	}
	a.Requirements, err = config.LoadRequirements(c.Requirements...)
	note(err)
	if c.Waivers != "" {
		a.Waivers, a.WaiverFile, err = config.LoadWaivers(c.Waivers)
		note(err)
	}
	note(CheckDefect(c.Defect))
	if a.Controller != nil && c.Defect != "" && a.Controller.Launch != controller.LaunchStandin {
		note(fmt.Errorf("--defect %s: controller %s is not the stand-in, which alone has "+
			"seeded defects", c.Defect, a.Controller.Name))
	}
	if a.Station != nil && a.Requirements != nil {
		note(a.Requirements.Against(a.Station))
	}
	note(a.read(c))
	if bad == nil {
		note(a.checkMaps())
	}
	if bad == nil {
		note(a.rehearse())
	}
	if bad != nil {
		return nil, bad
	}
	return a, nil
}

// checkMaps tells what the stand-in would look for in vain. What another controller needs is
// for it to say.
func (a *Assembly) checkMaps() error {
	if !a.StandIn() {
		return nil
	}
	_, devices := a.Station.Standin(&a.Controller.Profile)
	err := devices.Check()
	if err == nil {
		return nil
	}
	var bad BadInput
	for line := range strings.Lines(err.Error()) {
		bad = append(bad, fmt.Sprintf("%s: %s; the stand-in needs it, add it to the map",
			a.Station.Files()[0].Name, strings.TrimSpace(line)))
	}
	return bad
}

// rehearse sets up the Givens of every example, and tells which of them cannot be.
func (a *Assembly) rehearse() error {
	run := a.Plan(1, 1, 0, 1).Run
	var errs []error
	for i := range a.Examples {
		if err := run.Rehearse(&a.Examples[i]); err != nil {
			errs = append(errs, err)
		}
	}
	return errors.Join(withoutRepeats(errs)...)
}

// CheckNames tells of names that are empty, as of an unset variable in a script.
func CheckNames(station, controller string) error {
	var bad BadInput
	if station == "" {
		bad = append(bad, "--station: the name is empty")
	}
	if controller == "" {
		bad = append(bad, "--controller: the name is empty")
	}
	if bad != nil {
		return bad
	}
	return nil
}

// CheckDefect reports whether the stand-in has a defect of that name; "" is none.
func CheckDefect(name string) error {
	if _, err := standin.FindDefect(name); err == nil {
		return nil
	}
	return fmt.Errorf("--defect %s: the stand-in has no such defect; `haltmark defects` lists them",
		name)
}

// read parses the features and selects among their examples.
func (a *Assembly) read(c Choice) error {
	tags, err := ParseTags(c.Tags)
	if err != nil {
		return err
	}
	names := c.Features
	if len(names) == 0 {
		names = EmbeddedFeatures()
	}
	var errs []error
	var all []scenario.Example
	for _, name := range names {
		path, text, err := readFeature(name)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		a.Features = append(a.Features, config.FileOf(path, text))
		examples, found := examplesOf(path, text, a.answers(), a.tables(c.Full))
		errs = append(errs, found...)
		all = append(all, examples...)
	}
	if a.Station != nil {
		parameters := a.Station.Station()
		all, a.lacks = applicable(all, &parameters)
	}
	total := len(all)
	for i := range all {
		if tags.Select(all[i].Tags) {
			a.Examples = append(a.Examples, all[i])
		}
	}
	a.Partial = len(a.Examples) < total || len(c.Features) > 0
	if len(errs) == 0 && len(a.Examples) == 0 {
		errs = append(errs, fmt.Errorf("--tags %q selects none of %d scenarios", c.Tags, total))
	}
	return errors.Join(errs...)
}

// tables are the rows of the stop matrix, as far as its causes loaded.
func (a *Assembly) tables(full bool) []scenario.Table {
	if a.Requirements == nil {
		return nil
	}
	return scenario.Tables(a.Requirements.Strikes, full)
}

// answers are the requirements, as far as they loaded.
func (a *Assembly) answers() []verdict.Requirement {
	if a.Requirements == nil {
		return nil
	}
	return a.Requirements.All
}

// Rules are what the station is judged by.
func (a *Assembly) Rules() verdict.Rules {
	return a.lacks.from(a.Requirements.For(a.Station))
}

// Inapplicable are the requirements that the station has nothing for, each with the reason.
func (a *Assembly) Inapplicable() []string { return a.lacks.lines() }

// Plan is the campaign over everything selected, in virtual time, with the
// stand-in in the bench's own world.
func (a *Assembly) Plan(s seed.Seed, phases int, step time.Duration, jobs int) *Plan {
	settings, devices := a.Station.Standin(&a.Controller.Profile)
	defect, _ := standin.FindDefect(a.Defect) // CheckDefect has found it
	parameters := a.Station.Station()
	return &Plan{
		Examples: a.Examples, Seed: s, Phases: phases, Full: a.Full,
		Step: cmp.Or(step, station.DefaultStep), Jobs: jobs,
		Derived: a.derivedTravel, Chain: a.chain(&parameters),
		Run: scenario.Run{
			Station: &parameters, Rules: a.Rules(), Profile: a.Controller.Profile,
			Cycle: settings.Timing.Cycle, World: virtualWorld, Pool: &record.Pool{},
			Control: func(c clock.Clock, n link.Network, _ []station.Seat) controller.Controller {
				return embedded(defect, c, n, settings, devices)
			},
		},
	}
}

func virtualWorld(s seed.Seed) (clock.Clock, link.Network) {
	c := clock.NewVirtual()
	n := link.NewMemory(c)
	n.Seed = s
	return c, n
}

// embedded is the stand-in in the bench's own world. What it keeps outlives its
// restarts, not its world.
func embedded(
	d standin.Defect, c clock.Clock, n link.Network, set standin.Settings, devices standin.Devices,
) controller.Controller {
	set.Kept = &standin.Kept{}
	return &controller.Embedded{Launch: func() (func(), error) {
		k, err := d.Start(c, n, set, devices)
		if err != nil {
			return nil, err
		}
		return k.Stop, nil
	}}
}
