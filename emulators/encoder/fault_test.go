package encoder

import (
	"math"
	"math/bits"
	"reflect"
	"slices"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// The faults are those by which an axis has no true position (HZ-05).

// turning is an encoder after a second at 1 deg/s, its last angle 1 deg.
func turning() (*Encoder, func(span time.Duration)) {
	e := New(demo())
	angle := 0.0
	run := func(span time.Duration) {
		for end := e.now + span; e.now < end; {
			angle += deg * h.Seconds()
			at(e, angle)
		}
	}
	run(time.Second)
	return e, run
}

// reads is the angle that a controller makes of the counts.
func reads(e *Encoder) float64 {
	return e.Load(PositionValue)*float64(e.set.CountAngle()) + float64(e.set.Zero)
}

func within(t *testing.T, what string, got, want float64) {
	t.Helper()
	if lsb := 2 * math.Pi / (1 << 22); math.Abs(got-want) > lsb {
		t.Errorf("%s: reads %.5f deg, want %.5f", what, got/deg, want/deg)
	}
}

func TestFaults_Frozen(t *testing.T) {
	e, run := turning()
	within(t, "healthy", reads(e), e.angle)
	e.Faults.Frozen = true
	run(h)
	within(t, "freezing", reads(e), e.angle)
	life, speed, place := e.Load(LifeCounter), e.Load(Speed), reads(e)
	run(time.Second)
	if reads(e) != place || e.Load(LifeCounter) != life || e.Load(Speed) != speed {
		t.Errorf("a frozen encoder moves: %g, life %g, speed %g",
			reads(e), e.Load(LifeCounter), e.Load(Speed))
	}
	e.Faults.Frozen = false
	run(20 * time.Millisecond)
	within(t, "thawed", reads(e), e.angle)
	if e.Load(LifeCounter) == life {
		t.Error("the life counter stays behind")
	}
}

func TestFaults_FrozenPositionLooksAlive(t *testing.T) {
	e, run := turning()
	e.Faults.FrozenPosition = true
	run(h)
	life, place := e.Load(LifeCounter), reads(e)
	run(time.Second)
	if reads(e) != place {
		t.Error("the position moves")
	}
	if e.Load(LifeCounter) != life+1000 {
		t.Errorf("life counter %g a second after %g", e.Load(LifeCounter), life)
	}
	if e.Load(Alarms) != 0 || e.Load(Speed) != 0 {
		t.Errorf("alarms %g, speed %g", e.Load(Alarms), e.Load(Speed))
	}
}

func TestFaults_OffsetDriftReversed(t *testing.T) {
	e, run := turning()
	e.Faults.Offset = 5 * quantity.Degree
	run(h)
	within(t, "step", reads(e), e.angle+5*deg)
	e.Faults.Offset = 0

	e.Faults.Drift = 0.8 * quantity.DegreePerSecond
	run(h)
	within(t, "drift begins", reads(e), e.angle)
	run(2500 * time.Millisecond)
	within(t, "drift", reads(e), e.angle+2*deg)
	if got := e.Load(Speed); math.Abs(got-1.8*deg) > 0.02*deg {
		t.Errorf("speed %g deg/s under drift", got/deg)
	}
	e.Faults.Drift = 0
	run(h)
	within(t, "drift over", reads(e), e.angle)

	e.Faults.Reversed = true
	run(h)
	from := e.angle
	within(t, "reversed", reads(e), from)
	run(time.Second)
	within(t, "reversed", reads(e), from-deg)
}

func TestFaults_AlarmWithGoodData(t *testing.T) {
	e, run := turning()
	e.Faults.Alarm = true
	e.Faults.WarningBits = WarnLight
	run(time.Second)
	within(t, "alarmed", reads(e), e.angle)
	if e.Load(Alarms) != 1 || e.Load(Warnings) != 2 { // 6503 bit 0, 6505 bit 1, [MEM]
		t.Errorf("alarms %g, warnings %g", e.Load(Alarms), e.Load(Warnings))
	}
}

func TestFaults_ScatterUnderAGoodFlag(t *testing.T) {
	e, run := turning()
	e.Faults.Scatter = quantity.Degree
	lowest, highest := math.Inf(1), math.Inf(-1)
	for range 4000 {
		run(h)
		miss := reads(e) - e.angle
		lowest, highest = min(lowest, miss), max(highest, miss)
	}
	if lowest > -0.9*deg || lowest < -1.001*deg || highest < 0.9*deg || highest > 1.001*deg {
		t.Errorf("scatter from %g to %g deg, want about 1 either way", lowest/deg, highest/deg)
	}
	if e.Load(Alarms) != 0 {
		t.Error("bad data tell of themselves")
	}
}

func TestFaults_StuckBit(t *testing.T) {
	for _, high := range []bool{false, true} {
		e, run := turning()
		e.Faults.StuckBit = StuckBit{On: true, Number: 12, High: high}
		differs := false
		for range 1000 {
			run(5 * h)
			word := uint32(e.Load(PositionValue))
			if (word>>12&1 == 1) != high {
				t.Fatalf("bit 12 of %#x is free", word)
			}
			if rest := word ^ uint32(wrap(e.counts(), e.total)); bits.OnesCount32(rest) > 1 {
				t.Fatalf("bits %#x are wrong", rest)
			} else if rest != 0 {
				differs = true
			}
		}
		if !differs {
			t.Error("the bit never mattered: nothing was tested")
		}
	}
}

func TestQuantities_NamesAndReadOnly(t *testing.T) {
	e, _ := turning()
	names := e.Quantities()
	if len(names) != quantityCount || slices.Contains(names, "") {
		t.Fatalf("names %v", names)
	}
	for id, name := range names {
		writable := id == Preset || id == OperatingParameters
		if err := e.Store(id, e.Load(id)); (err == nil) != writable {
			t.Errorf("%s: %v", name, err)
		}
	}
	if e.Load(Resolution) != 1<<22 || e.Load(TotalRange) != 1<<23 || e.Load(Revolutions) != 2 {
		t.Error("resolution, total range or revolutions are wrong")
	}
	if e.Store(-1, 0) != ErrObject || e.Store(quantityCount, 0) != ErrObject {
		t.Error("an object that is not there was stored")
	}
}

// Looking never changes anything.
func TestLoad_ChangesNothing(t *testing.T) {
	seen, runSeen := turning()
	unseen, runUnseen := turning()
	for i := range 2000 {
		seen.Faults.Offset = quantity.Angle(i/500) * quantity.Degree
		unseen.Faults = seen.Faults
		runSeen(h)
		runUnseen(h)
		for id := range quantityCount {
			seen.Load(id)
		}
	}
	if !reflect.DeepEqual(seen, unseen) {
		t.Errorf("read at every step: %+v\nnever read: %+v", *seen, *unseen)
	}
}

// Whatever happens to it: whole counts within the range, and 16-bit words.
func FuzzEncoder(f *testing.F) {
	f.Add([]byte{0, 100, 0, 1, 5, 0, 2, 3, 200})
	f.Fuzz(func(t *testing.T, script []byte) {
		e := New(Parameters{CountsPerTurn: 1000, TotalRange: 3001})
		angle := 0.0
		for ; len(script) >= 3; script = script[3:] {
			a, b := script[1], float64(int8(script[2]))
			switch script[0] % 4 {
			case 0:
				angle = b * float64(a) * 1000
			case 1:
				_ = e.Store(int(a)-1, b*30)
				_ = e.Store(Preset, math.Abs(b)*23)
			case 2:
				e.Faults = Faults{Frozen: a&1 != 0, FrozenPosition: a&2 != 0, Reversed: a&4 != 0,
					Alarm: a&8 != 0, Offset: quantity.Angle(b), Drift: quantity.Rate(a & 16),
					Scatter: quantity.Angle(a & 32), BadData: a&64 != 0,
					Eccentricity: quantity.Angle(b), Latency: time.Duration(b) * h}
			case 3:
				angle = math.NaN()
			}
			e.Step(e.now+time.Duration(a)*h, angle)
			got := e.Load(PositionValue)
			if !(got >= 0) || got >= 3001 || got != math.Trunc(got) {
				t.Fatalf("position %g", got)
			}
			for _, id := range []int{Alarms, Warnings, LifeCounter} {
				if v := e.Load(id); !(v >= 0) || v > math.MaxUint16 {
					t.Fatalf("quantity %d is %g", id, v)
				}
			}
		}
	})
}

func TestStep_AllocatesNothing(t *testing.T) {
	e, run := turning()
	if n := testing.AllocsPerRun(100, func() {
		run(h)
		e.Load(PositionValue)
	}); n != 0 {
		t.Errorf("%g allocations a step", n)
	}
}

func BenchmarkStep(b *testing.B) {
	e := New(demo())
	angle, now := 0.0, time.Duration(0)
	for b.Loop() {
		now += h
		angle += 1e-5
		e.Step(now, angle)
	}
}
