package interlock

import (
	"time"

	"haltmark/bench/plant"
)

// modeUnknown is before the unit has looked at its selector: where it stands
// when the supply comes is no change.
const modeUnknown Mode = -1

// cause is one contact that may trip the stop chain.
type cause bool

// step reports whether the cause opens the chain: once tripped in motion it does
// so until its contact closes.
func (c *cause) step(open, moving bool, when Stops) bool {
	*c = cause(open && (when == StopsAlways || when == StopsInMotion && (moving || bool(*c))))
	return bool(*c)
}

// emergencyStopOpen reports whether this channel's contact is open.
func (u *Unit) emergencyStopOpen(channel int) bool {
	pressed := u.Panel.EmergencyStop[channel] || u.Faults.Panel.EmergencyStop[channel]
	return pressed && !u.Faults.EmergencyStopWelded[channel]
}

// channels computes both channels of the relay. The emergency stop has a contact
// in each; everything else opens both.
func (u *Unit) channels(in *Input) {
	moving := in.Standstill != [plant.AxisCount]bool{true, true, true, true}
	p := &u.panelInputs
	turned := p.Mode != u.lastMode && u.lastMode != modeUnknown
	u.lastMode = p.Mode
	// A turned selector counts until the motion it was turned in has ended.
	open := u.mode.step(turned || bool(u.mode) && moving, moving, u.set.ModeChange)
	open = u.hatch.step(p.Hatch, moving, u.set.Hatch) || open
	open = u.ladder.step(p.Ladder, moving, u.set.Ladder) || open
	open = u.pin.step(p.Pin[0] || p.Pin[1], moving, u.set.Pin) || open
	open = !u.heard || open
	for k := range u.Channel {
		u.Channel[k] = !open && !u.emergencyStopOpen(k)
	}
}

// pair watches that two channels do the same.
type pair struct {
	left       bool // they have left closed-together and not both returned
	bothOpened bool // both were open since then
	apart      bool // they are out of step, since when
	since      time.Duration
	flagged    bool
	opened     bool // both were open since flagged
}

// step latches the flag when one channel has not followed the other within the
// limit, opening or closing. Both must then open and close again.
func (p *pair) step(closed [2]bool, now, limit time.Duration) {
	switch {
	case closed[0] && closed[1] && (!p.left || p.bothOpened):
		p.flagged = p.flagged && !p.opened
		p.left, p.bothOpened, p.apart = false, false, false
		return
	case !closed[0] && !closed[1]:
		p.left, p.bothOpened, p.opened, p.apart = true, true, true, false
		return
	}
	// They differ, or one opened and closed alone.
	p.left = true
	if !p.apart {
		p.apart, p.since = true, now
	}
	if !p.flagged && now-p.since >= limit {
		p.flagged, p.opened = true, false
	}
}

// agrees reports whether both channels are closed and nothing is owed.
func (p *pair) agrees() bool { return !p.left && !p.flagged }

// relay trips with the first open channel and stays so until both are closed,
// the stop has run to its end, and the reset button goes down. A button already
// down resets nothing (2006/42/EC Annex I 1.2.4.3: the command is sustained until
// it is specifically overridden; releasing the device only permits a restart).
func (u *Unit) relay(now time.Duration) {
	open := !u.Channel[0] || !u.Channel[1]
	if open && !u.tripped {
		u.tripped, u.trippedAt = true, now
	}
	pressed := u.panelInputs.Reset && !u.resetWas
	u.resetWas = u.panelInputs.Reset
	if pressed && u.tripped {
		u.ResetRefused = open || u.DelayedContact || !u.pair.agrees()
		if !u.ResetRefused {
			u.tripped, u.WatchdogTripped = false, false
		}
	}
	if !u.tripped {
		u.InstantContact, u.DelayedContact = true, true
		return
	}
	since := now - u.trippedAt - u.set.RelayDelay - u.Faults.RelayLate
	if since >= 0 {
		u.InstantContact = false
	}
	if since >= u.set.SS1Time && u.DelayedContact {
		// Forgetting the commands keeps a dead controller's last word from
		// coming back with the reset.
		u.DelayedContact, u.command = false, outputs{}
	}
}
