package scenario

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// uses are sentences of hands at the panel that do what they should not, or at the wrong time.
func uses() []*Phrase {
	return []*Phrase{
		on("the reset button is pressed", "pushes it for a moment at the panel, whenever that is",
			func(w *World, _ Words) error { return w.pushReset() }),
		on("the hand control is turned from {axis} to the other main axis without being let go",
			"the same direction, with the enabling device pressed throughout", turnHand).needs(switched),
		on("the override key is turned", "the maintained key of the final limits",
			func(w *World, _ Words) error {
				if err := w.canAct("override_key_left_on", "station"); err != nil {
					return err
				}
				return w.act(record.Step, "override key turned", func(time.Duration) {
					w.station.Interlock.Panel.Override = true
				})
			}),
		on("the hand control of {axis} is held towards its {end} end without the enabling device "+
			"for {span}",
			"its lever alone", func(w *World, is Words) error {
				if err := w.canAct("enabling_released", "station"); err != nil {
					return err
				}
				w.windowAt = w.now()
				if err := w.hold(is.Axis, is.End); err != nil {
					return err
				}
				w.clock.Do(func() { w.station.Interlock.Panel.Enabling = false })
				w.await(is.Span, nil)
				w.clock.Do(w.letGo)
				w.await(2*time.Second, nil)
				return nil
			}).needs(lasts),
		on("{axis} is commanded to a position {angle} beyond its {end} software limit",
			"arms, waits for the horn and commands it; a refusal is an answer too", beyondLimit).
			needs(apart),
		ask("{axis} has not moved under hand control",
			"excursion of the axis while it was pushed by hand",
			question{Measure: "stayed", ID: "HR-123", pushed: true, requires: pushed()}),
		ask("{axis} has moved under hand control at no more than a tenth of its full rate",
			"greatest rate of the axis over a second",
			question{Measure: "sustained_rate", ID: "HR-124", window: 12 * time.Second,
				requires: both(pushed(), awayFromRemote)}),
		ask("{axis} has not moved outward at its pre-limit",
			"outward excursion of the axis while it was pushed by hand",
			question{Measure: "outward_at_pre_limit", ID: "HR-011", pushed: true, requires: pushed()}).
			needs(switched),
		ask("{axis} stays at rest without the torque of both motors",
			"excursion of the axis over 9 s from the last action on",
			question{Measure: "stayed", ID: "HR-128", window: beforeReset, requires: both(commanded,
				came("a drive without torque", record.Fault, "drive_torque_lost"))}),
		ask("{axis} stops as well", "time from the stop cause on the other axis to standstill",
			question{Measure: "stop_time", ID: "HR-125", until: rest, other: true}),
		ask("{axis} stays at rest after its position was refused",
			"excursion of the axis over 9 s from the last action on",
			question{Measure: "stayed", ID: "HR-121", window: beforeReset, requires: commanded}),
	}
}

// turnHand has a lever turned from one axis to the other while it is held.
func turnHand(w *World, is Words) error {
	other := plant.Elevation
	if is.Axis == other {
		other = plant.Azimuth
	}
	p := &w.station.Interlock.Panel
	if p.HandDirection == 0 || p.HandAxis != int(is.Axis) {
		return fmt.Errorf("nobody holds the hand control of %v", is.Axis)
	}
	return w.cause("hand_released", is.Axis.String(), "turned to "+other.Words(),
		func(time.Duration) { p.HandAxis = int(other) })
}

func beyondLimit(w *World, is Words) error {
	if err := w.ready(); err != nil {
		return err
	}
	if w.refused() {
		return errors.New("the controller has refused to arm")
	}
	lower, upper := w.software(is.Axis)
	target := lower - float64(is.Angle)
	if is.End == plant.Upper {
		target = upper + float64(is.Angle)
	}
	w.actedAt = w.now()
	return w.command("position", int(is.Axis), target)
}
