package station

import (
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// pins is how the stow pins stood at the last step, for whoever wants to be told.
type pins struct {
	asked [plant.MainAxes]bool
	told  [plant.MainAxes]pinLevels
}

// pinLevels is a pin as the record has it.
type pinLevels struct {
	in      bool // its hole, and holds
	missed  bool // driven in while the axis moves or beside the hole
	sheared bool
}

func levelsOf(is plant.PinState) pinLevels { return pinLevels{is.In, is.Missed, is.Sheared} }

// watchPins tells what the pins did in the last step. Where none is asked for, or
// was, it costs a comparison.
func (s *Station) watchPins(now time.Duration) {
	p, none := &s.pins, [plant.MainAxes]bool{}
	if s.in.Pin == none && p.asked == none && !p.told[0].stands() && !p.told[1].stands() {
		return
	}
	p.asked = s.in.Pin
	for axis := range plant.Axis(plant.MainAxes) {
		level, was := levelsOf(s.Plant.Pin(axis)), p.told[axis]
		if level == was {
			continue
		}
		p.told[axis] = level
		if s.watch != nil {
			s.watch.pin(axis, level, was, now)
		}
	}
}

// stands tells that a pin is elsewhere than drawn out.
func (l pinLevels) stands() bool { return l.in || l.missed }

// pin writes what changed. A pin that is driven in against a load in motion is a
// misuse, and one that shears is lost: both are marked.
func (w *watch) pin(axis plant.Axis, is, was pinLevels, now time.Duration) {
	name := axis.String()
	edge := func(what channel.Quantity, is, was bool) bool {
		if is != was {
			w.to.Edge(now, what.Of(name), bit(is))
		}
		return is && !was
	}
	edge(channel.PinIn, is.in, was.in)
	if edge(channel.PinMissed, is.missed, was.missed) {
		w.to.Mark(now, record.Fault, "pin_missed", name, "driven in while it moves or beside its hole")
	}
	if edge(channel.PinSheared, is.sheared, was.sheared) {
		w.to.Mark(now, record.Fault, "pin_sheared", name, "")
	}
}

func bit(on bool) int64 {
	if on {
		return 1
	}
	return 0
}
