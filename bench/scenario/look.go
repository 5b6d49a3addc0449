package scenario

import (
	"slices"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// now is the station's instant.
func (w *World) now() time.Duration { return w.clock.Now() }

// await lets time pass until done holds, and reports whether it did. Done sees the
// station as it is at that instant; nil waits the whole span.
func (w *World) await(span time.Duration, done func() bool) bool {
	var look func() bool
	if done != nil {
		look = func() bool {
			w.station.Advance(w.clock.Now())
			return done()
		}
	}
	return w.clock.Run(w.clock.Now()+span, look)
}

func (w *World) level(channel string) int64 {
	v, _ := w.recorder.Level(channel)
	return v
}

// torqueOn reports whether a motor of the axis, or of any axis, has torque.
func (w *World) torqueOn(a plant.Axis, every bool) bool {
	for m, d := range w.station.Drives {
		if (every || plant.MotorAxis[m] == a) && d.PowerOn() {
			return true
		}
	}
	return false
}

func (w *World) brakesSet(a plant.Axis) bool {
	first, count := a.Motors()
	for m := first; m < first+count; m++ {
		if !w.station.Plant.State().BrakeSet[m] {
			return false
		}
	}
	return true
}

// movedSince reports whether the axis has moved at all since the world began, so
// that the rest before a motion is not taken for the one after it.
func (w *World) movedSince(a plant.Axis) bool {
	moved := w.station.Plant.State().Position[a] - w.position[a]
	return moved > movedAngle || moved < -movedAngle
}

// hasMoved is movedSince, or that a sentence has seen it move.
func (w *World) hasMoved(a plant.Axis) bool {
	return w.doing != nil && w.doing.Moving || w.movedSince(a)
}

// movedAngle is a motion and no wobble, rad.
const movedAngle = 0.1 * 3.14159 / 180

// told reports whether a cause was reported since its last mark.
func (w *World) told(cause string) bool {
	last, reported := time.Duration(-1), time.Duration(-1)
	for _, m := range w.recorder.Marks() {
		switch {
		case m.Name != cause:
		case m.Kind == record.Cause:
			last = max(last, m.At)
		case m.Kind == record.Report:
			reported = max(reported, m.At)
		}
	}
	return last >= 0 && reported >= last
}

// energies closes the books of every axis; zero where none were kept.
func (w *World) energies() (all [plant.AxisCount]plant.Energy) {
	if w.station == nil || !w.run.Books {
		return all
	}
	for a := range all {
		all[a] = w.station.Plant.Energy(plant.Axis(a))
	}
	return all
}

// lastMark is the last mark of a kind and name.
func (w *World) lastMark(kind, name, axis string) (record.Mark, bool) {
	marks := w.recorder.Marks()
	for i := len(marks) - 1; i >= 0; i-- {
		m := marks[i]
		if m.Kind == kind && m.Name == name && (axis == "" || m.Axis == "" || m.Axis == axis) {
			return m, true
		}
	}
	return record.Mark{}, false
}

// endOf is the end a sentence names, or the one its axis was last sent to.
func (w *World) endOf(is Words) int {
	if is.NamesEnd {
		return is.End
	}
	return w.ends[is.Axis]
}

// fillIn completes an ask: its requirement, the cause it is about and the instant
// of that, and the sentence's own limit.
func (w *World) fillIn(a *record.Ask, q question, is Words) {
	r, _ := w.run.requirement(q, w.lastCause)
	a.Requirement = r.ID
	if a.Cause == "" && len(r.Causes) > 0 {
		a.Cause = r.Causes[0]
		if slices.Contains(r.Causes, w.lastCause) {
			a.Cause = w.lastCause
		}
	}
	of := a.Axis
	if q.other {
		of = ""
	}
	m, marked := w.causeMark(a.Cause, of)
	switch {
	case q.pushed:
		a.From, a.Until = w.windowAt, w.now()
	case q.Measure == "flag_time":
		a.From, a.Until = m.At, 0
	case q.window > 0 || q.until == away:
		a.From, a.Until = w.actedAt, w.now()
	case marked:
		a.From = m.At
		if q.Measure == "partner_off" {
			a.Item = m.Text
		}
	}
	if q.limit != nil {
		a.Limit, a.Tightened = q.limit(is)
	}
}
