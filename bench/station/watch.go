package station

import (
	"math"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
)

// samplePeriod is the record's own pace, 100 Hz.
const samplePeriod = 10 * time.Millisecond

// watch turns what the station does into the record: extremes at every plant
// step, samples at their own instants, and every discrete change at its step.
type watch struct {
	to     *record.Recorder
	levels levels
	values [columns]float64
	mins   [tracked]float64
	maxs   [tracked]float64
	next   time.Duration
	closed [plant.MotorCount]int64 // closures of a brake at speed
	was    [plant.MotorCount]bool  // brake set
}

// Columns of a sample: the tracked ones, with extremes, come first.
const (
	atPosition  = 0
	atRate      = atPosition + plant.AxisCount
	atMotorRate = atRate + plant.AxisCount
	atTorque    = atMotorRate + plant.MotorCount
	tracked     = atTorque + plant.MotorCount
	atEncoder   = tracked
	atExternal  = atEncoder + plant.AxisCount
	atBuffer    = atExternal + plant.AxisCount
	columns     = atBuffer + plant.MainAxes
)

// Channels lists what a station samples, in the order of a row.
func Channels() []record.Channel {
	all := make([]record.Channel, 0, columns)
	each := func(names []string, what string, d quantity.Dimension, extremes bool) {
		for _, name := range names {
			all = append(all, record.Channel{Name: name + what, Dimension: d, Extremes: extremes})
		}
	}
	axes, motors := plant.AxisNames[:], plant.MotorNames[:]
	each(axes, ".position", quantity.DimAngle, true)
	each(axes, ".rate", quantity.DimRate, true)
	each(motors, ".rate", quantity.DimRate, true)
	each(motors, ".torque", quantity.DimTorque, true)
	each(axes, ".encoder", quantity.DimAngle, false)
	each(axes, ".external_torque", quantity.DimTorque, false)
	each(axes[:plant.MainAxes], ".buffer_depth", quantity.DimAngle, false)
	return all
}

func newWatch(s *Station, to *record.Recorder) *watch {
	w := &watch{to: to, levels: newLevels()}
	for _, axis := range plant.AxisNames {
		to.Edge(0, axis+".standstill", 1)
	}
	for m := range w.was {
		w.was[m] = true
		to.Edge(0, plant.MotorNames[m]+".closed_at_speed", 0)
	}
	w.openInterval()
	to.Edge(0, record.StepChannel, int64(s.step))
	return w
}

// openInterval starts new extremes.
func (w *watch) openInterval() {
	for i := range w.mins {
		w.mins[i], w.maxs[i] = math.Inf(1), math.Inf(-1)
	}
}

// look takes the station down as it is at this step.
func (w *watch) look(s *Station, now time.Duration) {
	if w == nil {
		return
	}
	state := s.Plant.State()
	w.extremes(atPosition, state.Position[:])
	w.extremes(atRate, state.Rate[:])
	w.extremes(atMotorRate, state.MotorRate[:])
	w.extremes(atTorque, s.in.MotorTorque[:])
	if w.was != state.BrakeSet {
		w.closures(s, now)
	}
	w.levels.look(w.to, s, now)
	if now >= w.next {
		w.sample(s, now)
	}
}

// follow is look at a step of a cruise; turned tells that something changed beside
// motion.
func (w *watch) follow(s *Station, now time.Duration, turned bool) {
	if w == nil {
		return
	}
	state := s.Plant.State()
	for a := range plant.Axis(plant.AxisCount) {
		if s.Plant.Stands(a) {
			continue
		}
		w.extreme(atPosition+int(a), state.Position[a])
		w.extreme(atRate+int(a), state.Rate[a])
		first, count := a.Motors()
		for m := first; m < first+count; m++ {
			w.extreme(atMotorRate+m, state.MotorRate[m])
		}
	}
	for m, pace := range &s.cruise.pace {
		if pace != paceSleeps {
			w.extreme(atTorque+m, s.in.MotorTorque[m])
		}
	}
	if turned {
		w.levels.look(w.to, s, now)
	}
	if now >= w.next {
		w.sample(s, now)
	}
}

// owes tells that a brake or a buffer has let go since the levels were looked at.
func (w *watch) owes(none [plant.MotorCount]bool) bool {
	return w != nil && (w.levels.from.pressed || w.levels.from.dragging != none)
}

// extreme takes in a value of one column.
func (w *watch) extreme(k int, v float64) {
	if v < w.mins[k] {
		w.mins[k] = v
	}
	if v > w.maxs[k] {
		w.maxs[k] = v
	}
}

// pass is look at a step at which nothing can have changed.
func (w *watch) pass(s *Station, now time.Duration) {
	if w != nil && now >= w.next {
		w.sample(s, now)
	}
}

// extremes takes in values of the columns from the first on.
func (w *watch) extremes(first int, values []float64) {
	mins, maxs := w.mins[first:][:len(values)], w.maxs[first:][:len(values)]
	for i, v := range values {
		if v < mins[i] {
			mins[i] = v
		}
		if v > maxs[i] {
			maxs[i] = v
		}
	}
}

// sample writes a row and opens the next interval with the present values.
func (w *watch) sample(s *Station, now time.Duration) {
	state := s.Plant.State()
	copy(w.values[atPosition:], state.Position[:])
	copy(w.values[atRate:], state.Rate[:])
	copy(w.values[atMotorRate:], state.MotorRate[:])
	copy(w.values[atTorque:], s.in.MotorTorque[:])
	for a, e := range s.Encoders {
		w.values[atEncoder+a] = e.Told()
	}
	copy(w.values[atExternal:], s.in.External[:])
	copy(w.values[atBuffer:], state.BufferDepth[:plant.MainAxes])
	w.to.Sample(now, w.values[:], w.mins[:], w.maxs[:])
	copy(w.mins[:], w.values[:tracked])
	copy(w.maxs[:], w.values[:tracked])
	w.next += samplePeriod
}

// closures counts brakes that close above standstill, with the motor's rate.
func (w *watch) closures(s *Station, now time.Duration) {
	state := s.Plant.State()
	for m := range w.was {
		set := state.BrakeSet[m]
		if set && !w.was[m] {
			limit := float64(s.set.Standstill[plant.MotorAxis[m]].Rate)
			if math.Abs(state.BrakeClosedAt[m]) > limit {
				w.closed[m]++
				w.to.Edge(now, plant.MotorNames[m]+".closed_at_speed", w.closed[m])
			}
		}
		w.was[m] = set
	}
}
