package standin

import "time"

// rules are the places where one part of the controller hands over to the next:
// what it has read, what it decides, what it sends and reports. Each is a function,
// so that a variant of the controller may put another in its place.
type rules struct {
	// Inputs: what the devices answered becomes positions, rates, states and switches.
	read func(now time.Duration)

	// Decisions. Which cause is there, which response it gets, and when.
	supervise func(now time.Duration)
	plausible func(axis int, now time.Duration) // the encoder beside the motors
	raise     func(what cause, axis int, r response, now time.Duration)
	respond   func(axis int, r response, now time.Duration)
	ramp      func(axis int, now time.Duration)
	// Which command may be obeyed, and what is done about it.
	accept func(o order, now time.Duration) error
	obey   func(o order, now time.Duration)
	// Motion that no command asks for: by the local panel, and out of the wind.
	hand    func(now time.Duration)
	mayStow func() bool
	stow    func(now time.Duration)

	// Outputs: to drives and interlock unit, and to the supervisory system.
	compose func(now time.Duration) outputs
	report  func(now time.Duration) (first cause, axis int)
	answer  func(dst, request []byte) []byte
}

func (c *Controller) defaultRules() rules {
	return rules{
		read: c.takeReadings, supervise: c.superviseAll, plausible: c.superviseTracking,
		raise: c.raiseAs, respond: c.respondTo, ramp: c.stopAxis,
		accept: c.check, obey: c.carryOut, hand: c.followPanel,
		mayStow: c.mayStowByItself, stow: c.stowByItself,
		compose: c.composeOutputs, report: c.firstCause, answer: c.answerRequest,
	}
}

// thresholds are shares of the full rate.
type thresholds struct {
	overspeed float64 // of a motor or of the axis
	runaway   float64 // between what the motors are commanded and what they do
	jump      float64 // of a change of position: beyond it a reading is not a position
	hand      float64 // at which the hand control moves an axis
}

func defaultThresholds() thresholds {
	return thresholds{
		overspeed: 1.15,
		runaway:   0.3,
		jump:      3,
		// A tenth is allowed past a final limit (common practice); what is left of it
		// is for the sag when the brakes open.
		hand: 0.07,
	}
}
