package station_test

import (
	"slices"
	"testing"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
)

// Between two looks the station leaves out what cannot change. Whatever is broken at
// whatever instant, whoever looks, it must go to the bit as a station that takes every step.
func TestFastForward_EveryFaultOnEveryStation(t *testing.T) {
	for _, name := range []string{"demo", "small", "large"} {
		c, err := config.LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range station.Faults() {
			t.Run(name+"/"+kind.Name, func(t *testing.T) {
				t.Parallel()
				x := newTrial(t, c.Station(), kind, seed.Seed(1).Derive(name, kind.Name))
				x.compare(t, x.play)
			})
		}
	}
}

// A fault whose field nobody reads would pass every test that looks at fields. Each changes
// what is recorded, or what a device tells, in one of a few trials.
func TestFaults_ShowInTheRecordOrInAWord(t *testing.T) {
	demo, err := config.LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	large, err := config.LoadStation("large")
	if err != nil {
		t.Fatal(err)
	}
	// These want a pressed stop, an open limit or hand control, or a bias, or talk on the wire
	// only: the features and the tests of their devices show them.
	elsewhere := []string{"emergency_stop_welded", "input_stuck", "enabling_released",
		"final_limits_swapped", "final_limit_welded", "drive_offset_doubled", "encoder_torn",
		"mast_spike", "mast_unit", "mast_invalid", "mast_silent", "mast_frozen"}
	for _, kind := range station.Faults() {
		if kind.Place == fault.PlaceWire || slices.Contains(elsewhere, kind.Name) {
			continue
		}
		t.Run(kind.Name, func(t *testing.T) {
			t.Parallel()
			for i := range 24 {
				c := []*config.Station{demo, large}[i%2]
				x := newTrial(t, c.Station(), kind, seed.Seed(i).Derive("shows", kind.Name))
				with := x.play(t, false, nil)
				if x.plan = x.plan[:0]; with.shows(x.play(t, false, nil)) {
					return
				}
			}
			t.Errorf("%s shows in no record and in no word of a device", kind.Name)
		})
	}
}

// occasions are what chance and the examples of the catalogue do not bring about.
func occasions(t *testing.T) map[string]trial {
	with := func(name, target string, from, lasts time.Duration, set ...string) fault.Entry {
		parameters := map[string]string{}
		for i := 0; i < len(set); i += 2 {
			parameters[set[i]] = set[i+1]
		}
		return fault.Entry{Fault: mustFault(t, name, target, parameters), Start: moment(from),
			Lasts: lasts}
	}
	stop := with("emergency_stop_pressed", "station", 1500*ms, 0)
	azimuthAlone := [plant.AxisCount]bool{plant.Elevation: true, plant.PolarizationH: true,
		plant.PolarizationV: true}
	polarizationAlone := [plant.AxisCount]bool{true, true, false, true}
	nothing := [plant.AxisCount]bool{true, true, true, true}
	return map[string]trial{
		"a dip of a given length": {plan: []fault.Entry{
			with("supply_dip", "station", 1010*ms, 0, "length", "333 ms")}},
		"an encoder that jumps again and again": {plan: []fault.Entry{
			with("encoder_stepping", "azimuth", 1010*ms, 0, "by", "1 deg", "every", "77 ms")}},
		"a pin that shears": {plan: []fault.Entry{with("stow_pin_in", "azimuth", 300*ms, 0)}},
		"a pin that is drawn out in motion": {plan: []fault.Entry{
			with("stow_pin_in", "azimuth", 1300*ms, 400*ms)}},
		"feedback that is dead when the motor stops": {plan: []fault.Entry{stop,
			with("drive_feedback_dead", "polarization_h.1", 1200*ms, 0),
			with("drive_feedback_dead", "azimuth.1", 1200*ms, 0),
			with("drive_feedback_dead", "azimuth.2", 1200*ms, 0)}},
		"feedback that freezes until the motor stands": {plan: []fault.Entry{stop,
			with("drive_feedback_frozen", "azimuth.1", 1200*ms, 1800*ms),
			with("drive_feedback_frozen", "polarization_v.1", 1200*ms, 1800*ms)}},
		"a pin that is put in at rest": {off: nothing, plan: []fault.Entry{
			with("stow_pin_in", "azimuth", 1010*ms, 700*ms)}},
		"a brake that drags until the motor stops": {plan: []fault.Entry{stop,
			with("brake_dragging", "azimuth.1", 1010*ms, 0),
			with("brake_dragging", "elevation.2", 1010*ms, 0)}},
		"a motor that its brake stops within a step": {step: ms, with: slow, plan: []fault.Entry{
			with("brake_stuck_set", "azimuth.1", 1060*ms, 0),
			with("brake_stuck_set", "elevation.1", 1180*ms, 0)}},
		"a hatch that is open when the axes set out": {plan: []fault.Entry{
			with("hatch_opened", "station", 300*ms, 0)}},
		"a pin that waits until the load rests": {off: nothing, plan: []fault.Entry{
			with("external_torque", "azimuth", 1010*ms, 20*ms, "torque", "30 kN m"),
			with("stow_pin_in", "azimuth", 1020*ms, 0)}},
		"standstill that is told long after the drives rest": {with: longStandstill,
			plan: []fault.Entry{with("mode_turned", "station", 1500*ms, 0, "mode", "local")}},
		"an emergency stop at rest with a drive on": {off: polarizationAlone,
			with: stopsByTime, plan: []fault.Entry{with("emergency_stop_pressed", "station", 600*ms, 0)}},
		"one axis in motion":     {off: azimuthAlone},
		"a plant step of 0.1 ms": {step: 100 * time.Microsecond},
		"a plant step of 0.3 ms": {step: 300 * time.Microsecond},
		"a plant step of 1 ms":   {step: ms},
		"a selector that is turned in motion": {plan: []fault.Entry{
			with("mode_turned", "station", 1500*ms, 0, "mode", "local")}},
	}
}

// slow lets no axis go faster than a brake can stop it in a few steps.
func slow(p *station.Parameters) {
	for a := range p.FullRate {
		p.FullRate[a] = 0.4 * quantity.DegreePerSecond
	}
}

// longStandstill holds long after the drives have seen theirs.
func longStandstill(p *station.Parameters) {
	for a := range p.Standstill {
		p.Standstill[a].Hold = 1200 * ms
	}
}

// stopsByTime gives every drive SS1 without a ramp that is watched.
func stopsByTime(p *station.Parameters) {
	for m := range p.Drives {
		p.Drives[m].Safety.SS1Time = time.Second
	}
}

func TestFastForward_Occasions(t *testing.T) {
	for name, occasion := range occasions(t) {
		for _, of := range []string{"demo", "small", "large"} {
			c, err := config.LoadStation(of)
			if err != nil {
				t.Fatal(err)
			}
			t.Run(name+", "+of, func(t *testing.T) {
				t.Parallel()
				x := occasion
				x.set, x.at, x.seed = c.Station(), middle(), seed.Seed(3).Derive(name, of)
				if x.with != nil {
					x.with(&x.set)
				}
				want := x.compare(t, x.play)
				want.expect(t, x.play(t, false, edges(want.rec.Record())))
			})
		}
	}
}

// edges are the instants of a record's edges. Each then falls into an ordinary step.
func edges(r *record.Record) (at []time.Duration) {
	for _, e := range r.Edges {
		at = append(at, e.At)
	}
	slices.Sort(at)
	return at
}
