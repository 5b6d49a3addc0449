package encoder

import (
	"math"
	"time"

	"haltmark/bench/quantity"
)

// Faults are the ways in which an encoder lies, as plain fields that may change
// between steps. All zero is a healthy encoder.
type Faults struct {
	Frozen         bool           // everything stands as it was, the life counter too
	FrozenPosition bool           // the position stands, the rest looks alive
	Offset         quantity.Angle // a step: the axis seems to be this much further
	Drift          quantity.Rate  // the error grows from zero since it began
	Reversed       bool           // turns the wrong way from where the axis was
	// Scatter is the half width of noise under a good flag: each step reads
	// somewhere within it.
	Scatter quantity.Angle
	BadData bool // each step reads anywhere within the range, under a good flag
	// Eccentricity comes to that of the parameters: an error of this amplitude,
	// once a turn, zero at the phase.
	Eccentricity, EccentricityPhase quantity.Angle
	// Latency comes to that of the parameters. What it tells begins to lag from
	// where it was. Cut to LatencyMax.
	Latency  time.Duration
	StuckBit StuckBit
	// TornBy lets a reader of the position meet an update between its two words:
	// the upper 16 bits are this much older than the lower ones. Cut to LatencyMax.
	TornBy time.Duration
	Alarm  bool // 6503 bit 0, position error, with good data
	// AlarmBits and WarningBits are or-ed into 6503 and 6505.
	AlarmBits, WarningBits uint16
}

// StuckBit is a bit of the position value that no longer follows.
type StuckBit struct {
	On     bool
	Number uint8 // 0 is one count
	High   bool
}

// onset notes what the faults that have just begun start from: the axis and the
// time as they are now.
func (e *Encoder) onset() {
	f := e.Faults
	if f.Reversed && !e.was.Reversed {
		e.pivot = e.angle
	}
	if f.Drift != e.was.Drift {
		e.drift = e.now
	}
	held := e.was.Frozen || e.was.FrozenPosition
	if (f.Frozen || f.FrozenPosition) && !held {
		e.frozen = e.counts()
	}
	if f.Frozen && !e.was.Frozen {
		e.frozeAt = e.now
	}
	if f.Latency != e.was.Latency {
		e.seen.begin(bounded(e.set.Latency + f.Latency))
	}
	if f.TornBy != e.was.TornBy {
		e.words.begin(bounded(f.TornBy))
	}
	e.was, e.lies = f, f != (Faults{}) || e.set.shapes()
}

// bounded cuts a latency to what an encoder remembers.
func bounded(span time.Duration) time.Duration { return min(max(span, 0), LatencyMax) }

// spoil is the angle that the encoder takes the true one for.
func (e *Encoder) spoil(angle float64) float64 {
	f := &e.was
	if e.seen.span > 0 {
		angle = e.seen.delay(e.now, angle)
	}
	angle += eccentric(e.set.Eccentricity, e.set.EccentricityPhase, angle) +
		eccentric(f.Eccentricity, f.EccentricityPhase, angle)
	if f.Reversed {
		angle = float64(2*e.pivot) - angle
	}
	angle += float64(f.Offset)
	if f.Drift != 0 {
		angle += float64(float64(f.Drift) * (e.now - e.drift).Seconds())
	}
	if f.Scatter != 0 {
		angle += float64(float64(f.Scatter) * scatter(e.steps))
	}
	if f.BadData {
		angle = float64(e.total * scatter(e.steps) / e.perRad)
	}
	return angle
}

// eccentric is the error of a disc whose centre lies beside that of its shaft:
// once a turn, of the amplitude eccentricity over radius (common practice).
func eccentric(amplitude, phase quantity.Angle, angle float64) float64 {
	if amplitude == 0 {
		return 0
	}
	return float64(float64(amplitude) * math.Sin(angle-float64(phase)))
}

// tear is the position as it is read in two words.
func (e *Encoder) tear(position float64) float64 {
	if e.was.TornBy == 0 {
		return position
	}
	return float64(uint32(e.upper)&^0xFFFF | uint32(position)&0xFFFF)
}

// scatter spreads step numbers over -1 to 1 without any pattern that a filter
// would find: the same step gives the same error in every run.
func scatter(step uint64) float64 {
	z := step * 0x9E3779B97F4A7C15
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return math.Ldexp(float64(int64(z^z>>31)), -63)
}
