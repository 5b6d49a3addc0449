package scenario

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// state is one in which a controller must refuse every command to move.
type state struct {
	words string // as in "azimuth is ..."
	only  []plant.Axis
	reach action
}

// states are all of them, in the order of their table.
func states() []state {
	armedAnd := func(then action) action {
		return func(w *World, is Words) error {
			if err := w.ready(); err != nil {
				return err
			}
			return then(w, is)
		}
	}
	turned := func(modes ...interlock.Mode) action {
		return armedAnd(func(w *World, is Words) error {
			for _, m := range modes {
				is.Mode = m
				if err := turnMode(w, is); err != nil {
					return err
				}
				w.await(200*time.Millisecond, nil)
			}
			return nil
		})
	}
	access := func(which string) action {
		return armedAnd(func(w *World, is Words) error {
			is.Access = which
			return openAccess(w, is)
		})
	}
	return []state{
		{words: "at rest and not armed", reach: func(w *World, _ Words) error { return nil }},
		{words: "at rest while the horn sounds", reach: hornSounds},
		{words: "at rest after its arming has lapsed", reach: armedAnd(lapses)},
		{words: "armed, and the mode selector is turned to local", reach: turned(interlock.Local)},
		{words: "armed, and the mode selector is turned to maintenance",
			reach: turned(interlock.Maintenance)},
		{words: "armed, and the mode selector is turned to local and back",
			reach: turned(interlock.Local, interlock.Remote)},
		{words: "armed, and the hatch opens", reach: access("hatch")},
		{words: "armed, and the ladder opens", reach: access("ladder")},
		{words: "armed, and a stow pin leaves its rest", reach: access("stow pin")},
		{words: "armed, and the emergency stop is pressed", reach: armedAnd(pressed)},
		{words: "at rest after a stop that has not been reset", reach: stoppedAndRepaired},
		{words: "being stopped after the hatch opened", reach: beingStopped},
		{words: "stowed out of the wind", only: []plant.Axis{plant.Elevation}, reach: blownAway},
	}
}

// lapses waits until the arming is over.
func lapses(w *World, _ Words) error {
	lapse, _, _ := w.run.Rules.Limits("controller.armed_window")
	w.await(time.Duration(lapse*float64(time.Second))+time.Second, nil)
	return nil
}

func pressed(w *World, _ Words) error {
	w.undoes(func(p *interlock.Panel) { p.EmergencyStop = [2]bool{} })
	return w.cause("emergency_stop", "", "", func(time.Duration) {
		w.station.Interlock.Panel.EmergencyStop = [2]bool{true, true}
	})
}

// stoppedAndRepaired is a stop whose cause is gone, and whose latch is all that is left.
func stoppedAndRepaired(w *World, is Words) error {
	if err := w.turn(0.5, is.End, is.Axis); err != nil {
		return err
	}
	if err := w.causeByFault("encoder_lost", "encoder_alarm", is.Axis.String(), is.Axis.String(),
		nil); err != nil {
		return err
	}
	if err := w.awaitRest(is.Axis); err != nil {
		return err
	}
	return w.act(record.Release, "encoder", func(time.Duration) { w.undoAll() })
}

func beingStopped(w *World, is Words) error {
	if err := w.turn(1, is.End, is.Axis); err != nil {
		return err
	}
	is.Access = "hatch"
	if err := openAccess(w, is); err != nil {
		return err
	}
	w.await(100*time.Millisecond, nil)
	return nil
}

// blownAway leaves the stow attitude first, where a station's mid-travel is one.
func blownAway(w *World, is Words) error {
	is.Axis, is.End = plant.Elevation, plant.Lower
	if err := w.toPosition(is, 20*degree); err != nil {
		return err
	}
	if !w.await(travelTime, func() bool {
		return w.movedSince(plant.Elevation) && w.station.Still(plant.Elevation)
	}) {
		return fmt.Errorf("elevation has not come to a position within %v", travelTime)
	}
	if err := blownToStow(w, is); err != nil {
		return err
	}
	if !w.await(stowTime, func() bool {
		return !w.torqueOn(plant.Elevation, true) && w.brakesSet(plant.Elevation)
	}) {
		return fmt.Errorf("elevation has not been stowed within %v", stowTime)
	}
	w.ringDown(plant.Elevation)
	return nil
}

// order is a command that would move an axis.
type order struct {
	words string // as in "it is ..."
	verb  string
	value func(w *World, is Words) float64
}

func orders() []order {
	rate := func(share float64) func(*World, Words) float64 {
		return func(w *World, is Words) float64 {
			return share * float64(w.run.Station.FullRate[is.Axis]) * float64(2*is.End-1)
		}
	}
	return []order{
		{"commanded to start", "start", nil},
		{"commanded to a position", "position", func(w *World, is Words) float64 {
			lower, upper := w.software(is.Axis)
			return lower + (upper-lower)*(0.25+0.5*float64(is.End))
		}},
		{"commanded to a rate", "rate", rate(1)},
		{"commanded to stow", "stow", nil},
	}
}

// refusals are the sentences about commands that must be refused.
func refusals() []*Phrase {
	return []*Phrase{
		on("{axis} is {state}", "brings it there; see `haltmark coverage`",
			func(w *World, is Words) error {
				is.End = w.ends[is.Axis]
				w.subject = is.Axis
				return stateNamed(is.State).reach(w, is)
			}).needs(reachable),
		on("it is {order}", "gives that one command for the axis of the sentence before; a refusal "+
			"is an answer too", giveOrder),
		stays("{axis} stays at rest despite the command", "HR-121", ordered).within(beforeReset),
		ask("{axis} is neither enabled nor released despite the command",
			"time with the enable of the axis or the release of a brake over 9 s from the last action on",
			question{Measure: "enable_stays_off", ID: "HR-122", window: beforeReset,
				requires: ordered}),
	}
}

func stateWords() []string {
	var all []string
	for _, s := range states() {
		all = append(all, s.words)
	}
	return all
}

func orderWords() []string {
	var all []string
	for _, o := range orders() {
		all = append(all, o.words)
	}
	return all
}

func stateNamed(words string) state {
	all := states()
	return all[slices.IndexFunc(all, func(s state) bool { return s.words == words })]
}

func reachable(is Words) error {
	if s := stateNamed(is.State); s.only != nil && !slices.Contains(s.only, is.Axis) {
		return fmt.Errorf("%s cannot be %s", is.Axis.Words(), is.State)
	}
	return nil
}

func giveOrder(w *World, is Words) error {
	all := orders()
	o := all[slices.IndexFunc(all, func(o order) bool { return o.words == is.Order })]
	axis, value := int(w.subject), 0.0
	is.Axis, is.End = w.subject, w.ends[w.subject]
	switch {
	case o.value != nil:
		value = o.value(w, is)
	default:
		axis = -1
	}
	w.orderedAt = w.now()
	return w.command(o.verb, axis, value)
}

// ordered is the precondition that a command was given to the axis, and no other since.
func ordered(w *World, is Words) error {
	if w.orderedAt > 0 && w.commandedTo(is.Axis.String(), w.orderedAt, w.now()) {
		return nil
	}
	return missing("a command to " + is.Axis.Words())
}

// RefusedTable has each command in each state that must refuse it, on axes in turn.
const RefusedTable = "commands and the states that refuse them"

// StayingTable has the stop causes that stay, and so refuse a reset.
const StayingTable = "stop causes that stay"

func refusedTable() Table {
	t, next := Table{Name: RefusedTable}, 0
	for _, s := range states() {
		for _, o := range orders() {
			axis := plant.Axis(next % plant.AxisCount)
			if o.value == nil { // start and stow move main axes
				axis = plant.Axis(next % plant.MainAxes)
			}
			if o.verb == "stow" {
				axis = plant.Elevation
			}
			if s.only != nil {
				axis = s.only[0]
			}
			next++
			t.Rows = append(t.Rows, Row{Tags: []string{MatrixTag}, Values: map[string]string{
				"axis": axis.Words(), "state": s.words, "command": o.words}})
		}
	}
	return t
}

// PairTable has two stop causes in the course of one stop.
const PairTable = "stop causes that follow each other"

// pairTable has each of a few first causes before each cause that comes in motion, at once or
// when the stop is under way.
func pairTable(strikes []config.Strike) Table {
	t := Table{Name: PairTable}
	firsts := []string{"the emergency stop is pressed", "the hatch interlock opens",
		"the encoder of {axis} raises its alarm", "the mode selector is turned to local"}
	for f, first := range firsts {
		for i := range strikes {
			s := &strikes[i]
			if s.Cause == causeOf(strikes, first) || s.Stows || s.In == config.ByHand {
				continue
			}
			next := len(t.Rows) + f
			fill := strings.NewReplacer("{axis}", plant.Axis(next%plant.MainAxes).Words(),
				"{end}", plant.EndNames[next/2%2], "{number}", fmt.Sprint(1+next/2%2))
			t.Rows = append(t.Rows, Row{Tags: []string{MatrixTag}, Values: map[string]string{
				"axis": plant.Axis(next % plant.MainAxes).Words(), "end": plant.EndNames[next/2%2],
				"first cause": fill.Replace(first), "second cause": fill.Replace(s.Say),
				"time": []string{"1 ms", "200 ms"}[next/4%2]}})
		}
	}
	return t
}

// causeOf is the stop cause that comes by a sentence.
func causeOf(strikes []config.Strike, say string) string {
	i := slices.IndexFunc(strikes, func(s config.Strike) bool { return s.Say == say })
	if i < 0 {
		return ""
	}
	return strikes[i].Cause
}

// stayingTable is of the causes that come at any time and last.
func stayingTable(strikes []config.Strike) Table {
	t, next := Table{Name: StayingTable}, 0
	for i := range strikes {
		s := &strikes[i]
		if s.In != config.AtAnyTime || !s.Latching || s.Once {
			continue
		}
		for range plant.MainAxes {
			axis := plant.Axis(next % plant.MainAxes)
			next++
			fill := strings.NewReplacer("{axis}", axis.Words(), "{end}", plant.EndNames[next/2%2],
				"{number}", fmt.Sprint(1+next/2%2))
			t.Rows = append(t.Rows, Row{Tags: []string{MatrixTag}, Values: map[string]string{
				"axis": axis.Words(), "stop cause": fill.Replace(s.Say)}})
		}
	}
	return t
}
