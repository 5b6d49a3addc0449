package plant

import "math"

// A buffer gives back a fifth of its torque on return, the structure a tenth.
const (
	bufferReturn    = 0.2
	structureReturn = 0.1
	// structureHz makes the structure stiff: with the axis's inertia it swings
	// at this frequency, so an impact is spread over tens of steps.
	structureHz = 60
)

// ends are the two ends of an axis's travel: a buffer whose torque grows with
// its depth, and the structure behind it. Going outward each resists in full;
// what it does not give back on return it takes as dry resistance, so that it
// holds, and never throws, what leans on it.
type ends struct {
	present   bool
	touch     [2]float64 // rad
	stroke    [2]float64 // rad
	bufferNm  [2]float64 // per rad
	structure float64    // N m per rad
	touched   bool       // an end was touched in the last step
}

func newEnds(a *AxisParameters, main bool, inertia float64) ends {
	var e ends
	outer := a.Travel
	inner := a.Travel
	if main {
		inner, outer = a.Limits.Buffer, a.Limits.Structure
	}
	e.present = outer[Lower] != outer[Upper]
	e.structure = inertia * (2 * math.Pi * structureHz) * (2 * math.Pi * structureHz)
	for i := range e.touch {
		e.touch[i] = float64(inner[i])
		e.stroke[i] = math.Abs(float64(outer[i] - inner[i]))
		if e.stroke[i] > 0 {
			e.bufferNm[i] = 2 * float64(a.BufferEnergy) / (e.stroke[i] * e.stroke[i])
		}
	}
	return e
}

// inside reports whether a position touches neither end.
func (e *ends) inside(position float64) bool {
	return !e.present || position < e.touch[Upper] && position > e.touch[Lower]
}

// depth returns which end a position is beyond, and how deep into the buffer and
// into the structure.
func (e *ends) depth(position float64) (end int, buffer, structure float64) {
	end, buffer = Upper, position-e.touch[Upper]
	if position <= e.touch[Lower] {
		end, buffer = Lower, e.touch[Lower]-position
	}
	if buffer > e.stroke[end] {
		buffer, structure = e.stroke[end], buffer-e.stroke[end]
	}
	return end, buffer, structure
}

// press returns what the ends do at a position: an elastic torque, and dry
// resistance to motion up and to motion down.
func (e *ends) press(position float64) (elasticNm, upNm, downNm float64) {
	if e.inside(position) {
		return 0, 0, 0
	}
	end, buffer, structure := e.depth(position)
	bufferNm := e.bufferNm[end] * buffer
	structureNm := e.structure * structure
	back := float64(bufferReturn*bufferNm) + float64(structureReturn*structureNm)
	resist := bufferNm + structureNm - back
	if end == Upper {
		return -back, resist, 0
	}
	return back, 0, resist
}

// clear reports whether there is nothing to note at a position.
func (e *ends) clear(position float64) bool { return !e.touched && e.inside(position) }

// note writes how an axis stands against its ends into the state.
func (e *ends) note(s *State, axis Axis) {
	was := s.BufferDepth[axis]
	e.touched = !e.inside(s.Position[axis])
	if !e.touched {
		s.BufferDepth[axis], s.StructureDepth[axis] = 0, 0
		return
	}
	end, buffer, structure := e.depth(s.Position[axis])
	if was == 0 {
		s.BufferEnergy[axis] = 0
	}
	if buffer > was {
		squares := float64(buffer*buffer) - float64(was*was)
		s.BufferEnergy[axis] += float64(0.5 * e.bufferNm[end] * squares)
	}
	s.BufferDepth[axis], s.StructureDepth[axis] = buffer, structure
	if structure > 0 {
		s.StructureHit[axis] = true
	}
}
