package station

import (
	"math"
	"time"

	"haltmark/bench/channel"
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
	values [columns + parts]float64
	width  int // of a row of values
	parts  [parts]bool
	seen   [tracked]extremes // since the last row
	mins   [tracked]float64  // of them, as a row has them
	maxs   [tracked]float64
	next   time.Duration
	closed [plant.MotorCount]int64 // closures of a brake at speed
	was    [plant.MotorCount]bool  // brake set
}

// extremes of one column.
type extremes struct{ least, most float64 }

// add takes in a value.
func (e *extremes) add(v float64) {
	e.least, e.most = min(e.least, v), max(e.most, v)
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
	atWind      = atBuffer + plant.MainAxes
	columns     = atWind + 2
)

// What a main axis may have beside: its cable wrap and its reflector, in this order
// for each, behind the columns that every station has.
const (
	ofWrap = iota
	ofReflector
	ofAxis
	parts = ofAxis * plant.MainAxes
)

// partsOf tells which of them there are.
func (p *Parameters) partsOf() (there [parts]bool) {
	for a := range plant.MainAxes {
		axis := &p.Plant.Axes[a]
		there[a*ofAxis+ofWrap] = axis.Wrap.Reach > 0
		there[a*ofAxis+ofReflector] = axis.Reflector.MountShare > 0
	}
	return there
}

// Channels lists what a station samples, in the order of a row: of every axis its true
// position and rate, what its encoder tells, and the torque of wind, unbalance and
// whatever else pushes it; of every motor its rate and torque; of every main axis how
// far its buffer is pressed in, and how far its cable wrap is turned from where the
// cables hang free, whole turns included, and its reflector from the mount, where the
// station has them; of the wind its speed and the azimuth from which it blows, which is
// zero of one that pushes every axis at its worst attitude. What switches, such as
// stow pins, is no channel here but stands in the record as edges.
func (p *Parameters) Channels() []record.Channel {
	all := make([]record.Channel, 0, columns+parts)
	add := func(name string, d quantity.Dimension, extremes bool) {
		all = append(all, record.Channel{Name: name, Dimension: d, Extremes: extremes})
	}
	each := func(whose []string, what channel.Quantity, d quantity.Dimension, extremes bool) {
		for _, one := range whose {
			add(what.Of(one), d, extremes)
		}
	}
	axes, motors := plant.AxisNames[:], plant.MotorNames[:]
	each(axes, channel.Position, quantity.DimAngle, true)
	each(axes, channel.Rate, quantity.DimRate, true)
	each(motors, channel.Rate, quantity.DimRate, true)
	each(motors, channel.Torque, quantity.DimTorque, true)
	each(axes, channel.Encoder, quantity.DimAngle, false)
	each(axes, channel.ExternalTorque, quantity.DimTorque, false)
	each(axes[:plant.MainAxes], channel.BufferDepth, quantity.DimAngle, false)
	add(channel.WindSpeed, quantity.DimSpeed, false)
	add(channel.WindFrom, quantity.DimAngle, false)
	for k, there := range p.partsOf() {
		if there {
			what := [ofAxis]channel.Quantity{channel.Wrap, channel.ReflectorBend}[k%ofAxis]
			add(what.Of(axes[k/ofAxis]), quantity.DimAngle, false)
		}
	}
	return all
}

func newWatch(s *Station, to *record.Recorder) *watch {
	w := &watch{to: to, levels: newLevels(), width: columns, parts: s.set.partsOf()}
	for _, there := range w.parts {
		if there {
			w.width++
		}
	}
	for _, axis := range plant.AxisNames {
		to.Edge(0, channel.Standstill.Of(axis), 1)
	}
	for m := range w.was {
		w.was[m] = true
		to.Edge(0, channel.ClosedAtSpeed.Of(plant.MotorNames[m]), 0)
		to.Edge(0, channel.Supply.Of(plant.MotorNames[m]), perMille(s.supply.share[m]))
	}
	for _, axis := range plant.AxisNames[:plant.MainAxes] {
		for _, what := range []channel.Quantity{
			channel.PinIn, channel.PinMissed, channel.PinSheared,
		} {
			to.Edge(0, what.Of(axis), 0)
		}
	}
	w.openInterval()
	to.Edge(0, channel.Step, int64(s.step))
	return w
}

// openInterval starts new extremes.
func (w *watch) openInterval() {
	for i := range w.seen {
		w.seen[i] = extremes{math.Inf(1), math.Inf(-1)}
	}
}

// look takes the station down as it is at this step.
func (w *watch) look(s *Station, now time.Duration) {
	if w == nil {
		return
	}
	state := s.Plant.State()
	w.take(atPosition, state.Position[:])
	w.take(atRate, state.Rate[:])
	w.take(atMotorRate, state.MotorRate[:])
	w.take(atTorque, s.in.MotorTorque[:])
	if w.was != state.BrakeSet {
		w.closures(s, now)
	}
	w.levels.look(w.to, s, now)
	w.sampleWhenDue(s, now)
}

// owes tells that a brake dragged: its motor may have stopped since.
func (w *watch) owes() bool {
	return w != nil && w.levels.from.dragging != [plant.MotorCount]bool{}
}

// sampleWhenDue writes a row at its instant.
func (w *watch) sampleWhenDue(s *Station, now time.Duration) {
	if w != nil && now >= w.next {
		w.sample(s, now)
	}
}

// lookAtLevels takes down what switches.
func (w *watch) lookAtLevels(s *Station, now time.Duration) {
	if w != nil {
		w.levels.look(w.to, s, now)
	}
}

// take takes in values of the columns from the first on.
func (w *watch) take(first int, values []float64) {
	for i, v := range values {
		w.seen[first+i].add(v)
	}
}

// sample writes a row and opens the next interval with the present values.
func (w *watch) sample(s *Station, now time.Duration) {
	s.settleEncoders()
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
	wind := &s.air.now
	w.values[atWind], w.values[atWind+1] = float64(wind.Speed), float64(wind.From)
	if w.width > columns {
		w.sampleParts(s)
	}
	for i, v := range w.values[:tracked] {
		w.mins[i], w.maxs[i] = w.seen[i].least, w.seen[i].most
		w.seen[i] = extremes{v, v}
	}
	w.to.Sample(now, w.values[:w.width], w.mins[:], w.maxs[:])
	w.next += samplePeriod
}

// sampleParts fills the columns that not every station has.
func (w *watch) sampleParts(s *Station) {
	k := columns
	for i, there := range w.parts {
		if !there {
			continue
		}
		axis := plant.Axis(i / ofAxis)
		if i%ofAxis == ofWrap {
			wrap, _ := s.Plant.Wrap(axis)
			w.values[k] = wrap.Angle
		} else {
			position, _ := s.Plant.Reflector(axis)
			w.values[k] = position - s.Plant.State().Position[axis]
		}
		k++
	}
}

// closingShare of the standstill rate is a motion when a brake closes: a motor may have crept
// a little since it was found at standstill.
const closingShare = 1.5

// closures counts brakes that close above standstill, with the motor's rate.
func (w *watch) closures(s *Station, now time.Duration) {
	state := s.Plant.State()
	for m := range w.was {
		set := state.BrakeSet[m]
		if set && !w.was[m] {
			limit := closingShare * float64(s.set.Standstill[plant.MotorAxis[m]].Rate)
			if math.Abs(state.BrakeClosedAt[m]) > limit {
				w.closed[m]++
				w.to.Edge(now, channel.ClosedAtSpeed.Of(plant.MotorNames[m]), w.closed[m])
			}
		}
		w.was[m] = set
	}
}
