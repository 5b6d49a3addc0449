package interlock

import (
	"testing"
	"time"

	"haltmark/bench/plant"
)

// Common practice: hatch, ladder or pin opened in motion and mode changed
// in motion are category 1 on all axes; at rest only where the wiring says so.
func TestCauses_FollowTheWiring(t *testing.T) {
	causes := map[string]struct {
		wire func(*Parameters, Stops)
		open func(*Panel)
	}{
		"hatch": {func(p *Parameters, s Stops) { p.Hatch = s }, func(p *Panel) { p.Hatch = true }},
		"ladder": {func(p *Parameters, s Stops) { p.Ladder = s },
			func(p *Panel) { p.Ladder = true }},
		"pin": {func(p *Parameters, s Stops) { p.Pin = s }, func(p *Panel) { p.Pin[1] = true }},
		"selection": {func(p *Parameters, s Stops) { p.ModeChange = s },
			func(p *Panel) { p.Mode = Local }},
	}
	rows := []struct {
		stops        Stops
		still, trips bool
	}{
		{StopsNever, false, false}, {StopsNever, true, false},
		{StopsInMotion, false, true}, {StopsInMotion, true, false},
		{StopsAlways, false, true}, {StopsAlways, true, true},
	}
	for name, c := range causes {
		for _, row := range rows {
			p := demo()
			p.Hatch, p.Ladder, p.Pin, p.ModeChange = 0, 0, 0, 0
			c.wire(&p, row.stops)
			r := ready(t, p)
			r.in.Standstill = [plant.AxisCount]bool{true, row.still, true, true}
			c.open(&r.Panel)
			r.run(100 * ms)
			r.want(name+" trips", !r.InstantContact, row.trips)
			r.run(2 * time.Second)
			r.want(name+" opens the delayed contact", !r.DelayedContact, row.trips)
			r.Panel = Panel{Mode: r.Panel.Mode}
			r.in.Standstill[1] = true
			r.run(100 * ms)
			r.press()
			r.want(name+" gone, relay reset", r.DelayedContact, true)
		}
	}
}

// An access that tripped the chain keeps it open at standstill (HZ-02).
func TestCauses_AnOpenHatchKeepsTheChainOpen(t *testing.T) {
	r := ready(t, demo())
	r.Panel.Hatch = true
	r.run(2 * time.Second)
	r.in.Standstill = [plant.AxisCount]bool{true, true, true, true}
	r.run(time.Second)
	r.press()
	r.want("reset with the hatch open", r.DelayedContact, false)
	r.Panel.Hatch = false
	r.run(100 * ms)
	r.press()
	r.want("reset with the hatch closed", r.DelayedContact, true)
	// Opened at rest it stops nothing; the first motion under it does.
	r.Panel.Hatch = true
	r.run(time.Second)
	r.want("relay at rest", r.InstantContact, true)
	r.in.Standstill[0] = false
	r.run(30 * ms)
	r.want("relay in motion", r.InstantContact, false)
}

// Common practice: 200 ms without the controller open the stop chain; the outputs
// drop when the delayed contact opens, not before.
func TestWatchdog_OpensTheChainByItself(t *testing.T) {
	r := ready(t, demo())
	for r.now%(20*ms) != 0 {
		r.step()
	}
	r.step() // the last write is heard here
	at := r.now
	r.alive = false
	r.exactly("channels opened",
		r.until("channels", func() bool { return !r.Channel[0] && !r.Channel[1] }), 200*ms)
	r.want("watchdog tripped", r.load("watchdog_tripped") == 1, true)
	r.until("delayed contact", func() bool {
		r.want("outputs", r.Enable[0] && r.BrakeRelease[0] && r.Horn, r.DelayedContact)
		return !r.DelayedContact
	})
	r.exactly("delayed contact opened", r.now-at, 2120*ms)
	r.press()
	r.want("reset unheard", r.DelayedContact, false)

	r.store("heartbeat", 7)
	r.run(20 * ms)
	r.want("watchdog latched", r.load("watchdog_tripped") == 1, true)
	r.want("relay on reconnection alone", r.DelayedContact, false)
	r.store("heartbeat", 8)
	r.press()
	r.want("relay", r.DelayedContact, true)
	r.want("watchdog", r.load("watchdog_tripped") == 1, false)
	r.want("a dead controller's last word", r.Enable[0] || r.BrakeRelease[0] || r.Horn, false)
}

// Any accepted store feeds it, a refused one does not.
func TestWatchdog_IsFedByOutputsAndHeartbeat(t *testing.T) {
	feeds := map[string]bool{"horn": true, "enable_elevation": true, "heartbeat": true,
		"brake_release_polarization_v_1": true, "hatch": false, "relay_delayed_contact": false}
	for name, feeds := range feeds {
		r := ready(t, demo())
		r.alive = false
		for range 10 {
			r.run(100 * ms)
			err := r.Store(id(t, name), 1)
			if feeds != (err == nil) {
				t.Fatalf("storing %s: %v", name, err)
			}
		}
		r.want("fed by "+name, r.Channel[0], feeds)
	}
}

func TestCauses_WhereTheSelectorStandsAtFirstIsNoChange(t *testing.T) {
	p := demo()
	p.ModeChange = StopsAlways
	r := newRig(t, p)
	r.Panel.Mode = Maintenance
	r.step() // the controller is heard in the first step
	r.want("channels", r.Channel == [2]bool{true, true}, true)
	r.Panel.Mode = Local
	r.step()
	r.want("channels after a turn", r.Channel == [2]bool{false, false}, true)
}
