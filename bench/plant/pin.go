package plant

import "math"

// A pin goes in where the load has been slower than this for a while, as a
// standstill switch has it.
const (
	pinRateRadPerS = 1.7e-4 // 0.01 deg/s, below any station's standstill rate
	pinStillS      = 0.2
)

// PinState is how a stow pin stands.
type PinState struct {
	In      bool
	Sheared bool    // since the axis was last placed
	Missed  bool    // asked in while the load moved or the hole was not there
	PeakNm  float64 // largest torque it took since it went in, N m
	ShearNm float64 // torque at which it sheared, N m
}

// pin is a stow pin in its hole, stiff as the structure is.
type pin struct {
	PinState
	hole     ends
	at       float64 // rad
	halfPlay float64 // rad
	shearNm  float64
	asked    bool
	rested   bool  // the axis did not move in its last step
	slow     int32 // steps that the load has been slow
	need     int32 // of them before it goes in
}

func newPin(a *AxisParameters, h float64) *pin {
	inertia := float64(a.LoadInertia)
	n := &pin{
		at: float64(a.Pin.At), halfPlay: float64(a.Pin.Play) / 2,
		shearNm: float64(a.Pin.Shear), need: int32(math.Round(pinStillS / h)),
	}
	n.hole = ends{present: true, structure: inertia * (2 * math.Pi * structureHz) *
		(2 * math.Pi * structureHz)}
	n.hole.touch = [2]float64{n.at - n.halfPlay, n.at + n.halfPlay}
	return n
}

// move asks the pin in or out. It goes in only when the load is still, or has
// been slow long enough, and stands within the play; it comes out at once.
func (n *pin) move(asked bool, s *State, axis Axis) {
	if math.Abs(s.Rate[axis]) > pinRateRadPerS {
		n.slow = 0
	} else if n.slow < n.need {
		n.slow++
	}
	n.asked = asked
	if !asked {
		n.In, n.Missed = false, false
		return
	}
	if n.In || n.Sheared {
		return
	}
	if !n.rested && n.slow < n.need || !n.aligned(s.Position[axis]) {
		n.Missed = true
		return
	}
	n.In, n.Missed, n.PeakNm = true, false, 0
}

// aligned reports whether the pin meets its hole.
func (n *pin) aligned(position float64) bool {
	return math.Abs(position-n.at) <= n.halfPlay
}

// waiting reports whether the pin may yet go in where the load stands.
func (n *pin) waiting(position float64) bool {
	return n.asked && !n.In && !n.Sheared && n.aligned(position)
}

// press returns what the pin does at a position, as ends do, and lets it shear.
func (n *pin) press(position float64) (elasticNm, upNm, downNm float64) {
	if !n.In || n.hole.inside(position) {
		return 0, 0, 0
	}
	_, _, depth := n.hole.depth(position)
	torque := n.hole.structure * depth
	n.PeakNm = math.Max(n.PeakNm, torque)
	if torque > n.shearNm {
		n.In, n.Sheared, n.ShearNm = false, true, torque
		return 0, 0, 0
	}
	return n.hole.press(position)
}

// Pin returns how the stow pin of a main axis stands; an axis without one has it
// neither in nor sheared.
func (p *Plant) Pin(axis Axis) PinState {
	if axis.Main() {
		if w := p.main[axis].optional; w != nil && w.pin != nil {
			return w.pin.PinState
		}
	}
	return PinState{}
}

// WrapState is how a cable wrap stands, rad.
type WrapState struct {
	Angle  float64 // from where the cables hang free, whole turns included
	Margin float64 // left until they tear; below zero they are torn
	Least  float64 // margin since the axis was last placed
	Torn   bool    // since then
}

// wrap is a cable wrap.
type wrap struct {
	WrapState
	neutral, reach float64
}

func newWrap(a *AxisParameters) *wrap {
	w := &wrap{neutral: float64(a.Wrap.Neutral), reach: float64(a.Wrap.Reach)}
	w.Least = w.reach
	return w
}

func (w *wrap) note(position float64) {
	w.Angle = position - w.neutral
	w.Margin = w.reach - math.Abs(w.Angle)
	w.Least = math.Min(w.Least, w.Margin)
	w.Torn = w.Torn || w.Margin < 0
}

// Wrap returns how the cable wrap of a main axis stands, and whether it has one.
func (p *Plant) Wrap(axis Axis) (WrapState, bool) {
	if axis.Main() {
		if w := p.main[axis].optional; w != nil && w.wrap != nil {
			return w.wrap.WrapState, true
		}
	}
	return WrapState{}, false
}
