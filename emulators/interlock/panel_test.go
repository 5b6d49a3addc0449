package interlock

import (
	"testing"
	"time"

	"haltmark/bench/plant"
)

// Final-limit recovery, common practice: a maintained key at the local panel,
// hold-to-run; it bypasses that one switch; remote is refused.
func TestOverride_NeedsKeyModeAndHeldHand(t *testing.T) {
	good := func(p *Panel, in *Input) {
		*p = Panel{Override: true, Mode: Local, HandAxis: 1, HandDirection: -1}
		in.FinalLimit[1][plant.Upper] = true
	}
	var none, upper [plant.MainAxes][plant.EndCount]bool
	upper[1][plant.Upper] = true
	rows := map[string]struct {
		spoil func(*Panel, *Input)
		want  [plant.MainAxes][plant.EndCount]bool
	}{
		"all held":        {func(*Panel, *Input) {}, upper},
		"outward as well": {func(p *Panel, _ *Input) { p.HandDirection = 1 }, upper},
		"maintenance":     {func(p *Panel, _ *Input) { p.Mode = Maintenance }, upper},
		"no key":          {func(p *Panel, _ *Input) { p.Override = false }, none},
		"remote":          {func(p *Panel, _ *Input) { p.Mode = Remote }, none},
		"hand let go":     {func(p *Panel, _ *Input) { p.HandDirection = 0 }, none},
		"other axis":      {func(p *Panel, _ *Input) { p.HandAxis = 0 }, none},
		"polarization":    {func(p *Panel, _ *Input) { p.HandAxis = 3 }, none},
		"switch closed":   {func(_ *Panel, in *Input) { in.FinalLimit[1][plant.Upper] = false }, none},
		"both ends open":  {func(_ *Panel, in *Input) { in.FinalLimit[1][plant.Lower] = true }, none},
		"both axes open":  {func(_ *Panel, in *Input) { in.FinalLimit[0][plant.Lower] = true }, upper},
	}
	for name, row := range rows {
		r := newRig(t, demo())
		good(&r.Panel, &r.in)
		row.spoil(&r.Panel, &r.in)
		r.step()
		if r.Overridden != row.want {
			t.Errorf("%s: overridden %v, want %v", name, r.Overridden, row.want)
		}
	}
	p := demo()
	p.EnablingDevice = true
	r := newRig(t, p)
	good(&r.Panel, &r.in)
	r.step()
	r.want("without the enabling device", r.Overridden[1][plant.Upper], false)
	r.Panel.Enabling = true
	r.step()
	r.want("with the enabling device", r.load("final_limit_bypassed_elevation_upper") == 1, true)
}

// A final limit is no cause of the relay: it acts on its axis in the station.
func TestFinalLimit_IsOnlyReported(t *testing.T) {
	r := ready(t, demo())
	r.in.FinalLimit[0][plant.Lower] = true
	r.run(3 * time.Second)
	r.want("relay", r.DelayedContact, true)
	r.want("reported", r.load("final_limit_azimuth_lower") == 1, true)
}

func TestFaults_OfSwitches(t *testing.T) {
	rows := []struct {
		fault    SwitchFault
		at, past bool // contact inside and outside
	}{
		{SwitchSound, false, true}, {SwitchWeldedClosed, false, false},
		{SwitchWeldedOpen, true, true}, {SwitchInverted, true, false},
	}
	for _, row := range rows {
		r := newRig(t, demo())
		r.Faults.PreLimit[1][plant.Upper] = row.fault
		r.Faults.FinalLimit[0][plant.Lower] = row.fault
		r.step()
		r.want("pre-limit inside", r.load("pre_limit_elevation_upper") == 1, row.at)
		r.want("final limit inside", r.FinalLimit[0][plant.Lower], row.at)
		r.in.PreLimit[1][plant.Upper], r.in.FinalLimit[0][plant.Lower] = true, true
		r.step()
		r.want("pre-limit outside", r.load("pre_limit_elevation_upper") == 1, row.past)
		r.want("final limit outside", r.FinalLimit[0][plant.Lower], row.past)
	}
	r := newRig(t, demo())
	r.Faults.PreLimitSwapped[0], r.Faults.FinalLimitSwapped[1] = true, true
	r.in.PreLimit[0][plant.Lower], r.in.FinalLimit[1][plant.Upper] = true, true
	r.step()
	r.want("swapped pre-limit", r.PreLimit[0] == [2]bool{false, true}, true)
	r.want("swapped final limit", r.FinalLimit[1] == [2]bool{true, false}, true)
}

func TestFaults_OfInputs(t *testing.T) {
	r := newRig(t, demo())
	r.in.BrakeFeedback[2] = true
	r.Faults.BrakeFeedback[2], r.Faults.BrakeFeedback[3] = StuckAt0, StuckAt1
	r.Faults.Inputs[id(t, "hatch")] = StuckAt0
	r.Panel.Hatch = true
	r.step()
	r.want("stuck released", r.load("brake_feedback_elevation_1") == 1, false)
	r.want("stuck set", r.load("brake_feedback_elevation_2") == 1, true)
	r.want("stuck hatch", r.load("hatch") == 1, false)
	r.Faults = Faults{}
	r.want("sound again", r.load("brake_feedback_elevation_1") == 1 && r.load("hatch") == 1, true)
}

func TestSupply_ComesBackOpenAndForgetful(t *testing.T) {
	r := ready(t, demo())
	r.in.SupplyLost, r.alive = true, false
	r.step()
	r.want("contacts", r.InstantContact || r.DelayedContact || r.Enable[0], false)
	r.Panel.Reset = true // stuck button
	r.step()
	r.in.SupplyLost = false
	r.store("heartbeat", 1)
	r.run(100 * ms)
	r.want("relay by itself", r.DelayedContact, false)
	r.Panel.Reset = false
	r.store("heartbeat", 1)
	r.run(20 * ms)
	r.press()
	r.want("relay after a press", r.DelayedContact, true)
	r.want("outputs", r.Enable[0] || r.BrakeRelease[0] || r.Horn, false)
}
