package config

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"haltmark/bench/quantity"
)

// everyPart has the demo station say all that a station may say.
func everyPart() patch {
	return patch{On: demoFile,
		Set: map[string]string{"encoders.azimuth.zero": "-720 deg, latency: 2 ms, " +
			"eccentricity: {amplitude: 0.004 deg, phase: -30 deg}"},
		Insert: map[string]string{"azimuth.unbalance": everyMechanic + "gravity: {phase: 10 deg}"},
		Append: weatherText}
}

// Every bound is that of a key, can be read in its dimension, and is kept at both of its
// ends: a value just beyond is refused and the bound is told.
func TestPlausible_EveryBoundIsKept(t *testing.T) {
	kept := map[bound]bool{}
	for _, row := range []struct {
		on   patch
		form any
	}{
		{everyPart(), &stationFile{}},
		{patch{On: "drives/main-axis-motor.yaml", Append: everyFeature}, &sheetFile{}},
	} {
		e, err := row.on.apply()
		if err != nil {
			t.Fatal(err)
		}
		r := &report{}
		d := decode(&file{name: "all.yaml", text: []byte(e.text)}, row.form, r)
		if d.parameters(row.form, "assumed", "", r); r.err() != nil {
			t.Fatal(r.err())
		}
		each := func(at string, p parameter) {
			if b, ok := boundOf(plausible(), at, p.dimension()); ok {
				kept[b] = true
				d.keeps(t, row.form, at, b, p.inner())
			}
		}
		visit(row.form, func(at string, _ reflect.StructField, l leaf) {
			switch p := l.(type) {
			case *ends:
				each(at+".lower", &p.lower)
				each(at+".upper", &p.upper)
			case parameter:
				each(at, p)
			}
		})
	}
	for _, b := range plausible() {
		if !kept[b] {
			t.Errorf("%s bounds no key of its dimension", b.key)
		}
	}
}

// keeps puts a value beyond each end of its bound.
func (d *document) keeps(t *testing.T, form any, at string, b bound, in *param) {
	t.Helper()
	lowest, _, err := quantity.Parse(b.of, b.lowest)
	highest, _, err2 := quantity.Parse(b.of, b.highest)
	if err != nil || err2 != nil || lowest >= highest {
		t.Fatalf("%+v: %v, %v", b, err, err2)
	}
	before := *in
	defer func() { *in = before }()
	const just = 1e-6 // of the bound's own size
	for _, value := range []float64{lowest - just*math.Abs(lowest) - 1e-12,
		highest + just*math.Abs(highest)} {
		in.set, in.value, in.lowest, in.highest = true, value, value, value
		r := &report{}
		d.parameters(form, "assumed", "", r)
		told := false
		for _, one := range r.found {
			about := strings.HasPrefix(one.Text, public(at)+" is ")
			told = told || about && (strings.Contains(one.Text, b.lowest+" to "+b.highest) ||
				value <= 0 && strings.Contains(one.Text, "it must"))
		}
		if !told {
			t.Errorf("%s is %g and only this was said: %v", at, value, r.found)
		}
	}
}
