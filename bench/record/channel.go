package record

import (
	"time"

	"haltmark/bench/quantity"
)

// Channel is one sampled quantity, in SI units of its dimension.
type Channel struct {
	Name      string
	Dimension quantity.Dimension
	Extremes  bool // least and greatest value of each interval are kept too
}

// Edge is a change of a discrete channel. The value holds until the next edge.
type Edge struct {
	At      time.Duration
	Channel string
	Value   int64
}

// The kinds of mark.
const (
	Cause   = "cause"   // a stop cause came true, at its true time
	Fault   = "fault"   // a fault began, at its true time
	Command = "command" // something was commanded, by the supervisory system or by hand
	Step    = "step"    // a sentence of the scenario began
	Release = "release" // a stop cause was taken back
	Report  = "report"  // the supervisory system was told
)

// Mark is an event that someone did or saw. Axis is empty for all axes.
type Mark struct {
	At   time.Duration
	Kind string
	Name string
	Axis string
	Text string
}

// Ask is a measurement that a sentence asked for. It says what to measure and
// from when to when; what the result is worth is the requirement's matter.
type Ask struct {
	At          time.Duration // when the sentence asked
	From        time.Duration // the cause's true time, or the start of the window
	Until       time.Duration // the end of the window; 0 is the end of the record
	Requirement string        // HR-xxx
	Axis        string
	End         string // lower or upper
	Item        string // motor, or what else the measure wants named
	Cause       string // the name of the cause that is answered
	Tightened   bool   // the sentence gives a limit of its own
	Limit       float64
	Text        string // the sentence
}
