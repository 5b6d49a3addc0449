package scenario

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
	"haltmark/emulators/interlock"
)

// precondition tells what a sentence is about and what has not come or is not so: one that
// holds because nothing happened shows nothing.
type precondition func(w *World, is Words) error

// concerns reports whether what a question is about has come.
func (w *World) concerns(q question, is Words) error {
	if q.requires != nil {
		if err := q.requires(w, is); err != nil {
			return err
		}
	}
	r, _ := w.run.requirement(q, w.lastCause)
	causes := r.Causes
	if q.Cause != "" {
		causes = []string{q.Cause}
	}
	if len(causes) == 0 || w.stopCause(causes[0]).Unmarked {
		return nil
	}
	axis := is.Axis.String()
	if q.every || q.other {
		axis = ""
	}
	for _, cause := range causes {
		if m, came := w.causeMark(cause, axis); came {
			if m.Name == "final_limit" { // one that is not hardwired is only a signal
				if err := w.canAct("final_limit_open", m.Axis+"."+plant.EndNames[0]); err != nil {
					return err
				}
			}
			if q.regardless {
				return nil
			}
			return w.unforestalled(m, axis)
		}
	}
	return missing(w.stopCause(causes[0]).Words)
}

// unforestalled tells the stop cause that, since an axis was last commanded, had asked
// for a stop before a cause came: nobody can tell what the later one did. A wind asks for a
// way rather than a stop.
func (w *World) unforestalled(cause record.Mark, axis string) error {
	if w.stopCause(cause.Name).Stows {
		return nil
	}
	var earlier *record.Mark
	marks := w.recorder.Marks()
	for i := range marks {
		m := &marks[i]
		switch {
		case m.At > cause.At || m.Kind == record.Cause && m.Name == cause.Name:
		case m.Kind == record.Command && verdict.Moves(m.Name):
			earlier = nil
		case m.Kind == record.Command && (m.Name == "rest" || m.Name == "hold") && w.stops(m, axis):
			earlier = m
		case m.Kind != record.Cause || !w.stops(m, axis) || w.stopCause(m.Name).Unmarked:
		case !w.stopCause(m.Name).Stows:
			earlier = m
		}
	}
	if earlier == nil {
		return nil
	}
	if earlier.Kind == record.Command {
		return fmt.Errorf("a command to %s had stopped it before the %s, which this is about, occurred",
			earlier.Name, w.stopCause(cause.Name).Words)
	}
	return fmt.Errorf("%s had stopped it before the %s, which this is about, occurred",
		w.stopCause(earlier.Name).Words, w.stopCause(cause.Name).Words)
}

// stops reports whether a cause is one for an axis; "" is any.
func (w *World) stops(m *record.Mark, axis string) bool {
	return axis == "" || m.Axis == "" || m.Axis == axis || w.stopCause(m.Name).EveryAxis
}

// stopCause is what the cause table says of a cause.
func (w *World) stopCause(name string) verdict.Cause {
	c, _ := w.run.Rules.Causes.Stop(name)
	return c
}

func missing(what string) error {
	return fmt.Errorf("%s, which this is about, did not occur", what)
}

// causeMark is the last mark of a stop cause on an axis, or of one that stops them all. A limit
// switch that an axis swings over again after its stop has no new cause to tell.
func (w *World) causeMark(name, axis string) (record.Mark, bool) {
	if name == "final_limit" || name == "pre_limit" {
		return w.firstOpening(name, axis)
	}
	if m, ok := w.lastMark(record.Cause, name, axis); ok || !w.stopCause(name).EveryAxis {
		return m, ok
	}
	return w.lastMark(record.Cause, name, "")
}

// firstOpening is the first mark of a limit switch since an axis was last commanded before one.
func (w *World) firstOpening(name, axis string) (found record.Mark, ok bool) {
	commanded := true
	for _, m := range w.recorder.Marks() {
		switch {
		case m.Kind == record.Command && verdict.Moves(m.Name):
			commanded = true
		case m.Kind == record.Cause && m.Name == name && commanded &&
			(axis == "" || m.Axis == "" || m.Axis == axis):
			found, ok, commanded = m, true, false
		}
	}
	return found, ok
}

// came is the precondition that something of a kind, by one of these names, has been marked;
// without names anything of that kind.
func came(what, kind string, names ...string) precondition {
	return func(w *World, _ Words) error {
		for _, m := range w.recorder.Marks() {
			if m.Kind == kind && (len(names) == 0 || slices.Contains(names, m.Name)) {
				return nil
			}
		}
		return missing(what)
	}
}

// resetNow is the precondition that the last action was a reset; the chain is reset at every
// start of a world too.
func resetNow(w *World, _ Words) error {
	if m, ok := w.lastMark(record.Command, "reset", ""); !ok || m.At < w.actedAt {
		return missing("a reset")
	}
	return nil
}

// chainClosed is the precondition that the relay took a reset.
func chainClosed(w *World, _ Words) error {
	if u := w.station.Interlock; !u.InstantContact || !u.DelayedContact {
		return errors.New("the relay has not closed; nothing could have moved")
	}
	return nil
}

// peopleNear is the precondition that people may be at the antenna.
func peopleNear(w *World, is Words) error {
	if accessOpen(w, is) == nil || awayFromRemote(w, is) == nil {
		return nil
	}
	return missing("an open access, or a selector away from remote,")
}

// awayFromStow is the precondition that the antenna is not in its stow attitude already.
func awayFromStow(w *World, _ Words) error {
	attitude, _, _ := w.run.Rules.Limits("stow.elevation")
	if math.Abs(w.station.Plant.State().Position[plant.Elevation]-attitude) < 1*math.Pi/180 {
		return missing("an antenna outside its stow attitude")
	}
	return nil
}

// hasBeenStowed is the precondition that the antenna went to its stow attitude.
func hasBeenStowed(w *World, _ Words) error {
	if !w.stowed {
		return missing("an antenna that has been stowed")
	}
	return nil
}

// category is the precondition that the last stop cause is of a stop category.
func category(want int) precondition {
	return func(w *World, _ Words) error {
		if is, known := w.run.Rules.Causes.Stop(w.lastCause); known && is.Category != want {
			return fmt.Errorf("%s asks for a stop of category %d; this is about category %d",
				is.Words, is.Category, want)
		}
		return nil
	}
}

// both is two preconditions.
func both(one, other precondition) precondition {
	return func(w *World, is Words) error {
		if err := one(w, is); err != nil {
			return err
		}
		return other(w, is)
	}
}

// commanded is the precondition that the last action would have had an axis move.
func commanded(w *World, is Words) error {
	if w.commandedTo(is.Axis.String(), w.actedAt, w.now()) {
		return nil
	}
	return missing("a command to " + is.Axis.Words())
}

// anyCommanded is the same for any axis.
func anyCommanded(w *World, _ Words) error {
	if w.commandedTo("", w.actedAt, w.now()) {
		return nil
	}
	return missing("a command")
}

// setInMotion is the precondition that an axis had been commanded to move before the last
// action: one that never was has nothing to resume.
func setInMotion(w *World, is Words) error {
	if w.commandedTo(is.Axis.String(), 0, w.actedAt) {
		return nil
	}
	return missing("an earlier command to " + is.Axis.Words())
}

// commandedTo reports whether an axis, or any, was commanded to move between two instants; a
// command without an axis is one to all.
func (w *World) commandedTo(axis string, from, until time.Duration) bool {
	for _, m := range w.recorder.Marks() {
		mine := axis == "" || m.Axis == "" || m.Axis == axis
		if m.Kind == record.Command && verdict.Moves(m.Name) && mine && m.At >= from && m.At <= until {
			return true
		}
	}
	return false
}

// stopLatches is the precondition that a stop cause has come that stays until it is reset.
func stopLatches(w *World, _ Words) error {
	for _, m := range w.recorder.Marks() {
		if m.Kind == record.Cause && w.stopCause(m.Name).Latching {
			return nil
		}
	}
	return missing("a stop that is latched")
}

// latched is the precondition that a stop cause has come that stays until it is reset, and no
// reset since.
func latched(w *World, _ Words) error {
	since := false
	for _, m := range w.recorder.Marks() {
		switch {
		case m.Kind == record.Cause && w.stopCause(m.Name).Latching:
			since = true
		case m.Kind == record.Command && m.Name == "reset":
			since = false
		}
	}
	if !since {
		return missing("a stop that is latched")
	}
	return nil
}

// pushed is the precondition that somebody held the hand control.
func pushed() precondition { return came("a push by hand", record.Command, "hand") }

// sentThere is the precondition that an axis was sent to an end and nothing else stopped it.
func sentThere(w *World, is Words) error {
	if end := w.endOf(is); end != w.ends[is.Axis] {
		return fmt.Errorf("%v was last sent to its %s end, not to the one that this is about", is.Axis,
			plant.EndNames[w.ends[is.Axis]])
	}
	for _, m := range w.recorder.Marks() {
		beyond := m.Name == "pre_limit" || m.Name == "final_limit"
		if m.Kind == record.Cause && !beyond && w.stops(&m, is.Axis.String()) {
			return fmt.Errorf("%s had stopped it, not its limit", w.stopCause(m.Name).Words)
		}
	}
	if !w.commandedTo(is.Axis.String(), 0, w.now()) {
		return missing("a command to " + is.Axis.Words())
	}
	return nil
}

func awayFromRemote(w *World, _ Words) error {
	if w.station.Interlock.PanelInputs().Mode == interlock.Remote {
		return errors.New("the mode selector is at remote; this is about another place")
	}
	return nil
}

func accessOpen(w *World, _ Words) error {
	if h := w.station.Interlock.PanelInputs(); !h.Hatch && !h.Ladder {
		return missing("an open access")
	}
	return nil
}

func pinIn(w *World, is Words) error {
	if !is.Axis.Main() || !w.station.Interlock.PanelInputs().Pin[is.Axis] {
		return missing("a pin that is in")
	}
	return nil
}

func countsBackwards(w *World, is Words) error {
	if !slices.ContainsFunc(w.reversed, func(r reversal) bool { return r.axis == is.Axis }) {
		return missing("what is wired the wrong way round")
	}
	return nil
}
