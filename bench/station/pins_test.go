package station_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/drive"
)

// pinned is where the demo station's elevation has its pin: 88 deg, within 0.1 deg. It
// stands at the upper edge of the play, from which no push upward gathers speed.
func pinned() place { return place{0, 88.0999 * deg, 0, 0} }

// At standstill the pin goes into its hole, opens its contact and holds the axis against wind and
// drives. HZ-07 of fixtures/hazards.yaml: pins only at standstill.
func TestPin_GoesInAtStandstillAndHolds(t *testing.T) {
	r := newRig(t, pinned(), true, begins(t, "stow_pin_in", "elevation"))
	r.run(start + 2*step)
	if !r.s.Plant.Pin(plant.Elevation).In || !r.level("elevation.pin_in") ||
		r.level("elevation.pin_missed") {
		t.Fatalf("%+v", r.s.Plant.Pin(plant.Elevation))
	}
	if !r.s.Interlock.PanelInputs().Pin[plant.Elevation] {
		t.Error("the contact of the pin is closed")
	}
	if at := r.edges("elevation.pin_in", 1); !slices.Equal(at, []time.Duration{start + step}) {
		t.Errorf("told at %v, want %v", at, start+step)
	}
	wind := fault.Entry{Fault: mustFault(t, "external_torque", "elevation",
		map[string]string{"torque": "150 kN m"})} // swings to twice that; the pin bears 350 kN m
	if _, err := r.s.Plan(wind); err != nil {
		t.Fatal(err)
	}
	r.run(start + 3*time.Second)
	if off := r.s.Plant.State().Position[plant.Elevation]/deg - 88.1; off > 0.01 {
		t.Errorf("the pinned axis has gone %.3f deg beyond the play", off)
	}
}

// Driven in while the axis moves, the pin does not go in: a misuse, which the record
// has, and which ends in a stop by the pin's contact as fixtures/causes.yaml asks.
func TestPin_DrivenInWhileMoving(t *testing.T) {
	r := newRig(t, pinned(), true, begins(t, "stow_pin_in", "elevation"))
	r.rate[plant.Elevation] = -0.5 * deg
	r.run(start + 5*step)
	if r.s.Plant.Pin(plant.Elevation).In || !r.level("elevation.pin_missed") {
		t.Errorf("%+v", r.s.Plant.Pin(plant.Elevation))
	}
	misused := 0
	for _, m := range r.rec.Marks() {
		if m.Name == "pin_missed" && m.Axis == "elevation" && m.At == start+step {
			misused++
		}
	}
	if misused != 1 {
		t.Errorf("marked %d times as a misuse", misused)
	}
	if r.run(start + 25*ms); r.level("relay.instant") {
		t.Error("the relay has not dropped")
	}
}

// A pin that wind tears out of its hole is sheared for good, and the record says so.
func TestPin_Shears(t *testing.T) {
	r := newRig(t, pinned(), true, begins(t, "stow_pin_in", "elevation"),
		begins(t, "external_torque", "elevation", "torque", "700 kN m"))
	if r.run(start + 2*time.Second); !r.level("elevation.pin_sheared") || r.level("elevation.pin_in") {
		t.Errorf("%+v", r.s.Plant.Pin(plant.Elevation))
	}
}

// Drawn out, the pin leaves the axis free and its contact closed, whatever looks
// were taken meanwhile, and the azimuth has never minded.
func TestPin_DrawnOut(t *testing.T) {
	e := begins(t, "stow_pin_in", "elevation")
	e.Lasts = 500 * ms
	var rates [2]float64
	for k, look := range []time.Duration{0, step} {
		r := newRig(t, pinned(), true, e)
		r.enable, r.look = false, look
		r.run(start + 600*ms)
		if r.level("elevation.pin_in") || r.s.Interlock.PanelInputs().Pin[plant.Elevation] {
			t.Error("the pin is still in")
		}
		if at := r.edges("elevation.pin_in", 0); !slices.Equal(at,
			[]time.Duration{0, start + 500*ms + step}) {
			t.Errorf("told out at %v", at)
		}
		rates[k] = r.s.Drives[0].Load(drive.VelocityActual)
	}
	if rates[0] != rates[1] || math.IsNaN(rates[0]) {
		t.Errorf("looks change the motion: %v", rates)
	}
}
