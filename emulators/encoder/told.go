package encoder

// Told is the axis angle, in rad and not wrapped, that a reader of the position
// takes the axis to be at; presets are left out.
func (e *Encoder) Told() float64 {
	return float64(e.set.Zero) + e.counts()/e.perRad
}
