package encoder

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
)

// Parameters describe one encoder on its axis.
type Parameters struct {
	CountsPerTurn uint32 // 6501, single-turn resolution
	// TotalRange is object 6002 in counts: the position wraps there. It is at
	// least one turn and may not be a whole number of turns.
	TotalRange uint32
	Zero       quantity.Angle // axis angle at which the position reads 0
	Reversed   bool           // 6000 bit 0: counts grow as the axis angle falls
	// SpeedGate is the span over which the speed is measured; 0 means 10 ms.
	SpeedGate time.Duration
	// Eccentricity of the disc is the amplitude of an error once a turn, which is
	// zero where the axis stands at EccentricityPhase and grows upward of it.
	Eccentricity, EccentricityPhase quantity.Angle
	// Latency is the age of what is told, at most LatencyMax.
	Latency time.Duration
	// SecondHead reads the same disc from the opposite side, for whoever compares.
	SecondHead bool
}

// defaultGate is common practice for encoders that compute a speed.
const defaultGate = 10 * time.Millisecond

// Check tells what is wrong with the parameters, with value and limit.
func (p Parameters) Check() error {
	switch {
	case p.CountsPerTurn == 0:
		return fmt.Errorf("encoder: counts per turn must be above 0")
	case p.TotalRange < p.CountsPerTurn:
		return fmt.Errorf("encoder: total range %d counts is below one turn, %d counts",
			p.TotalRange, p.CountsPerTurn)
	case math.IsNaN(float64(p.Zero)) || math.IsInf(float64(p.Zero), 0):
		return fmt.Errorf("encoder: zero angle %g is no angle", float64(p.Zero))
	case p.SpeedGate < 0:
		return fmt.Errorf("encoder: speed gate %v is below 0", p.SpeedGate)
	case !(math.Abs(float64(p.Eccentricity)) <= math.Pi):
		return fmt.Errorf("encoder: eccentricity %g rad is no error of at most half a turn",
			float64(p.Eccentricity))
	case !(math.Abs(float64(p.EccentricityPhase)) <= angleMax):
		return fmt.Errorf("encoder: phase %g of the eccentricity is no angle",
			float64(p.EccentricityPhase))
	case p.Latency < 0 || p.Latency > LatencyMax:
		return fmt.Errorf("encoder: latency %v is not within 0 s to %v", p.Latency, LatencyMax)
	}
	return nil
}

// shapes reports whether a healthy encoder already tells something else than the
// angle of its axis.
func (p Parameters) shapes() bool { return p.Eccentricity != 0 || p.Latency != 0 }

// CountAngle is the angle of one count.
func (p Parameters) CountAngle() quantity.Angle {
	return quantity.Angle(2 * math.Pi / float64(p.CountsPerTurn))
}

// Encoder is one encoder. Its zero value is not usable; New makes one.
type Encoder struct {
	// Faults may be changed between steps.
	Faults Faults
	// Second is the other read head, with faults of its own; nil where there is
	// none.
	Second *Encoder

	set      Parameters
	perRad   float64 // counts per radian, signed by the direction
	total    float64
	offset   float64 // counts added by a preset, object 6509
	now      time.Duration
	started  bool
	angle    float64 // rad, true
	sensed   float64 // rad, after the faults that a scale shows
	speed    float64 // rad/s, of the last gate
	gateOpen time.Duration
	gateFrom float64 // counts, unwrapped, at the opening of the gate

	was     Faults // as the last step found them
	lies    bool   // any of them is on
	pivot   float64
	drift   time.Duration // since
	frozen  float64       // counts
	frozeAt time.Duration
	steps   uint64
	seen    history // angles, rad
	words   history // positions
	upper   float64 // the position whose upper word is read
}

// New makes an encoder at angle 0. It panics on parameters that Check refuses.
func New(p Parameters) *Encoder {
	if err := p.Check(); err != nil {
		panic(err)
	}
	if p.SpeedGate == 0 {
		p.SpeedGate = defaultGate
	}
	e := &Encoder{set: p, total: float64(p.TotalRange)}
	e.direct(p.Reversed)
	e.seen.begin(p.Latency)
	e.lies = p.shapes()
	if p.SecondHead {
		p.SecondHead = false
		p.EccentricityPhase += math.Pi * quantity.Radian
		e.Second = New(p)
	}
	return e
}

// direct sets the code sequence.
func (e *Encoder) direct(reversed bool) {
	e.set.Reversed = reversed
	e.perRad = float64(e.set.CountsPerTurn) / (2 * math.Pi)
	if reversed {
		e.perRad = -e.perRad
	}
}

// Step takes in the true angle of the axis, rad, as it is now. It must be called
// at every device step, whether anybody reads or not: the speed needs it.
func (e *Encoder) Step(now time.Duration, axisPosition float64) {
	if !(math.Abs(axisPosition) < angleMax) {
		axisPosition = e.angle
	}
	if e.Second != nil {
		e.Second.Step(now, axisPosition)
	}
	e.now = now
	e.angle, e.sensed = axisPosition, axisPosition
	e.steps++
	if e.lies {
		e.sensed = e.spoil(axisPosition)
	}
	if !e.started {
		e.started = true
		e.gateOpen, e.gateFrom = now, e.counts()
	}
	if e.Faults != e.was {
		e.onset()
		e.sensed = e.spoil(axisPosition)
	}
	if e.was.TornBy != 0 {
		e.upper = e.words.delay(now, e.whole())
	}
	if open := now - e.gateOpen; open >= e.set.SpeedGate {
		e.closeGate(open)
	}
}

// Due is the first instant at which a step does more than take in the angle: one before it
// may be left out, if Skip counts it and another follows before anybody reads. It is 0 for
// an encoder that tells something else than its angle, of which every step counts.
func (e *Encoder) Due() time.Duration {
	if !e.started || e.lies || e.Faults != e.was {
		return 0
	}
	until := e.gateOpen + e.set.SpeedGate
	if e.Second != nil {
		until = min(until, e.Second.Due())
	}
	return until
}

// Skip counts steps that were left out.
func (e *Encoder) Skip(steps uint64) {
	e.steps += steps
	if e.Second != nil {
		e.Second.Skip(steps)
	}
}

// angleMax bounds what is taken for an angle, rad: a number beyond it, or none,
// leaves the last one standing.
const angleMax = 1e9

// closeGate measures the speed over the gate that ends now.
func (e *Encoder) closeGate(open time.Duration) {
	counts := e.counts()
	if !e.was.Frozen && open > 0 {
		e.speed = (counts - e.gateFrom) / math.Abs(e.perRad) / open.Seconds()
	}
	e.gateOpen, e.gateFrom = e.now, counts
}

// counts is the position in counts before preset and wrap. The nearest count is
// taken, so that the error is at most half a count.
func (e *Encoder) counts() float64 {
	if e.was.Frozen || e.was.FrozenPosition {
		return e.frozen
	}
	return math.Floor(float64((e.sensed-float64(e.set.Zero))*e.perRad) + 0.5)
}

// whole is the position as the encoder has it: counts with the preset, wrapped to
// [0, total range).
func (e *Encoder) whole() float64 { return wrap(e.counts()+e.offset, e.total) }

// position is object 6004 as it is read.
func (e *Encoder) position() float64 {
	position := e.tear(e.whole())
	if s := e.was.StuckBit; s.On {
		bit := uint32(1) << (s.Number & 31)
		word := uint32(position) &^ bit
		if s.High {
			word |= bit
		}
		position = float64(word)
	}
	return position
}

// wrap brings a whole number of counts into [0, total).
func wrap(counts, total float64) float64 {
	counts = math.Mod(counts, total)
	if counts < 0 {
		counts += total
	}
	return counts
}

// preset is object 6003: the present position reads as given from now on.
func (e *Encoder) preset(position float64) {
	e.offset += position - e.whole()
	if e.Second != nil {
		e.Second.preset(position)
	}
}
