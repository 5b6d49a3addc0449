package standin

import "strings"

// cause is why the controller stopped; its numbers are those of the MIB.
type cause int

const (
	causeNone cause = iota
	causeOperatorStop
	causeSoftwareLimit
	causePreLimit
	causeFinalLimit
	causeEmergencyStop
	causeAccessOpened
	causeModeChanged
	causeHandReleased
	causeEncoderLost
	causeEncoderDoubted
	causeDriveTrip
	causeDriveSilent
	causeInterlockSilent
	causeControllerSilent
	causeOverspeed
	causeRunaway
	causeBrakeFeedback
	causeTorqueUnproved
	causeFollowingError
	causeSupplyLost
	causeWind
	causeWindDoubtful
	causeCount
)

// latches tells whether a cause must be reset once it has gone. The others only
// name why the last motion ended.
func (c cause) latches() bool {
	switch c {
	case causeNone, causeOperatorStop, causeSoftwareLimit, causePreLimit, causeHandReleased:
		return false
	}
	return true
}

// ofWind tells a cause that has the antenna driven to its stow attitude.
func (c cause) ofWind() bool { return c == causeWind || c == causeWindDoubtful }

// response is what a cause asks of the controller (HAZARDS.md, stop table).
type response int

const (
	hold2      response = iota // category 2 on the axis
	ramp1All                   // category 1 on every axis
	drop0Rest1                 // category 0 on the axis, category 1 on the others
	keepAlarm                  // keep what is, tell and latch
	takeRefuge                 // drive to the stow attitude, then category 1
)

// String is the cause in words, as a notification carries it.
func (c cause) String() string {
	return [causeCount]string{
		"none", "operator stop", "software limit", "pre-limit", "final limit",
		"emergency stop", "access opened", "mode changed", "hand control released",
		"encoder lost", "encoder doubted", "drive tripped", "drive silent",
		"interlock unit silent", "controller silent", "overspeed", "runaway",
		"brake feedback", "torque not proved", "following error", "supply lost",
		"wind", "wind doubtful",
	}[c]
}

// name is the cause as an identifier.
func (c cause) name() string {
	return strings.NewReplacer(" ", "_", "-", "_").Replace(c.String())
}
