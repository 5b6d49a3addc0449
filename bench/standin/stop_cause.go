package standin

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

// response is what a cause asks of the controller, by the stop categories of IEC 60204-1.
type response int

const (
	alarmOnly      response = iota // keep what is, report and latch
	category0                      // category 0 on the axis, category 1 on the others
	category0Alone                 // category 0 on the axis, nothing on the others
	category1                      // category 1 on every axis
	category2                      // category 2 on the axis
	driveToStow                    // drive to the stow attitude, then category 1
)

// stopCause says of a cause how it is reported and answered.
type stopCause struct {
	words string // as a notification carries it
	// latches reports whether it must be reset once it has gone. The others only name
	// why the last motion ended.
	latches  bool
	response response
}

// stopCauses is the stop table (common practice for large antennas).
var stopCauses = [causeCount]stopCause{
	causeNone:             {"none", false, alarmOnly},
	causeOperatorStop:     {"operator stop", false, category2},
	causeSoftwareLimit:    {"software limit", false, category2},
	causePreLimit:         {"pre-limit", false, category2},
	causeFinalLimit:       {"final limit", true, category0},
	causeEmergencyStop:    {"emergency stop", true, category1},
	causeAccessOpened:     {"access opened", true, category1},
	causeModeChanged:      {"mode changed", true, category1},
	causeHandReleased:     {"hand control released", false, category1},
	causeEncoderLost:      {"encoder lost", true, category1},
	causeEncoderDoubted:   {"encoder doubted", true, category1},
	causeDriveTrip:        {"drive tripped", true, category0},
	causeDriveSilent:      {"drive silent", true, category0},
	causeInterlockSilent:  {"interlock unit silent", true, category1},
	causeControllerSilent: {"controller silent", true, category1},
	causeOverspeed:        {"overspeed", true, category0},
	causeRunaway:          {"runaway", true, category0},
	causeBrakeFeedback:    {"brake feedback", true, category1},
	causeTorqueUnproved:   {"torque not proved", true, category0},
	causeFollowingError:   {"following error", true, category1},
	causeSupplyLost:       {"supply lost", true, category0},
	causeWind:             {"wind", true, driveToStow},
	causeWindDoubtful:     {"wind doubtful", true, driveToStow},
}

// String is the cause in words.
func (c cause) String() string { return stopCauses[c].words }

func (c cause) latches() bool { return stopCauses[c].latches }

// ofDrive reports whether a drive's own fault is what tells of a cause.
func (c cause) ofDrive() bool { return c == causeDriveTrip || c == causeSupplyLost }

// ofWind tells a cause that has the antenna driven to its stow attitude.
func (c cause) ofWind() bool { return stopCauses[c].response == driveToStow }
