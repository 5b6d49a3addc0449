package weather

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
)

const deg = quantity.Degree

func mast(edit func(*Faults)) *Mast {
	m := New(Parameters{Reference: nmea.True, Unit: nmea.MetresPerSecond})
	m.Feel(12.5, 270*deg)
	if edit != nil {
		edit(&m.Faults)
	}
	return m
}

// Two sentences of testdata/SOURCES.md, as a mast says them.
func TestSentence_ReferenceVectors(t *testing.T) {
	if got := string(mast(nil).Sentence(nil)); got != "$WIMWV,270.0,T,12.5,M,A*15\r\n" {
		t.Errorf("told %q", got)
	}
	invalid := mast(func(f *Faults) { f.Invalid = true })
	if got := string(invalid.Sentence(nil)); got != "$WIMWV,,T,,M,V*31\r\n" {
		t.Errorf("not valid, told %q", got)
	}
	// A wind of one knot from 41.1 deg off the mast's heading of 100 deg.
	m := New(Parameters{Reference: nmea.Relative, Unit: nmea.Knots, Heading: 100 * deg})
	m.Feel(1852.0/3600, 141.1*deg)
	if got := string(m.Sentence(nil)); got != "$WIMWV,041.1,R,01.0,N,A*16\r\n" {
		t.Errorf("told %q", got)
	}
}

// heard is what a listener makes of a mast in m/s.
func heard(t *testing.T, m *Mast) (speed float64, w nmea.Wind) {
	t.Helper()
	w, err := nmea.ParseWind(m.Sentence(nil))
	if err != nil {
		t.Fatal(err)
	}
	v, _ := w.MetresPerSecond()
	return float64(v), w
}

func TestFaults_WhatIsHeard(t *testing.T) {
	for _, row := range []struct {
		name  string
		edit  func(*Faults)
		speed float64
		unit  nmea.Unit
	}{
		{"sound", nil, 12.5, 'M'},
		{"another unit", func(f *Faults) { f.Unit = nmea.Knots }, 12.5, 'N'},
		{"another unit", func(f *Faults) { f.Unit = nmea.KilometresPerHour }, 12.5, 'K'},
		{"another unit's letter", func(f *Faults) { f.Unit, f.Mislabelled = nmea.Knots, true },
			12.5 * 1852 / 3600, 'N'},
		{"spike", func(f *Faults) { f.Spike = 30 }, 42.5, 'M'},
		{"spike downward", func(f *Faults) { f.Spike = -30 }, 0, 'M'},
	} {
		speed, w := heard(t, mast(row.edit))
		if math.Abs(speed-row.speed) > 0.03 || w.Unit != row.unit || w.Angle.Value != 270 {
			t.Errorf("%s: heard %.2f m/s in %+v, want %.2f", row.name, speed, w, row.speed)
		}
	}
	if got := mast(func(f *Faults) { f.Silent = true }).Sentence([]byte("x")); string(got) != "x" {
		t.Errorf("silent, told %q", got)
	}
}

// A frozen mast repeats itself, and feels the wind again when it is over.
func TestFrozen_UntilItIsOver(t *testing.T) {
	m := mast(func(f *Faults) { f.Frozen = true })
	m.Feel(30, 10*deg)
	if speed, w := heard(t, m); speed != 12.5 || w.Angle.Value != 270 {
		t.Errorf("frozen, heard %g m/s from %g", speed, w.Angle.Value)
	}
	m.Faults = Faults{}
	m.Feel(30, 10*deg)
	if speed, w := heard(t, m); speed != 30 || w.Angle.Value != 10 {
		t.Errorf("after it, heard %g m/s from %g", speed, w.Angle.Value)
	}
}

// Once a second; everybody hears it at the same whole seconds, whenever they
// came, and nobody is answered.
func TestEmit_AtWholeSeconds(t *testing.T) {
	const ms = time.Millisecond
	for _, row := range []struct {
		now, next time.Duration
		says      bool
	}{
		{0, 1000 * ms, true}, {1 * ms, 1000 * ms, false}, {999 * ms, 1000 * ms, false},
		{1000 * ms, 2000 * ms, true}, {2500 * ms, 3000 * ms, false},
	} {
		s := mast(nil).Open()
		message, next := s.Emit(row.now)
		if (len(message) > 0) != row.says || next != row.next {
			t.Errorf("at %v: %q, next at %v, want %v", row.now, message, next, row.next)
		}
	}
	late := mast(nil).Open() // as timers of a real clock are
	for _, row := range []struct {
		now  time.Duration
		says bool
	}{{400 * ms, false}, {1003 * ms, true}, {1010 * ms, false}, {2001 * ms, true}, {4999 * ms, true},
		{5000 * ms, true}} {
		if message, _ := late.Emit(row.now); (len(message) > 0) != row.says {
			t.Errorf("asked late, at %v: %q", row.now, message)
		}
	}
	s := mast(func(f *Faults) { f.Silent = true }).Open()
	if message, next := s.Emit(0); len(message) > 0 || next != Period {
		t.Errorf("silent: %q, next at %v", message, next)
	}
	if got := s.Respond([]byte("kept"), []byte("$WIMWV?\r\n")); string(got) != "kept" {
		t.Errorf("answers %q", got)
	}
}

func TestCheck_Parameters(t *testing.T) {
	good := Parameters{Reference: nmea.True, Unit: nmea.Knots}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for _, bad := range []Parameters{
		{Unit: nmea.Knots}, {Reference: nmea.True}, {Reference: 'X', Unit: nmea.Knots},
		{Reference: nmea.True, Unit: 'S'},
		{Reference: nmea.True, Unit: nmea.Knots, Heading: quantity.Angle(math.NaN())},
	} {
		if bad.Check() == nil {
			t.Errorf("%+v is accepted", bad)
		}
	}
}
