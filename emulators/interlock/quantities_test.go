package interlock

import (
	"errors"
	"math"
	"slices"
	"testing"
)

func TestQuantities_EveryPanelBitHasItsName(t *testing.T) {
	bits := map[string]func(*Panel){
		"emergency_stop_channel_1": func(p *Panel) { p.EmergencyStop[0] = true },
		"emergency_stop_channel_2": func(p *Panel) { p.EmergencyStop[1] = true },
		"hatch":                    func(p *Panel) { p.Hatch = true },
		"ladder":                   func(p *Panel) { p.Ladder = true },
		"pin_azimuth":              func(p *Panel) { p.Pin[0] = true },
		"pin_elevation":            func(p *Panel) { p.Pin[1] = true },
		"hand_azimuth_positive":    func(p *Panel) { p.HandAxis, p.HandDirection = 0, 1 },
		"hand_azimuth_negative":    func(p *Panel) { p.HandAxis, p.HandDirection = 0, -1 },
		"hand_elevation_negative":  func(p *Panel) { p.HandAxis, p.HandDirection = 1, -1 },
		"hand_polarization_v_positive": func(p *Panel) {
			p.HandAxis, p.HandDirection = 3, 1
		},
		"enabling_device":         func(p *Panel) { p.Enabling = true },
		"override_key":            func(p *Panel) { p.Override = true },
		"reset_button":            func(p *Panel) { p.Reset = true },
		"arm_button":              func(p *Panel) { p.Arm = true },
		"isolator_azimuth":        func(p *Panel) { p.Isolator[0] = true },
		"isolator_polarization_v": func(p *Panel) { p.Isolator[3] = true },
		"mode_local":              func(p *Panel) { p.Mode = Local },
		"mode_maintenance":        func(p *Panel) { p.Mode = Maintenance },
	}
	for name, set := range bits {
		r := newRig(t, demo())
		set(&r.Panel)
		for i, q := range Quantities()[:InputCount] {
			want := q == name || q == "mode_remote" && r.Panel.Mode == Remote
			r.want(q+" with "+name, r.Load(i) == 1, want)
		}
		if r.load("mode") != float64(r.Panel.Mode) {
			t.Errorf("mode reads %v, want %v", r.load("mode"), r.Panel.Mode)
		}
	}
}

func TestQuantities_AreUniqueAndAllLoad(t *testing.T) {
	r := ready(t, demo())
	names := slices.Clone(r.Quantities())
	if len(names) != quantityCount {
		t.Fatalf("%d names for %d quantities", len(names), quantityCount)
	}
	for i := range names {
		if v := r.Load(i); math.IsNaN(v) {
			t.Errorf("%s reads %v", names[i], v)
		}
	}
	slices.Sort(names)
	if len(slices.Compact(names)) != quantityCount {
		t.Error("a name stands twice")
	}
}

func TestStore_RefusesWhatIsNoOutput(t *testing.T) {
	r := newRig(t, demo())
	for i, name := range Quantities() {
		err := r.Store(i, 1)
		output := i >= idEnable
		if output != (err == nil) || !output && !errors.Is(err, ErrReadOnly) {
			t.Errorf("storing %s: %v", name, err)
		}
	}
	for _, value := range []float64{0.5, 2, -1, math.NaN(), math.Inf(1)} {
		if err := r.Store(id(t, "horn"), value); !errors.Is(err, ErrValue) {
			t.Errorf("storing %v in the horn: %v", value, err)
		}
	}
	if err := r.Store(id(t, "heartbeat"), math.NaN()); !errors.Is(err, ErrValue) {
		t.Errorf("storing NaN as heartbeat: %v", err)
	}
}

func TestParameters_RefuseWhatMakesNoUnit(t *testing.T) {
	spoil := map[string]func(*Parameters){
		"interlock: relay delay -1ns is below 0s":             func(p *Parameters) { p.RelayDelay = -1 },
		"interlock: monitored ramp time -1ns is below 0s":     func(p *Parameters) { p.SS1Time = -1 },
		"interlock: watchdog 0s is below 1ns":                 func(p *Parameters) { p.Watchdog = 0 },
		"interlock: channel discrepancy time 0s is below 1ns": func(p *Parameters) { p.Discrepancy = 0 },
		"interlock: pin has no stop 3":                        func(p *Parameters) { p.Pin = 3 },
	}
	for want, set := range spoil {
		p := demo()
		set(&p)
		if _, err := New(p); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
