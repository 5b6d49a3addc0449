package drive

import (
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// watches is the state of what a drive watches over by itself.
type watches struct {
	partner bool          // the other drive of the axis is in fault
	path    float64       // position demand, rad
	near    time.Duration // last instant within the following error window
	free    time.Duration // last instant not blocked
}

// guard looks for what a drive trips on by itself.
func (d *Drive) guard(dt float64, in *Input) {
	w, p := &d.watch, &d.set
	w.partner = in.PartnerOff && p.PartnerInterlock
	if !d.powered {
		w.path, w.near, w.free = d.turn, d.now, d.now
		return
	}
	if w.partner {
		// Category 0 on both when one trips: common practice.
		d.code = cia402.ErrorPartner
		d.powerOff(cia402.Fault)
		return
	}
	if p.Overspeed > 0 && math.Abs(d.rate) > float64(p.Overspeed) {
		d.Trip(cia402.ErrorSpeed)
		return
	}
	if p.FollowingError > 0 {
		d.guardPath(dt)
	}
	if !d.limited || math.Abs(d.rate) >= float64(p.StandstillRate) {
		w.free = d.now
	} else if p.BlockedTime > 0 && d.now-w.free >= p.BlockedTime {
		d.Trip(cia402.ErrorMotorBlocked)
	}
}

// guardPath compares the position with the integral of the speed demand.
func (d *Drive) guardPath(dt float64) {
	w := &d.watch
	if cia402.TorqueMode(d.mode) && !d.slowing {
		w.path, w.near = d.turn, d.now
		return
	}
	w.path += float64(d.demand * dt)
	if !d.strays() {
		w.near = d.now
	} else if d.now-w.near >= d.set.FollowingTime {
		d.Trip(cia402.ErrorFollowing)
	}
}

// strays tells that the following error is beyond object 6065.
func (d *Drive) strays() bool {
	return d.set.FollowingError > 0 && d.powered &&
		math.Abs(d.watch.path-d.turn) > float64(d.set.FollowingError)
}

// stillWrong reports whether what the drive tripped on by itself is still so.
func (d *Drive) stillWrong() bool {
	switch d.code {
	case cia402.ErrorPartner:
		return d.watch.partner
	case cia402.ErrorSpeed:
		return d.set.Overspeed > 0 && math.Abs(d.rate) > float64(d.set.Overspeed)
	case cia402.ErrorI2t:
		return d.warns()
	case cia402.ErrorBrakeChopper:
		return d.power.hot
	case cia402.ErrorMainsUnder:
		return !d.power.mains
	case cia402.ErrorLinkOver:
		l := &d.set.Link
		return l.Energy > 0 && d.power.Link > float64(l.Energy)*float64(l.Chopper*l.Chopper)
	}
	return d.safe.code != cia402.ErrorNone
}

// Healthy is the contact that a drive shows the other one of its axis: supplied,
// and in no fault. Of two that fell, the one with a cause of its own is reset first.
func (d *Drive) Healthy() bool {
	return d.supplied && d.state != cia402.Fault && d.state != cia402.FaultReactionActive
}
