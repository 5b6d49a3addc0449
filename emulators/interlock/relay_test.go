package interlock

import (
	"testing"
	"time"

	"haltmark/bench/plant"
)

// The relay of every shipped station: 20 ms, then SS1-t. IEC 60204-1 9.2.2
// (secondary): category 1 keeps power for the ramp, category 0 does not.
func TestRelay_TimesOfBothContacts(t *testing.T) {
	for _, ss1 := range []time.Duration{0, 1500 * ms, 1900 * ms, 3 * time.Second} {
		p := demo()
		p.SS1Time = ss1
		r := ready(t, p)
		r.emergencyStop(true)
		at := r.now
		instant := r.until("instant contact opens", func() bool { return !r.InstantContact })
		r.exactly("instant contact opened", instant, 20*ms)
		if r.DelayedContact {
			r.until("delayed contact opens", func() bool {
				r.want("enable before the delayed contact", r.Enable[0] && r.BrakeRelease[0] &&
					r.Horn, r.DelayedContact)
				return !r.DelayedContact
			})
		}
		r.exactly("delayed contact opened", r.now-at, 20*ms+ss1)
		r.want("an output after it", r.Enable[0] || r.BrakeRelease[0] || r.Horn, false)
	}
}

func TestRelay_SlowRelayComesLaterByItsFault(t *testing.T) {
	r := ready(t, demo())
	r.Faults.RelayLate = 35 * ms
	r.emergencyStop(true)
	got := r.until("instant contact opens", func() bool { return !r.InstantContact })
	r.exactly("instant contact opened", got, 55*ms)
}

// ISO 13850:2015 4.1.1.2 (secondary): available in every mode, over everything.
func TestEmergencyStop_StopsInEveryModeAtRestAndInMotion(t *testing.T) {
	for _, mode := range []Mode{Remote, Local, Maintenance} {
		for _, still := range []bool{false, true} {
			p := demo()
			p.Hatch, p.Ladder, p.Pin, p.ModeChange = 0, 0, 0, 0
			r := ready(t, p)
			r.Panel.Mode = mode
			r.in.Standstill = [plant.AxisCount]bool{still, still, still, still}
			r.run(100 * ms)
			r.want("delayed contact", r.DelayedContact, true)
			r.emergencyStop(true)
			r.run(2 * time.Second)
			r.want("delayed contact", r.DelayedContact, false)
		}
	}
}

// 2006/42/EC Annex I 1.2.4.3: the command is sustained after the device is let
// go, until it is specifically overridden; ISO 13850 (secondary): a reset while
// it is still pressed is refused.
func TestReset_NeedsEveryChannelAndAFreshPress(t *testing.T) {
	r := ready(t, demo())
	r.emergencyStop(true)
	r.run(3 * time.Second)
	r.press()
	r.want("relay reset while pressed", r.DelayedContact || r.InstantContact, false)
	r.want("reset refused", r.load("reset_refused") == 1, true)

	r.Panel.Reset = true // held down from before the release
	r.run(100 * ms)
	r.emergencyStop(false)
	r.run(5 * time.Second)
	r.want("both channels", r.load("relay_channel_1") == 1 && r.load("relay_channel_2") == 1, true)
	r.want("relay closed by a held button", r.DelayedContact, false)

	r.Panel.Reset = false
	r.run(100 * ms)
	r.want("relay closed by letting go", r.DelayedContact, false)
	r.press()
	r.want("relay after a fresh press", r.DelayedContact && r.InstantContact, true)
	r.want("reset refused", r.load("reset_refused") == 1, false)
}

// A stop that has begun ends: a button pressed and let go at once, and a reset
// inside the monitored ramp time, leave the delayed contact to open in its time.
func TestReset_DoesNotCutAStopShort(t *testing.T) {
	r := ready(t, demo())
	at := r.now
	r.emergencyStop(true)
	r.run(100 * ms)
	r.emergencyStop(false)
	r.press()
	r.want("reset refused", r.ResetRefused, true)
	r.until("delayed contact opens", func() bool { return !r.DelayedContact })
	r.exactly("delayed contact opened", r.now-at, 1920*ms)
}

// Common practice: the stop comes with the first channel, the 0.5 s delays the flag only.
func TestDiscrepancy_StopsAtOnceAndFlagsAfterHalfASecond(t *testing.T) {
	for welded := range 2 {
		r := ready(t, demo())
		r.Faults.EmergencyStopWelded[welded] = true
		at := r.now
		r.emergencyStop(true)
		r.exactly("instant contact opened",
			r.until("instant", func() bool { return !r.InstantContact }), 20*ms)
		r.until("flag", func() bool { return r.Discrepancy })
		r.exactly("discrepancy flagged", r.now-at-step, 500*ms)
		r.want("flag on the wire", r.load("channel_discrepancy") == 1, true)
		r.run(3 * time.Second)

		r.emergencyStop(false)
		r.run(time.Second)
		r.press()
		r.want("reset with a welded channel", r.DelayedContact, false)
		r.want("flag after the release", r.Discrepancy, true)

		r.Faults.EmergencyStopWelded[welded] = false
		r.run(time.Second)
		r.press()
		r.want("reset before both have opened", r.DelayedContact, false)
		r.emergencyStop(true)
		r.run(100 * ms)
		r.want("flag while both are open", r.Discrepancy, true)
		r.emergencyStop(false)
		r.run(100 * ms)
		r.want("flag after both opened and closed", r.Discrepancy, false)
		r.press()
		r.want("relay", r.DelayedContact, true)
	}
}

// A channel that opened and closed alone owes the other's opening even when it
// was quicker than the discrepancy time (common practice of two-channel relays).
func TestDiscrepancy_OfAShortPressOnOneChannel(t *testing.T) {
	r := ready(t, demo())
	r.Panel.EmergencyStop[0] = true
	r.run(100 * ms)
	r.Panel.EmergencyStop[0] = false
	r.want("flag at once", r.Discrepancy, false)
	r.run(600 * ms)
	r.want("flag after 0.5 s", r.Discrepancy, true)
	r.run(3 * time.Second)
	r.press()
	r.want("reset", r.DelayedContact, false)
}

func TestDiscrepancy_ChannelsInsideTheTimeAreHealthy(t *testing.T) {
	r := ready(t, demo())
	r.Panel.EmergencyStop[0] = true
	r.run(400 * ms)
	r.Panel.EmergencyStop[1] = true
	r.run(3 * time.Second)
	r.Panel.EmergencyStop[1] = false
	r.run(400 * ms)
	r.Panel.EmergencyStop[0] = false
	r.run(time.Second)
	r.want("flag", r.Discrepancy, false)
	r.press()
	r.want("relay", r.DelayedContact, true)
}

func TestDiscrepancy_OnClosingLatchesToo(t *testing.T) {
	r := ready(t, demo())
	r.emergencyStop(true)
	r.run(3 * time.Second)
	r.Panel.EmergencyStop[0] = false
	r.run(600 * ms)
	r.want("flag", r.Discrepancy, true)
	r.Panel.EmergencyStop[1] = false
	r.run(100 * ms)
	r.press()
	r.want("reset", r.DelayedContact, false)
}
