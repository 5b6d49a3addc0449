package interlock

import (
	"testing"

	"haltmark/bench/plant"
)

// Each fault shows where the panel's own contact would, at the next step, and is gone
// with it.
func TestPanelFaults_ComeToThePanelAndGo(t *testing.T) {
	for name, row := range map[string]struct {
		fault PanelFaults
		bits  []string // that change, of all inputs
	}{
		"emergency stop": {PanelFaults{EmergencyStop: [2]bool{true, true}},
			[]string{"emergency_stop_channel_1", "emergency_stop_channel_2"}},
		"one channel": {PanelFaults{EmergencyStop: [2]bool{false, true}},
			[]string{"emergency_stop_channel_2"}},
		"hatch":    {PanelFaults{Hatch: true}, []string{"hatch"}},
		"ladder":   {PanelFaults{Ladder: true}, []string{"ladder"}},
		"pin":      {PanelFaults{Pin: [2]bool{false, true}}, []string{"pin_elevation"}},
		"isolator": {PanelFaults{Isolator: [4]bool{2: true}}, []string{"isolator_polarization_h"}},
		"mode": {PanelFaults{ModeTurned: true, Mode: Maintenance},
			[]string{"mode_maintenance", "mode_remote"}},
		"key":      {PanelFaults{Override: true}, []string{"override_key"}},
		"button":   {PanelFaults{Reset: true}, []string{"reset_button"}},
		"enabling": {PanelFaults{EnablingReleased: true}, []string{"enabling_device"}},
	} {
		r := ready(t, demo())
		r.Panel.Enabling = true
		inputs := func() (all [InputCount]float64) {
			for id := range all {
				all[id] = r.Load(id)
			}
			return all
		}
		r.step()
		before := inputs()
		r.Faults.Panel = row.fault
		r.step()
		now := inputs()
		for id, name2 := range Quantities()[:InputCount] {
			changed, want := now[id] != before[id], false
			for _, bit := range row.bits {
				want = want || bit == name2
			}
			if changed != want {
				t.Errorf("%s: %s changed: %v, want %v", name, name2, changed, want)
			}
		}
		r.Faults.Panel = PanelFaults{}
		r.step()
		if inputs() != before || *r.PanelInputs() != r.Panel {
			t.Errorf("%s leaves a trace", name)
		}
	}
}

func TestPanelFaults_StopAsThePanelDoes(t *testing.T) {
	for name, act := range map[string]PanelFaults{
		"emergency stop": {EmergencyStop: [2]bool{true, true}},
		"channel":        {EmergencyStop: [2]bool{true, false}},
		"hatch":          {Hatch: true},
		"ladder":         {Ladder: true},
		"pin":            {Pin: [2]bool{true, false}},
		"mode":           {ModeTurned: true, Mode: Local},
	} {
		r := ready(t, demo())
		r.Faults.Panel = act
		r.exactly(name, r.until("instant contact", func() bool { return !r.InstantContact }), 20*ms)
	}
}

// A button that stays down resets nothing after the first time (2006/42/EC Annex I
// 1.2.4.3), and its release is no press.
func TestPanelFaults_ButtonHeldDownResetsOnce(t *testing.T) {
	r := ready(t, demo())
	r.Faults.Panel.Reset = true
	r.run(50 * ms)
	r.emergencyStop(true)
	r.run(3000 * ms)
	r.emergencyStop(false)
	r.run(100 * ms)
	r.press() // on a button that is down already
	r.want("relay with the button down", r.DelayedContact, false)
	r.Faults.Panel.Reset = false
	r.run(100 * ms)
	r.want("relay with the button let go", r.DelayedContact, false)
	r.press()
	r.want("relay after a press", r.DelayedContact, true)
}

// An override key left on bypasses nothing by itself, and one hand more is enough.
func TestPanelFaults_KeyLeftOn(t *testing.T) {
	r := newRig(t, demo())
	r.in.FinalLimit[0][plant.Upper] = true
	r.Faults.Panel.Override = true
	r.Panel.Mode = Local
	r.step()
	r.want("bypass without a hand", r.Overridden[0][plant.Upper], false)
	r.Panel.HandDirection = -1
	r.step()
	r.want("bypass by the hand alone", r.Overridden[0][plant.Upper], true)
}

// With an enabling device let go, hand control is not held.
func TestPanelFaults_EnablingReleased(t *testing.T) {
	p := demo()
	p.EnablingDevice = true
	r := newRig(t, p)
	r.in.FinalLimit[0][plant.Upper] = true
	r.Panel = Panel{Mode: Local, Override: true, Enabling: true, HandDirection: -1}
	r.step()
	r.want("held", r.Overridden[0][plant.Upper], true)
	r.Faults.Panel.EnablingReleased = true
	r.step()
	r.want("released", r.Overridden[0][plant.Upper], false)
}
