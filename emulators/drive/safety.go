package drive

import (
	"errors"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// SafeRequest is a set of safe functions of IEC 61800-5-2 that are selected by
// their inputs. STO has its own input.
type SafeRequest uint8

// The functions. What a drive does not have is not heard.
const (
	RequestSS1         SafeRequest = 1 << iota // ramp, then STO
	RequestSS2                                 // ramp, then SOS
	RequestSLS                                 // safely limited speed
	RequestSDIPositive                         // safe direction: positive alone
	RequestSDINegative                         // negative alone
	RequestSBC                                 // safe brake control: brake closed
)

// Safety describes the safe functions beside STO. A function whose figures are
// zero is not there. Functions: IEC 61800-5-2, its clause list secondary, their meaning
// from memory.
type Safety struct {
	SS1Time time.Duration // from request to STO at the latest
	// SS1Ramp monitors the ramp as well: once RampMargin above it is a violation,
	// and STO comes with standstill.
	SS1Ramp    quantity.Acceleration
	RampMargin quantity.Rate
	SS2Time    time.Duration  // from request to SOS at the latest
	SOSWindow  quantity.Angle // about where SOS began
	SLSRate    quantity.Rate
	SLSTime    time.Duration  // from selection until the speed is watched
	SDIWindow  quantity.Angle // tolerated the wrong way
	SBC        bool
	// Reaction is what a violated SOS, SLS or SDI brings: STO at once, or SS1.
	Reaction SafeReaction
}

// SafeReaction is what follows on a violated limit.
type SafeReaction uint8

// The reactions; both end in fault.
const (
	ReactSTO SafeReaction = iota
	ReactSS1
)

// safePhase is the safe stop that runs.
type safePhase uint8

const (
	safeNone safePhase = iota
	safeSS1
	safeSS2
	safeSOS
)

// safety is the state of the safe functions.
type safety struct {
	asked SafeRequest
	stop  safePhase
	since time.Duration // of the stop
	from  float64       // speed at its request, rad/s
	off   bool          // STO demanded from inside
	home  float64       // where SOS began, rad
	slow  time.Duration // SLS selected
	farthest,
	nearest float64 // extremes under SDI, rad
	code    uint16 // of a violation, until its function is deselected
	culprit SafeRequest
}

func (s Safety) check() error {
	switch {
	case s.SS1Time < 0 || s.SS2Time < 0 || s.SLSTime < 0:
		return errors.New("drive: times of safe functions must not be negative")
	case !(s.SS1Ramp >= 0) || !(s.RampMargin >= 0) || !(s.SOSWindow >= 0) ||
		!(s.SLSRate >= 0) || !(s.SDIWindow >= 0):
		return errors.New("drive: figures of safe functions must not be negative")
	case s.SS1Ramp > 0 && (s.SS1Time == 0 || s.RampMargin == 0):
		return errors.New("drive: a monitored SS1 ramp needs a time and a margin")
	case (s.SS2Time > 0) != (s.SOSWindow > 0):
		return errors.New("drive: SS2 ends in SOS: its time and the window go together")
	case s.SLSTime > 0 && s.SLSRate == 0:
		return errors.New("drive: SLS needs a speed")
	case s.Reaction == ReactSS1 && s.SS1Time == 0:
		return errors.New("drive: the reaction SS1 needs an SS1 time")
	}
	return nil
}

// functions tells which requests are heard.
func (s *Safety) functions() SafeRequest {
	var all SafeRequest
	add := func(there bool, r SafeRequest) {
		if there {
			all |= r
		}
	}
	add(s.SS1Time > 0, RequestSS1)
	add(s.SS2Time > 0, RequestSS2)
	add(s.SLSRate > 0, RequestSLS)
	add(s.SDIWindow > 0, RequestSDIPositive|RequestSDINegative)
	add(s.SBC, RequestSBC)
	return all
}

// safeFunctions carries the safe functions to now, and reports whether they demand
// safe torque off.
func (d *Drive) safeFunctions(asked SafeRequest) bool {
	if d.set.Safety == (Safety{}) {
		return false
	}
	s := &d.safe
	asked &= d.set.Safety.functions()
	rising := asked &^ s.asked
	s.asked = asked
	if s.code != cia402.ErrorNone && asked&s.culprit == 0 && !d.powered {
		s.code, s.culprit = cia402.ErrorNone, 0
	}
	d.safeStopOne(asked)
	d.safeStopTwo(asked)
	d.limitSafely(asked, rising)
	return s.off
}

// safeStopOne is SS1: once asked for it runs to its end, and holds STO until it is
// no longer asked for.
func (d *Drive) safeStopOne(asked SafeRequest) {
	s, set := &d.safe, &d.set.Safety
	if asked&RequestSS1 != 0 && s.stop != safeSS1 {
		d.beginSS1()
		if d.powered && d.state != cia402.FaultReactionActive && !d.Faults.IgnoreStop {
			d.state = cia402.QuickStopActive
			d.closing, d.halted = false, false
			d.slow(cia402.StopQuick)
		}
	}
	if s.off && asked&RequestSS1 == 0 && s.code == cia402.ErrorNone && !d.powered {
		s.off, s.stop = false, safeNone
	}
	if s.stop != safeSS1 || s.off {
		return
	}
	after := d.now - s.since
	s.off = !d.powered || after >= set.SS1Time
	if set.SS1Ramp == 0 || s.off {
		return
	}
	s.off = d.still
	most := max(s.from-float64(float64(set.SS1Ramp)*after.Seconds()), 0)
	if math.Abs(d.rate) > most+float64(set.RampMargin) {
		d.violate(cia402.ErrorDeceleration, RequestSS1)
		s.off = true
	}
}

func (d *Drive) beginSS1() {
	d.safe.stop, d.safe.since, d.safe.from = safeSS1, d.now, math.Abs(d.rate)
	d.holding = false
}

// safeStopTwo is SS2 and the SOS that it ends in; torque stays on.
func (d *Drive) safeStopTwo(asked SafeRequest) {
	s, set := &d.safe, &d.set.Safety
	standing := s.stop == safeSS2 || s.stop == safeSOS
	switch {
	case standing && (asked&RequestSS2 == 0 || !d.powered):
		s.stop = safeNone
		if d.holding {
			d.holding = false
			d.slowing = d.halted || d.closing
		}
	case !standing && s.stop == safeNone && asked&RequestSS2 != 0 && d.powered:
		s.stop, s.since = safeSS2, d.now
		if d.state == cia402.OperationEnabled && !d.Faults.IgnoreStop {
			d.holding = true
			if !d.closing {
				d.slow(cia402.StopQuick)
			}
		}
	case s.stop == safeSS2 && (d.still || d.now-s.since >= set.SS2Time):
		s.stop, s.home = safeSOS, d.turn
	case s.stop == safeSOS && math.Abs(d.turn-s.home) > float64(set.SOSWindow):
		d.violate(cia402.ErrorSafeStand, RequestSS2)
	}
}

// limitSafely is SLS and SDI.
func (d *Drive) limitSafely(asked, rising SafeRequest) {
	s, set := &d.safe, &d.set.Safety
	if rising&RequestSLS != 0 {
		s.slow = d.now
	}
	if rising&(RequestSDIPositive|RequestSDINegative) != 0 || !d.powered {
		s.farthest, s.nearest = d.turn, d.turn
	}
	if !d.powered {
		return
	}
	s.farthest, s.nearest = max(s.farthest, d.turn), min(s.nearest, d.turn)
	window := float64(set.SDIWindow)
	switch {
	case asked&RequestSLS != 0 && d.now-s.slow >= set.SLSTime &&
		math.Abs(d.rate) > float64(set.SLSRate):
		d.violate(cia402.ErrorSafeSpeed, RequestSLS)
	case asked&RequestSDIPositive != 0 && d.turn < s.farthest-window:
		d.violate(cia402.ErrorSafeDirection, RequestSDIPositive)
	case asked&RequestSDINegative != 0 && d.turn > s.nearest+window:
		d.violate(cia402.ErrorSafeDirection, RequestSDINegative)
	}
}

// violate is the reaction on a limit that was passed. The drive begins its ramp as
// a fault, and loses its torque at once or at the end of SS1.
func (d *Drive) violate(code uint16, culprit SafeRequest) {
	s := &d.safe
	if s.code != cia402.ErrorNone {
		return
	}
	s.code, s.culprit = code, culprit
	if d.powered && d.state != cia402.FaultReactionActive {
		d.react(code, cia402.StopQuick)
	}
	if s.stop != safeSS1 {
		d.beginSS1()
		s.off = d.set.Safety.Reaction == ReactSTO
	}
}
