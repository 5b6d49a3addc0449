package fault

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/quantity"
)

// kinds is a catalogue with every kind of target, place and parameter.
func kinds() Catalogue {
	span := func(name, standard, example string) Parameter {
		return Parameter{Name: name, Does: "a span", Dimension: quantity.DimSpan,
			Default: standard, Example: example, Lowest: "0 s", Highest: "24 h"}
	}
	by := Parameter{Name: "by", Does: "an angle", Dimension: quantity.DimAngle, Example: "5 deg"}
	inward := by
	inward.Name, inward.Lowest = "inward", "0 deg"
	return Catalogue{
		{Name: "supply_lost", Place: PlacePhysics, On: on("the station", Target{Name: "station"})},
		{Name: "limit_chain_shifted", Place: PlacePhysics, Parameters: []Parameter{inward},
			On: on("an end of a main axis", Target{Name: "azimuth.upper", End: 1},
				Target{Name: "elevation.upper", Axis: 1, End: 1})},
		{Name: "brake_late", Place: PlacePhysics, On: motors(),
			Parameters: []Parameter{span("by", "200 ms", "")}},
		{Name: "brake_worn", Place: PlacePhysics, On: motors(),
			Parameters: []Parameter{{Name: "torque", Dimension: quantity.DimRatio,
				Default: "80 %", Lowest: "0 %", Highest: "100 %"}}},
		{Name: "brake_feedback_stuck", Place: PlaceDevice, On: motors(),
			Parameters: []Parameter{{Name: "at", Choices: []string{"released", "set"},
				Example: "released"}}},
		{Name: "encoder_frozen", Place: PlaceDevice, On: axes()},
		{Name: "encoder_stepping", Place: PlaceDevice, On: axes(),
			Parameters: []Parameter{by, span("every", "0 s", "")}},
		{Name: "drive_trip", Place: PlaceDevice, On: motors(), Event: true,
			Parameters: []Parameter{{Name: "code", Whole: true, Default: "0x2310", Lowest: "1"}}},
		{Name: "silence", Place: PlaceWire, On: devices(),
			Parameters: []Parameter{{Name: "direction", Default: "both",
				Choices: []string{"both", "to_device", "to_controller"}}}},
		{Name: "delay", Place: PlaceWire, On: devices(),
			Parameters: []Parameter{span("by", "", "50 ms"), span("jitter", "0 s", "")}},
	}
}

func on(words string, all ...Target) On {
	return On{Words: words, All: func() []Target { return all }}
}

func axes() On {
	return on("an axis", Target{Name: "azimuth"}, Target{Name: "elevation", Axis: 1},
		Target{Name: "polarization_h", Axis: 2}, Target{Name: "polarization_v", Axis: 3})
}

func motors() On {
	return on("a motor", Target{Name: "azimuth.1"}, Target{Name: "azimuth.2", Motor: 1})
}

func devices() On {
	return on("a device",
		Target{Name: "azimuth.encoder", Device: Device{Role: "encoder"}},
		Target{Name: "azimuth.1.drive", Device: Device{Role: "drive"}},
		Target{Name: "interlock", Device: Device{Role: "interlock"}},
		Target{Name: "mast", Device: Device{Role: "mast"}})
}

func make1(t *testing.T, name, on string, pairs ...string) Fault {
	t.Helper()
	f, err := kinds().New(name, on, mapped(pairs))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func mapped(pairs []string) map[string]string {
	parameters := map[string]string{}
	for i := 0; i < len(pairs); i += 2 {
		parameters[pairs[i]] = pairs[i+1]
	}
	return parameters
}

func TestNew_FindsItsTarget(t *testing.T) {
	want := Target{Name: "elevation.upper", Axis: 1, End: 1}
	f := make1(t, "limit_chain_shifted", "elevation.upper", "inward", "1 deg")
	if got := f.Target(); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestFault_GivesItsValues(t *testing.T) {
	jump := make1(t, "encoder_stepping", "azimuth", "by", "-5 deg", "every", "70 ms")
	if got := jump.Value("by"); got != float64(-5*quantity.Degree) {
		t.Errorf("by: %g rad", got)
	}
	if got := jump.Span("every"); got != 70*time.Millisecond {
		t.Errorf("every: %v", got)
	}
	if got := make1(t, "drive_trip", "azimuth.1").Value("code"); got != 0x2310 {
		t.Errorf("code: %g", got)
	}
	if got := make1(t, "silence", "mast", "direction", "to_controller").Value("direction"); got != 2 {
		t.Errorf("direction: %g, want the choice's number", got)
	}
	defer func() {
		if recover() == nil {
			t.Error("a parameter that no kind declares has a value")
		}
	}()
	jump.Value("bye")
}

func TestNew_RefusesWithTheNearestName(t *testing.T) {
	rows := []struct {
		name, on string
		pairs    []string
		want     string
	}{
		{"encoder_frozn", "azimuth", nil,
			`fault: no fault is called "encoder_frozn"; did you mean "encoder_frozen"?`},
		{"earthquake", "azimuth", nil, `fault: no fault is called "earthquake"`},
		{"encoder_frozen", "azimut", nil,
			`fault: encoder_frozen: "azimut" is not an axis; did you mean "azimuth"?`},
		{"limit_chain_shifted", "polarization_h.upper", nil,
			`fault: limit_chain_shifted: "polarization_h.upper" is not an end of a main axis`},
		{"silence", "azimuth.3.drive", nil,
			`fault: silence: "azimuth.3.drive" is not a device; did you mean "azimuth.1.drive"?`},
		{"drive_trip", "azimuth.1", []string{"cod", "1"},
			`fault: drive_trip: no parameter is called "cod"; did you mean "code"?`},
		{"drive_trip", "azimuth.1", []string{"z", "1", "a", "1"},
			`fault: drive_trip: no parameter is called "a"`},
		{"drive_trip", "azimuth.1", []string{"code", "65536"},
			`fault: drive_trip: code: "65536" is no whole number of 16 bits`},
		{"drive_trip", "azimuth.1", []string{"code", "0"}, `fault: drive_trip: code: 0 is below 1`},
		{"encoder_stepping", "azimuth", nil,
			`fault: encoder_stepping: by: must be given, such as "5 deg"`},
		{"encoder_stepping", "azimuth", []string{"by", "5"},
			`fault: encoder_stepping: by: no unit provided; need deg or rad`},
		{"brake_worn", "azimuth.1", []string{"torque", "101 %"},
			`fault: brake_worn: torque: 101 % is above 100 %`},
		{"delay", "interlock", []string{"by", "1e300 min"},
			`fault: delay: by: 1e300 min is above 24 h`},
		{"brake_late", "azimuth.1", []string{"by", "-1 ms"},
			`fault: brake_late: by: -1 ms is below 0 s`},
		{"limit_chain_shifted", "azimuth.upper", []string{"inward", "-1 deg"},
			`fault: limit_chain_shifted: inward: -1 deg is below 0 deg`},
		{"brake_feedback_stuck", "azimuth.1", []string{"at", "open"},
			`fault: brake_feedback_stuck: at: "open" is none of released, set`},
	}
	for _, row := range rows {
		_, err := kinds().New(row.name, row.on, mapped(row.pairs))
		if err == nil || err.Error() != row.want {
			t.Errorf("got  %v\nwant %s", err, row.want)
		}
	}
}

func TestFault_PrintsItsParametersWithUnits(t *testing.T) {
	got := []string{
		make1(t, "encoder_stepping", "azimuth", "by", "5 deg").String(),
		make1(t, "drive_trip", "azimuth.1").String(),
		make1(t, "silence", "interlock").String(),
		make1(t, "supply_lost", "station").String(),
	}
	want := []string{
		"encoder_stepping azimuth by=5.000 deg every=" + quantity.Format(quantity.DimSpan, 0),
		"drive_trip azimuth.1 code=0x2310",
		"silence interlock direction=both",
		"supply_lost station",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

// Whatever is typed, New gives a fault of the catalogue or an error; no span of it is negative.
func FuzzNew(f *testing.F) {
	f.Add("encoder_stepping", "azimuth", "by", "5 deg")
	f.Add("drive_trip", "azimuth.1", "code", "0xffff")
	f.Add("delay", "interlock", "by", "1e300 min")
	f.Add("brake_worn", "elevation.2", "torque", "NaN")
	f.Fuzz(func(t *testing.T, name, on, parameter, value string) {
		made, err := kinds().New(name, on, map[string]string{parameter: value})
		if err != nil {
			return
		}
		if !slices.ContainsFunc(kinds(), func(k Kind) bool {
			return k.Name == made.Name() && slices.Contains(k.On.Targets(), made.Target().Name)
		}) {
			t.Fatalf("%q %q %q %q gave %v", name, on, parameter, value, made)
		}
		for _, s := range made.Settings() {
			spanned := slices.Contains([]string{"brake_late", "delay", "relay_late"}, made.Name()) ||
				s.Name == "every"
			if spanned && made.Span(s.Name) < 0 {
				t.Fatalf("%s=%q gave %s of %v", parameter, value, s.Name, made.Span(s.Name))
			}
		}
	})
}
