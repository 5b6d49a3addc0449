package quantity

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// Expected values are conversions from SI definitions (BIPM, The International
// System of Units, 9th ed., tables 4, 7 and 8): 180 deg = pi rad, 1 min = 60 s,
// 1 h = 3600 s, 1 t = 1000 kg.
func TestParse_AgainstSIDefinitions(t *testing.T) {
	rows := []struct {
		dimension Dimension
		text      string
		want      float64
		unit      string
	}{
		{DimAngle, "180 deg", math.Pi, "deg"},
		{DimAngle, "-0.5 rad", -0.5, "rad"},
		{DimAngle, "90deg", math.Pi / 2, "deg"},
		{DimRate, "360 deg/s", 2 * math.Pi, "deg/s"},
		{DimRate, "60 rpm", 2 * math.Pi, "rpm"},
		{DimAcceleration, "18 deg/s^2", math.Pi / 10, "deg/s^2"},
		{DimJerk, "18 deg/s^3", math.Pi / 10, "deg/s^3"},
		{DimTorque, "42 kN m", 42000, "kN m"},
		{DimInertia, "95 t m^2", 95000, "t m^2"},
		{DimStiffness, "48.606 MN m/rad", 48606000, "MN m/rad"},
		{DimDamping, "8 kN m s/rad", 8000, "kN m s/rad"},
		{DimEnergy, "3.258 kJ", 3258, "kJ"},
		{DimSpeed, "20 m/s", 20, "m/s"},
		{DimFrequency, "4.1 GHz", 4.1e9, "GHz"},
		{DimLength, "6.4 m", 6.4, "m"},
		{DimRatio, "80 %", 0.8, "%"},
		{DimRatio, "0.02", 0.02, ""},
		{DimSpan, "70 ms", 0.07, "ms"},
		{DimSpan, "10 min", 600, "min"},
		{DimSpan, "2e-1 h", 720, "h"},
		{DimNone, "7200", 7200, ""},
	}
	for _, row := range rows {
		got, unit, err := Parse(row.dimension, row.text)
		if err != nil || unit != row.unit || math.Abs(got-row.want) > 1e-12*math.Abs(row.want) {
			t.Errorf("Parse(%v, %q) = %v, %q, %v; want %v, %q",
				row.dimension, row.text, got, unit, err, row.want, row.unit)
		}
	}
}

func TestParse_RefusesWithTheUnitsThatWouldDo(t *testing.T) {
	rows := []struct {
		dimension  Dimension
		text, want string
	}{
		{DimAngle, "12.5", "no unit provided; need deg or rad"},
		{DimRate, "3", "no unit provided; need deg/s, rad/s or rpm"},
		{DimSpeed, "20", "no unit provided; need m/s"},
		{DimAngle, "12.5 m", `unknown unit "m"; need deg or rad`},
		{DimAngle, "12.5 Deg", `unknown unit "Deg"; need deg or rad`},
		{DimTorque, "5 J", `unknown unit "J"; need N m, kN m or MN m`},
		{DimRatio, "5 deg", `unknown unit "deg"; need a bare number or %`},
		{DimNone, "5 deg", `unknown unit "deg"; need a bare number`},
		{DimSpan, "", `"" is not a number with a unit; need us, ms, s, min or h`},
		{DimAngle, "deg", `"deg" is not a number with a unit; need deg or rad`},
		{DimAngle, "NaN deg", `"NaN deg" is not a number with a unit; need deg or rad`},
		{DimAngle, "inf deg", `"inf deg" is not a number with a unit; need deg or rad`},
		{DimAngle, "0x10 deg", `unknown unit "x10 deg"; need deg or rad`},
		{DimAngle, "1 2 deg", `unknown unit "2 deg"; need deg or rad`},
		{DimAngle, ". deg", `". deg" is not a number with a unit; need deg or rad`},
		{DimAngle, "1e400 deg", `"1e400" is not a number that can be held`},
	}
	for _, row := range rows {
		_, _, err := Parse(row.dimension, row.text)
		if err == nil || err.Error() != row.want {
			t.Errorf("Parse(%v, %q): error %v; want %s", row.dimension, row.text, err, row.want)
		}
	}
}

func TestParseSpan_IsExactToTheNanosecond(t *testing.T) {
	rows := []struct {
		text string
		want time.Duration
	}{
		{"70 ms", 70 * time.Millisecond},
		{"0.07 s", 70 * time.Millisecond},
		{"10 min", 10 * time.Minute},
		{"250 us", 250 * time.Microsecond},
		{"1.9 s", 1900 * time.Millisecond},
	}
	for _, row := range rows {
		if got, err := ParseSpan(row.text); err != nil || got != row.want {
			t.Errorf("ParseSpan(%q) = %v, %v; want %v", row.text, got, err, row.want)
		}
	}
	if _, err := ParseSpan("1e9 h"); err == nil {
		t.Error("a span that overflows was accepted")
	}
}

func TestString_PrintsTheUnit(t *testing.T) {
	rows := []struct {
		value fmt.Stringer
		want  string
	}{
		{12.5 * Degree, "12.500 deg"},
		{2.4 * DegreePerSecond, "2.400 deg/s"},
		{1.5 * DegreePerSecondSquared, "1.500 deg/s^2"},
		{10 * DegreePerSecondCubed, "10.000 deg/s^3"},
		{850 * NewtonMetre, "850.0 N m"},
		{-42 * KilonewtonMetre, "-42.000 kN m"},
		{95 * TonneSquareMetre, "95.000 t m^2"},
		{48.606 * MeganewtonMetrePerRadian, "48.606 MN m/rad"},
		{8 * KilonewtonMetreSecondPerRadian, "8.000 kN m s/rad"},
		{3258 * Joule, "3258.0 J"},
		{20 * MetrePerSecond, "20.00 m/s"},
		{3.6 * Hertz, "3.600 Hz"},
		{4.1 * Gigahertz, "4.100 GHz"},
		{11 * Metre, "11.000 m"},
		{80 * Percent, "0.800"},
		{Angle(math.NaN()), "NaN deg"},
		{Angle(-1e-9), "0.000 deg"},
		{DataSheet, "data sheet"},
	}
	for _, row := range rows {
		if got := fmt.Sprintf("%v", row.value); got != row.want {
			t.Errorf("%%v prints %q; want %q", got, row.want)
		}
	}
	if got := Format(DimSpan, 0.07); got != "70.0 ms" {
		t.Errorf("70 ms prints %q", got)
	}
	if got := Format(DimSpan, 1.9); got != "1.900 s" {
		t.Errorf("1.9 s prints %q", got)
	}
}

// Short prints what a sentence says; a zero in the middle or before the point stays.
func TestShort(t *testing.T) {
	for want, c := range map[string]struct {
		d  Dimension
		si float64
	}{
		"12.5 deg": {DimAngle, float64(12.5 * Degree)}, "0 deg": {DimAngle, 0},
		"120 s": {DimSpan, 120}, "1.95 s": {DimSpan, 1.95}, "60 ms": {DimSpan, 0.06},
		"100 N m": {DimTorque, 100}, "3": {DimNone, 3},
	} {
		if got := Short(c.d, c.si); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// What Format prints, Parse reads back, to half the last digit printed: at
// most a twentieth of the trade unit, or a two-thousandth of a large one.
func TestFormat_ReadsBack(t *testing.T) {
	for d := DimNone; d < dimensionCount; d++ {
		trade := d.row().factor(d.Unit())
		for _, value := range []float64{0, 0.25, -3, 1500, 2.5e6} {
			si := value * trade
			text := Format(d, si)
			got, _, err := Parse(d, text)
			if err != nil || math.Abs(got-si) > 0.0501*trade {
				t.Errorf("%v: %v prints %q, which reads as %v, %v", d, si, text, got, err)
			}
		}
		if d.In(3*trade) != 3 {
			t.Errorf("%v: three trade units read as %v", d, d.In(3*trade))
		}
	}
}

func TestParseOrigin(t *testing.T) {
	for _, o := range []Origin{Assumed, DataSheet, MeasuredOnSite} {
		if got, err := ParseOrigin(o.String()); err != nil || got != o {
			t.Errorf("ParseOrigin(%q) = %v, %v", o, got, err)
		}
	}
	if _, err := ParseOrigin("guessed"); err == nil {
		t.Error("an origin that is none was accepted")
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"12.5 deg", "-1e-3rad", ".", "+", "1e", "9e999 s", "5 %"} {
		f.Add(int(DimAngle), text)
	}
	f.Fuzz(func(t *testing.T, d int, text string) {
		si, _, err := Parse(Dimension(d), text)
		if err == nil && (math.IsNaN(si) || math.IsInf(si, 0)) {
			t.Errorf("Parse(%v, %q) = %v without an error", Dimension(d), text, si)
		}
		_, _ = ParseSpan(text)
	})
}

// No unit belongs to two dimensions, or ParseAny would guess.
func TestParseAny_UnitsTellTheDimension(t *testing.T) {
	seen := map[string]Dimension{}
	for d := DimNone; d < dimensionCount; d++ {
		for _, u := range d.row().units {
			if other, ok := seen[u.name]; ok && u.name != "" {
				t.Errorf("unit %q is of %v and of %v", u.name, other, d)
			}
			seen[u.name] = d
			got, si, err := ParseAny("2 " + u.name)
			if err != nil || si != scaled(2, u.factor) || (u.name != "" && got != d) {
				t.Errorf("2 %s reads as %v of %v, %v", u.name, si, got, err)
			}
		}
	}
	for _, text := range []string{"", "deg", "2 furlong"} {
		if _, _, err := ParseAny(text); err == nil {
			t.Errorf("%q was accepted", text)
		}
	}
}

// Every unit that is listed can be read, and reads as what Parse says it is.
func TestUnits_AreThoseThatParseTakes(t *testing.T) {
	for d := DimNone; d < dimensionCount; d++ {
		for _, name := range d.Units() {
			if _, unit, err := Parse(d, "1 "+name); err != nil || unit != name {
				t.Errorf("%v in %s: %q, %v", d, name, unit, err)
			}
		}
		if len(d.Units()) == 0 && d != DimNone {
			t.Errorf("%v has no unit", d)
		}
	}
}
