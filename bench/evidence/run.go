package evidence

import (
	"time"

	"haltmark/bench/verdict"
)

// Manifest says what was run. All of it is known before the first scenario.
type Manifest struct {
	Command     string   // the subcommand, which names the folder
	CommandLine []string // as given
	Seed        uint64
	Date        string // YYYY-MM-DD, against which waivers expire
	Station     string
	Controller  string
	Defect      string // seeded defect of the stand-in; empty without
	StandIn     bool   // no controller of the user's was tested
	Build       string // SHA-256 of the executable
	Versions    []Version
	Fixtures    []Fixture
	Phases      int
	Step        time.Duration // of the plant
	Cycle       time.Duration // of the controller
	Clock       string        // virtual or wall
	Tags        string        // the selection; empty for all
	Partial     bool
	Origins     Origins
	Slice       Slice     // of the scenarios, as far as the run itself tries them
	Scenarios   []Planned // in file order
}

// Version names a version of the tool, of the language or of a dependency.
type Version struct{ Name, Version string }

// Fixture is a data file that went into the run.
type Fixture struct{ Name, SHA256 string }

// Origins counts the parameters that the run used by where they come from.
type Origins struct{ Assumed, DataSheet, MeasuredOnSite int }

// Total is how many parameters the run used.
func (o Origins) Total() int { return o.Assumed + o.DataSheet + o.MeasuredOnSite }

// Host is what may differ between two equal runs.
type Host struct {
	Name     string
	GOOS     string
	GOARCH   string
	CPUs     int
	Jobs     int
	Started  time.Time
	Wall     time.Duration // zero until the run has ended
	Complete bool          // every planned scenario ended
}

// Run is what a whole run came to.
type Run struct {
	Manifest     Manifest
	Verdict      verdict.Verdict
	ExitCode     int
	Reasons      []string // one line each, when the verdict is not pass
	Doubts       []string // of the folder: why the run does not pass whatever its cases came to
	Waivers      []verdict.Waiver
	Unused       []string // of each waiver without effect, why
	Requirements []verdict.Requirement
	Hazards      []verdict.Hazard // that they are about, and those that none is about
	Standings    []verdict.Standing
	Cases        []Case // in file order
	Coverage     Coverage
	Inapplicable []string // requirements that the station has nothing for, and why
}
