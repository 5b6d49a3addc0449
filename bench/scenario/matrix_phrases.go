package scenario

import (
	"errors"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
	"haltmark/emulators/interlock"
)

// matrix are the sentences of the stop matrix: what an axis is doing, and everything that
// its stop cause requires then.
func matrix() []*Phrase {
	return append(doings(),
		owes("{axis} stops as its stop cause requires",
			"of the last stop cause all that its row of the cause table limits: in motion time and "+
				"travel, under torque its removal and the brakes, and the report", duties()),
		owesFirst("{axis} stops as its first stop cause requires",
			"the same about the first stop cause since the axis was commanded, whatever came after it"),
		owes("the later stop cause of {axis} gets what it requires",
			"of the last stop cause, though another had stopped the axis before: the removal of torque, "+
				"the brakes and the report", later()),
		on("{span} pass", "lets time pass", func(w *World, is Words) error {
			w.await(is.Span, nil)
			return nil
		}).needs(lasts),
		on("everything is put right and the mode selector is at remote",
			"ends what the sentences have broken, opened or pressed; a controller without power gets "+
				"it back", putRight),
		stays("{axis} stays at rest until its stop is reset", "HR-102", both(latched, commanded)).
			within(beforeReset),
		ask("{axis} stays at rest after its stop is reset",
			"excursion of the axis over 9 s from the reset on",
			question{Measure: "reset_motion", ID: "HR-030", window: beforeReset,
				requires: both(setInMotion, both(resetNow, chainClosed))}),
	)
}

// beforeReset is how long an axis is watched that would move only for a flaw: longer than the
// horn and a start.
const beforeReset = 9 * time.Second

// within is the phrase with another window.
func (p *Phrase) within(window time.Duration) *Phrase {
	for i := range p.Asks {
		p.Asks[i].window = window
	}
	return p
}

// owes is ask for questions of which those are asked that the last stop cause has a
// requirement for, and that the activity gives an occasion.
func owes(pattern, about string, asks []question) *Phrase {
	return &Phrase{Keyword: Then, Pattern: pattern, About: about, Asks: asks,
		Does: func(w *World, is Words) error {
			var due []question
			for _, q := range asks {
				if _, required := w.run.requirement(q, w.lastCause); required && q.occasion(w, is) {
					due = append(due, q)
				}
			}
			if len(due) == 0 {
				return errors.New("the last stop cause requires nothing of this axis")
			}
			return w.inquire(due, is)
		}}
}

// owesFirst asks what the first stop cause since the last command requires.
func owesFirst(pattern, about string) *Phrase {
	asks := duties()
	return &Phrase{Keyword: Then, Pattern: pattern, About: about, Asks: asks,
		Does: func(w *World, is Words) error {
			first := w.firstCause(is.Axis.String())
			if first == "" {
				return errors.New("no stop cause has come since the axis was commanded")
			}
			var due []question
			for _, q := range asks {
				q.Cause = first
				if _, required := w.run.requirement(q, first); required && q.occasion(w, is) {
					due = append(due, q)
				}
			}
			return w.inquire(due, is)
		}}
}

// firstCause is the first stop cause for an axis since it was commanded to move; "" for none.
func (w *World) firstCause(axis string) string {
	first := ""
	marks := w.recorder.Marks()
	for i := range marks {
		m := &marks[i]
		switch {
		case m.Kind == record.Command && verdict.Moves(m.Name):
			first = ""
		case m.Kind == record.Cause && first == "" && w.stops(m, axis):
			first = m.Name
		}
	}
	return first
}

// later are the duties of a stop cause that comes when an axis is being stopped already.
func later() []question {
	var some []question
	for _, q := range duties() {
		switch q.Measure {
		case "torque_gone", "partner_off", "brake_time", "report_time":
			q.regardless = true
			some = append(some, q)
		}
	}
	return some
}

// duties are the questions about whatever stop cause came last.
func duties() []question {
	moving := func(w *World, _ Words) bool { return w.doing == nil || w.doing.Moving }
	travels := func(w *World, is Words) bool { return is.Axis.Main() && moving(w, is) }
	torque := func(w *World, _ Words) bool { return w.doing == nil || w.doing.Torque }
	braked := func(w *World, is Words) bool { return is.Axis.Main() && torque(w, is) }
	always := func(*World, Words) bool { return true }
	// What is latched already stays the first cause.
	first := func(w *World, _ Words) bool { return w.doing == nil || !w.doing.Latched }
	return []question{
		{Measure: "stop_time", until: rest, occasion: moving},
		{Measure: "stop_travel", until: rest, occasion: travels},
		{Measure: "overtravel", until: rest, occasion: travels},
		{Measure: "torque_gone", until: torqueOff, occasion: torque},
		{Measure: "partner_off", until: torqueOff, every: true, occasion: braked},
		{Measure: "brake_time", until: brakes, occasion: braked},
		{Measure: "report_time", until: reported, occasion: first},
		{Measure: "stow_time", until: stowed, every: true, occasion: always},
	}
}

// undoes notes how a hand at the panel puts right what it is about to do.
func (w *World) undoes(do func(*interlock.Panel)) {
	w.undo = append(w.undo, func() { do(&w.station.Interlock.Panel) })
}

// undoAll puts right what the sentences so far have broken, opened or pressed.
func (w *World) undoAll() {
	for _, undo := range w.undo {
		undo()
	}
	w.undo = nil
}

// putRight ends all that stands in the way of a reset. Channels of the emergency stop that
// came apart agree again once both have been opened and closed.
func putRight(w *World, _ Words) error {
	if w.level(channel.Discrepancy) == 1 {
		w.clock.Do(func() { w.station.Interlock.Panel.EmergencyStop = [2]bool{true, true} })
		w.await(time.Second, nil)
		w.undoes(func(p *interlock.Panel) { p.EmergencyStop = [2]bool{} })
	}
	err := w.act(record.Release, "everything", func(time.Duration) {
		w.undoAll()
		p := &w.station.Interlock.Panel
		p.Mode, p.Override, p.HandDirection, p.Enabling = interlock.Remote, false, 0, false
	})
	if err == nil && w.absent {
		err = w.restartController()
	}
	w.await(2*time.Second, nil) // connections come back
	w.doing = nil
	return err
}
