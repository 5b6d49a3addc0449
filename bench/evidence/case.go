package evidence

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/verdict"
)

// Case is one scenario, or one row of an outline, with all of its phases.
type Case struct {
	Number    int // place in file order over the whole run, from 1
	Feature   string
	Rule      string // empty outside a rule
	Name      string
	Path      string // of the feature file, with forward slashes
	Line      int    // of the scenario or of its row
	Tags      []string
	Corner    string // of the station; empty at nominal
	Seed      uint64
	Verdict   verdict.Verdict
	Reason    string        // one line when the verdict is not pass
	Waived    string        // reason of the waiver that lets it stand; empty without
	Unended   bool          // planned, and nothing is known of it
	Simulated time.Duration // of all phases together

	Sentences []Sentence
	Outcomes  []verdict.Outcome // of asks and watches, joined over the phases
	Stops     []Stop
	Phases    []Phase
	Worst     int // index into Phases of the one judged and plotted
	Plot      Plot
}

// Sentence is one step of the scenario. An outcome belongs to the sentence whose
// text it carries.
type Sentence struct {
	Keyword string // Given, When, Then, And, But
	Text    string
	Line    int
	Verdict verdict.Verdict
	Note    string // what went wrong; empty when nothing did
}

// Stop is one stop of one axis in the worst phase.
type Stop struct {
	Axis, Cause string
	Parts       verdict.Parts // instants counted from the cause
	Travel      float64       // measured, rad
	Derived     float64       // what follows from the station's figures, rad; 0 unknown
	RemovedBy   string        // the path that first took the torque; empty unknown
}

// Phase is one whole run of the scenario with its cause shifted.
type Phase struct {
	Number  int // from 1
	Seed    uint64
	Shift   time.Duration // of the cause within the control cycle
	Verdict verdict.Verdict
	Hash    string // SHA-256 of the record, hexadecimal
	Kept    bool   // its record is in the folder
	Figures []Figure
}

// Figure is the value that one of the case's outcomes has in one phase. Axis and end are
// those of the outcome, but for a watch: its worst occasion may be on another axis each time.
type Figure struct {
	Of     int // index into Outcomes
	Axis   string
	End    string
	Value  float64 // SI
	Margin float64 // SI
}

// Plot says what the scenario's one plot shows.
type Plot struct {
	Axis  string            // empty: none
	Chain *plant.LimitChain // drawn on the position panel; nil for axes without
	From  time.Duration
	Until time.Duration // 0: to the end of the record
}
