package encoder

import (
	"math"

	"haltmark/bench/quantity"
)

// Faults are the ways in which an encoder lies, as plain fields that may change
// between steps. All nought is a healthy encoder.
type Faults struct {
	Frozen         bool           // everything stands as it was, the life counter too
	FrozenPosition bool           // the position stands, the rest looks alive
	Offset         quantity.Angle // a step: the axis seems to be this much further
	Drift          quantity.Rate  // the error grows from nought since it began
	Reversed       bool           // turns the wrong way from where the axis was
	// Scatter is the half width of wrong data under a good flag: each step reads
	// somewhere within it.
	Scatter  quantity.Angle
	StuckBit StuckBit
	Alarm    bool // 6503 bit 0, position error, with good data
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
	e.was, e.lies = f, f != (Faults{})
}

// spoil is the angle that the encoder takes the true one for.
func (e *Encoder) spoil(angle float64) float64 {
	f := &e.was
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
	return angle
}

// scatter spreads step numbers over -1 to 1 without any pattern that a filter
// would find: the same step gives the same error in every run.
func scatter(step uint64) float64 {
	z := step * 0x9E3779B97F4A7C15
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return math.Ldexp(float64(int64(z^z>>31)), -63)
}
