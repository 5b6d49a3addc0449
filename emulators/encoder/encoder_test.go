package encoder

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// h is the plant step of the stations.
const h = 250 * time.Microsecond

// deviceFace is the face that a register map binds to, as registers has it.
type deviceFace interface {
	Quantities() []string
	Load(id int) float64
	Store(id int, value float64) error
}

var _ deviceFace = (*Encoder)(nil)

const deg = math.Pi / 180

// demo is the azimuth encoder of fixtures/stations/demo.yaml: 22 bits a
// turn; two turns so that 205 deg either way fit.
func demo() Parameters {
	return Parameters{CountsPerTurn: 1 << 22, TotalRange: 1 << 23, Zero: -360 * quantity.Degree}
}

// at steps an encoder to angles one plant step apart.
func at(e *Encoder, angles ...float64) {
	for _, a := range angles {
		e.Step(e.now+h, a)
	}
}

func store(t *testing.T, e *Encoder, id int, value float64) {
	t.Helper()
	if err := e.Store(id, value); err != nil {
		t.Fatalf("Store(%d, %g): %v", id, value, err)
	}
}

// The table of bits a turn, LSB in degrees and in seconds of arc, computed:
// testdata/SOURCES.md; tolerance half a unit of the last printed place.
func TestCountAngle_Table(t *testing.T) {
	for _, row := range []struct {
		bits          uint
		degrees, unit float64
		arcsec, last  float64
	}{
		{16, 0.0054932, 1e-7, 19.775, 1e-3},
		{18, 0.00137329, 1e-8, 4.944, 1e-3},
		{20, 0.000343323, 1e-9, 1.236, 1e-3},
		{22, 8.58307e-5, 1e-10, 0.3090, 1e-4},
		{24, 2.14577e-5, 1e-10, 0.07725, 1e-5},
		{26, 5.36442e-6, 1e-11, 0.01931, 1e-5},
	} {
		p := Parameters{CountsPerTurn: 1 << row.bits, TotalRange: 1 << row.bits}
		lsb := p.CountAngle().Degrees()
		if math.Abs(lsb-row.degrees) > 0.51*row.unit ||
			math.Abs(lsb*3600-row.arcsec) > 0.51*row.last {
			t.Errorf("%d bits: LSB %g deg, want %g", row.bits, lsb, row.degrees)
		}
		// One LSB further is one count further, and halfway decides.
		e := New(p)
		for count := range 5 {
			at(e, (float64(count)+0.49)*lsb*deg)
			if got := e.Load(PositionValue); got != float64(count) {
				t.Errorf("%d bits: %g counts at %d.49 LSB", row.bits, got, count)
			}
		}
	}
}

// Quantisation u = LSB/sqrt(12), 3.9643e-4 deg at 18 bits: the deviation of an even spread.
func TestPosition_QuantisationError(t *testing.T) {
	p := Parameters{CountsPerTurn: 1 << 18, TotalRange: 1 << 18}
	e := New(p)
	lsb := float64(p.CountAngle())
	sum, squares, n := 0.0, 0.0, 100000
	for i := range n {
		angle := float64(i) * lsb * 0.6180339887 // evenly spread within a count
		at(e, math.Mod(angle, 2))
		miss := e.Load(PositionValue)*lsb - math.Mod(angle, 2)
		sum += miss
		squares += miss * miss
	}
	rms := math.Sqrt(squares/float64(n)) / deg
	if math.Abs(rms-3.9643e-4) > 1e-7 {
		t.Errorf("quantization %.5g deg, want 3.9643e-4", rms)
	}
	if mean := sum / float64(n) / deg; math.Abs(mean) > 1e-6 {
		t.Errorf("bias %.3g deg", mean)
	}
}

// Rate noise from the first difference over T is LSB/(sqrt(6) T) for positions
// whose quantization errors are unrelated: that spread twice, over T.
func TestPosition_NoiseOfTheFirstDifference(t *testing.T) {
	p := Parameters{CountsPerTurn: 1 << 18, TotalRange: 1 << 18}
	e := New(p)
	lsb := float64(p.CountAngle())
	squares, last, n := 0.0, 0.0, 50000
	for i := range n {
		angle := 3 + lsb*100*scatter(uint64(i)) // unrelated places within a count
		at(e, angle)
		miss := e.Load(PositionValue)*lsb - angle
		noise := (miss - last) / h.Seconds()
		squares += noise * noise
		last = miss
	}
	got, want := math.Sqrt(squares/float64(n)), lsb/(math.Sqrt(6)*h.Seconds())
	if math.Abs(got-want) > 0.01*want {
		t.Errorf("rate noise %g rad/s, want %g", got, want)
	}
}

// Wrap at 6002: from 0 one count back reads range - 1, a step of -1 by the rule
// that a step is below half the range (derived).
func TestPosition_WrapsAtTheTotalRange(t *testing.T) {
	for _, total := range []uint32{1 << 16, 1<<16 + 12345, math.MaxUint32} {
		p := Parameters{CountsPerTurn: 1 << 16, TotalRange: total}
		e := New(p)
		lsb := float64(p.CountAngle())
		at(e, 0)
		zero := e.Load(PositionValue)
		at(e, -lsb)
		below := e.Load(PositionValue)
		if zero != 0 || below != float64(total)-1 {
			t.Errorf("range %d: 0 reads %g, one count below %g", total, zero, below)
		}
		if got := unwrapped(below-zero, float64(total)); got != -1 {
			t.Errorf("range %d: a step of %g, want -1", total, got)
		}
		at(e, float64(total)*lsb)
		if got := e.Load(PositionValue); got != 0 {
			t.Errorf("range %d: the whole range further reads %g", total, got)
		}
	}
}

// unwrapped is the rule for a controller: only |step| < range/2 is believed.
func unwrapped(step, total float64) float64 {
	switch {
	case step > total/2:
		return step - total
	case step < -total/2:
		return step + total
	}
	return step
}

func TestPosition_FollowsATurnThroughTheWrap(t *testing.T) {
	p := Parameters{CountsPerTurn: 1 << 20, TotalRange: 1<<20 + 77}
	e := New(p)
	lsb := float64(p.CountAngle())
	at(e, 0)
	last, turned := e.Load(PositionValue), 0.0
	for i := range 5000 {
		at(e, 0.01*float64(i))
		now := e.Load(PositionValue)
		turned += unwrapped(now-last, e.total)
		last = now
	}
	if miss := turned*lsb - 49.99; math.Abs(miss) > lsb {
		t.Errorf("eight turns end %g rad off", miss)
	}
}

func TestPosition_ZeroAndDirection(t *testing.T) {
	p := demo()
	e := New(p)
	at(e, 0)
	if got := e.Load(PositionValue); got != 1<<22 {
		t.Errorf("axis 0 reads %g, one turn above its zero", got)
	}
	if got := e.Load(OperatingStatus); got != 4 { // bit 2 scaling, bit 0 clockwise
		t.Errorf("operating status %g", got)
	}
	p.Reversed = true
	e = New(p)
	at(e, -360*deg+90*deg)
	if got := e.Load(PositionValue); got != 1<<23-1<<20 {
		t.Errorf("a quarter turn reads %g counting backwards", got)
	}
	if got := e.Load(OperatingStatus); got != 5 {
		t.Errorf("operating status %g", got)
	}
	store(t, e, OperatingParameters, 4)
	if got := e.Load(PositionValue); got != 1<<20 {
		t.Errorf("with the code sequence changed %g", got)
	}
}

// 6003: writing makes the present position read this (CiA 406, secondary).
func TestPreset(t *testing.T) {
	for _, reversed := range []bool{false, true} {
		p := demo()
		p.Reversed = reversed
		e := New(p)
		at(e, 12.345*deg)
		for _, want := range []float64{0, 5, 1<<23 - 1, 1 << 22} {
			store(t, e, Preset, want)
			if got := e.Load(PositionValue); got != want {
				t.Errorf("preset %g reads %g", want, got)
			}
		}
		at(e, 102.345*deg)
		want := float64(1<<22 + 1<<20)
		if reversed {
			want = 1<<22 - 1<<20
		}
		if got := e.Load(PositionValue); math.Abs(got-want) > 1 {
			t.Errorf("a quarter turn after the preset reads %g, want %g", got, want)
		}
		if err := e.Store(Preset, 1<<23); err == nil {
			t.Error("a preset beyond the total range is accepted")
		}
	}
}

func TestSpeed_IsThatOfTheCounts(t *testing.T) {
	for _, reversed := range []bool{false, true} {
		p := demo()
		p.Reversed = reversed
		e := New(p)
		rate := 2.4 * deg
		if reversed {
			rate = -rate
		}
		for i := range 400 {
			at(e, math.Abs(rate)*h.Seconds()*float64(i))
		}
		// One count over the gate of 10 ms is what the speed can be off.
		if got := e.Load(Speed); math.Abs(got-rate) > float64(p.CountAngle())/0.010 {
			t.Errorf("speed %g, want %g rad/s", got, rate)
		}
	}
}

func TestSpeed_ThroughTheWrap(t *testing.T) {
	p := Parameters{CountsPerTurn: 1 << 22, TotalRange: 1 << 22}
	e := New(p)
	for i := range 4000 {
		at(e, -deg*h.Seconds()*float64(i-2000))
		if got := e.Load(Speed); i > 100 && math.Abs(got+deg) > 0.01*deg {
			t.Fatalf("speed %g at %g rad", got, e.angle)
		}
	}
}

func TestCheck(t *testing.T) {
	if err := demo().Check(); err != nil {
		t.Error(err)
	}
	for name, p := range map[string]Parameters{
		"no counts":        {TotalRange: 1},
		"below one turn":   {CountsPerTurn: 1 << 16, TotalRange: 1<<16 - 1},
		"no number":        {CountsPerTurn: 1, TotalRange: 1, Zero: quantity.Angle(math.NaN())},
		"negative gate":    {CountsPerTurn: 1, TotalRange: 1, SpeedGate: -1},
		"infinite zero":    {CountsPerTurn: 1, TotalRange: 1, Zero: quantity.Angle(math.Inf(1))},
		"nothing whatever": {},
	} {
		if p.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
