package encoder

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// An eccentric disc gives an error once a turn, of amplitude eccentricity over
// radius; two opposite heads see it with opposite signs, so that their mean is
// free of it. Common practice.
func TestEccentricity_OnceATurnAndOppositeForTheSecondHead(t *testing.T) {
	p := demo()
	p.Eccentricity, p.EccentricityPhase = 0.02*quantity.Degree, 30*quantity.Degree
	p.SecondHead = true
	e := New(p)
	second := func() float64 {
		return e.Load(SecondPosition)*float64(p.CountAngle()) + float64(p.Zero)
	}
	for axis := -180.0; axis < 180; axis += 7.5 {
		at(e, axis*deg)
		want := 0.02 * deg * math.Sin((axis-30)*deg)
		within(t, "first head", reads(e), axis*deg+want)
		within(t, "second head", second(), axis*deg-want)
	}
	at(e, 120*deg)
	within(t, "at its largest", reads(e), 120.02*deg)
}

func TestLatency_TellsWhatWas(t *testing.T) {
	p := demo()
	p.Latency = 3 * time.Millisecond
	e := New(p)
	angle := func(now time.Duration) float64 { return math.Sin(now.Seconds()*2) * deg }
	for now := time.Duration(0); now < time.Second; now += h {
		e.Step(now, angle(now))
		within(t, "late", reads(e), angle(max(now-p.Latency, 0)))
	}
}

// A latency that begins lags from where the axis was, and one that ends leaves
// nothing behind.
func TestFaults_Latency(t *testing.T) {
	e, run := turning()
	e.Faults.Latency = 40 * time.Millisecond
	run(h)
	from := e.angle
	within(t, "begins", reads(e), from)
	run(20 * time.Millisecond)
	within(t, "still there", reads(e), from)
	run(20 * time.Millisecond)
	within(t, "follows", reads(e), from)
	run(time.Second)
	within(t, "lags", reads(e), e.angle-0.04*deg)
	e.Faults.Latency = time.Hour // is cut
	run(5 * time.Second)
	within(t, "lags as far as it can", reads(e), e.angle-deg)
	e.Faults.Latency = 0
	run(h)
	within(t, "over", reads(e), e.angle)
	if len(e.seen.samples) > 1 {
		t.Errorf("%d angles are still remembered", len(e.seen.samples))
	}
}

func TestFaults_Eccentricity(t *testing.T) {
	e, run := turning()
	e.Faults.Eccentricity = quantity.Degree
	e.Faults.EccentricityPhase = -90 * quantity.Degree
	run(h)
	within(t, "at once", reads(e), e.angle+deg*math.Sin(e.angle+math.Pi/2))
	e.Faults = Faults{}
	run(h)
	within(t, "over", reads(e), e.angle)
}

// Bad data under a good flag: anywhere within the range, nothing tells.
func TestFaults_BadData(t *testing.T) {
	e, run := turning()
	e.Faults.BadData = true
	seen := [8]int{} // by eighth of the range
	life := e.Load(LifeCounter)
	for range 4000 {
		run(h)
		seen[int(e.Load(PositionValue)*8/e.total)]++
	}
	for k, n := range seen {
		// 500 each, standard deviation 21 (binomial): within 5 of them.
		if n < 395 || n > 605 {
			t.Errorf("eighth %d of the range was told %d times in 4000", k, n)
		}
	}
	if e.Load(Alarms) != 0 || e.Load(Warnings) != 0 || e.Load(LifeCounter) != life+1000 {
		t.Error("bad data tell of themselves")
	}
	e.Faults.BadData = false
	run(h)
	within(t, "over", reads(e), e.angle)
}

// Two words read at two instants: right while the upper one stands, 65536 counts
// off where the lower one has wrapped meanwhile (a register has 16 bits: Modbus
// Application Protocol V1.1b3, 4.3).
func TestFaults_TornPosition(t *testing.T) {
	e, run := turning()
	e.Faults.TornBy = 20 * time.Millisecond
	run(h)
	within(t, "begins", reads(e), e.angle)
	torn := 0
	const steps = 40000 // 10 s at 1 deg/s: 116,508 counts, one or two wraps
	for range steps {
		run(h)
		switch miss := e.Load(PositionValue) - e.whole(); miss {
		case 0:
		case -65536:
			torn++
		default:
			t.Fatalf("position is off by %g counts", miss)
		}
	}
	if one := int(20 * time.Millisecond / h); torn != one && torn != 2*one {
		t.Errorf("%d of %d readings are torn, want %d or twice that", torn, steps, one)
	}
	e.Faults.TornBy = 0
	run(h)
	if e.Load(PositionValue) != e.whole() || len(e.words.samples) > 1 {
		t.Error("something of it is left")
	}
}

// Each head has faults of its own, one disc and one preset.
func TestSecondHead(t *testing.T) {
	e, _ := turning()
	if e.Second != nil || e.Load(SecondPosition) != 0 || e.Load(SecondAlarms) != 0 {
		t.Error("an encoder of one head has a second")
	}
	p := demo()
	p.SecondHead = true
	e = New(p)
	run := func(span time.Duration) {
		for end := e.now + span; e.now < end; {
			at(e, e.angle+deg*h.Seconds())
		}
	}
	run(time.Second)
	heads := func() [2]float64 {
		return [2]float64{e.Load(PositionValue), e.Load(SecondPosition)}
	}
	if got := heads(); got[0] != got[1] || got[0] == 0 {
		t.Errorf("two sound heads tell %v", got)
	}
	e.Second.Faults = Faults{Offset: quantity.Degree, Alarm: true}
	run(h)
	got := heads()
	if off := (got[1] - got[0]) * float64(p.CountAngle()); math.Abs(off-deg) > 1e-5 {
		t.Errorf("the second head is off by %g deg, want 1", off/deg)
	}
	if e.Load(SecondAlarms) != 1 || e.Load(Alarms) != 0 {
		t.Error("the alarm is not that of the second head alone")
	}
	e.Second.Faults = Faults{}
	e.Faults.FrozenPosition = true
	run(time.Second)
	got = heads()
	if off := (got[1] - got[0]) * float64(p.CountAngle()); math.Abs(off-deg) > 1e-3*deg {
		t.Errorf("a second after the first froze they are %g deg apart, want 1", off/deg)
	}
	e.Faults = Faults{}
	run(h)
	store(t, e, Preset, 4711)
	if got := heads(); got != [2]float64{4711, 4711} {
		t.Errorf("after the preset they tell %v", got)
	}
	store(t, e, OperatingParameters, 5)
	before := heads()
	run(time.Second)
	if got := heads(); got[0] != got[1] || got[0] == before[0] {
		t.Errorf("after the change of direction they tell %v", got)
	}
}

func TestCheck_Shapes(t *testing.T) {
	for name, spoil := range map[string]func(*Parameters){
		"eccentricity":     func(p *Parameters) { p.Eccentricity = 4 },
		"no eccentricity":  func(p *Parameters) { p.Eccentricity = quantity.Angle(math.NaN()) },
		"no phase":         func(p *Parameters) { p.EccentricityPhase = quantity.Angle(math.Inf(1)) },
		"negative latency": func(p *Parameters) { p.Latency = -1 },
		"long latency":     func(p *Parameters) { p.Latency = LatencyMax + 1 },
	} {
		p := demo()
		spoil(&p)
		if p.Check() == nil {
			t.Errorf("%s is accepted", name)
		}
	}
}

func TestStep_LateAllocatesNothing(t *testing.T) {
	e, run := turning()
	e.Faults.Latency, e.Faults.TornBy = 50*time.Millisecond, 20*time.Millisecond
	run(time.Second)
	if n := testing.AllocsPerRun(1000, func() { run(h) }); n != 0 {
		t.Errorf("%g allocations a step", n)
	}
}
