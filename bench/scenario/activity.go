package scenario

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// Activity is something that an axis may be doing when a stop cause comes.
type Activity struct {
	// Words say it in "azimuth is ... towards its upper end".
	Words  string
	Moving bool // past its standstill rate
	Fast   bool // at half its full rate or on the way there
	Torque bool // its motors have torque
	Hand   bool // under hand control; else the supervisory system has commanded it
	// Latched tells that an earlier cause is latched, which stays the first one.
	Latched bool
	Mode    interlock.Mode

	lacks func(plant.Axis, int) string // why an axis cannot do it towards an end; "" where it can
	place action
	begin action
}

// Activities are all of them, in the order of the stop matrix.
func Activities() []Activity {
	return slices.Concat(rested(), commandedActivities(), handled())
}

func rested() []Activity {
	return []Activity{
		{Words: "at rest and armed for motion", lacks: anyAxis, place: inMidTravel,
			begin: func(w *World, _ Words) error { return w.ready() }},
		{Words: "at rest while the horn sounds for motion", lacks: anyAxis, place: inMidTravel,
			begin: hornSounds},
		{Words: "having its brakes released for motion", Torque: true, lacks: braked,
			place: inMidTravel, begin: brakesOpen},
		{Words: "holding its position with torque after motion", Torque: true, lacks: anyAxis,
			place: inMidTravel, begin: holds},
	}
}

// commandedActivities are motions that the supervisory system has asked for, or the wind.
func commandedActivities() []Activity {
	moving := func(words string, fast bool, begin action) Activity {
		return Activity{Words: words, Moving: true, Fast: fast, Torque: true, lacks: anyAxis,
			place: inMidTravel, begin: begin}
	}
	at := func(share float64) action {
		return func(w *World, is Words) error { return w.turn(share, is.End, is.Axis) }
	}
	stow := moving("moving to its stow attitude", true, driveToStow)
	stow.lacks, stow.place = stowable, belowStow
	wind := moving("moving to its stow attitude out of the wind", true, blownToStow)
	wind.lacks, wind.place, wind.Latched = stowable, belowStow, true
	return []Activity{
		moving("accelerating to full rate", true, accelerates),
		moving("moving at full rate", true, at(1)),
		moving("moving at half rate", true, at(0.5)),
		moving("moving at a tenth of full rate", false, at(0.1)),
		moving("slowing down from full rate", false, slowsDown),
		moving("moving to a position", true, positioned),
		stow, wind,
	}
}

func handled() []Activity {
	by := func(words string, mode interlock.Mode) Activity {
		return Activity{Words: words, Moving: true, Torque: true, Hand: true, Mode: mode,
			lacks: anyAxis,
			place: func(w *World, is Words) error {
				w.mode, w.selected = mode, true
				return inMidTravel(w, is)
			},
			begin: func(w *World, is Words) error { return w.handle(is.Axis, is.End) }}
	}
	recovery := by("moving under hand control out of its final limit", interlock.Local)
	recovery.Latched = true
	recovery.lacks, recovery.place, recovery.begin = braked, beforeLimit, recovered
	opening := by("having its brakes released under hand control for motion", interlock.Local)
	opening.Moving, opening.lacks, opening.begin = false, braked, brakesOpenByHand
	return []Activity{
		opening,
		by("moving under hand control in local", interlock.Local),
		by("moving under hand control in maintenance", interlock.Maintenance),
		recovery,
	}
}

func anyAxis(plant.Axis, int) string { return "" }

func braked(a plant.Axis, _ int) string {
	if !a.Main() {
		return "a polarization axis has neither brakes nor limit switches"
	}
	return ""
}

// stowable is what can be stowed: elevation, from below.
func stowable(a plant.Axis, end int) string {
	switch {
	case a != plant.Elevation:
		return "elevation alone is stowed"
	case end != plant.Upper:
		return "the stow attitude is tried from below"
	}
	return ""
}

func inMidTravel(w *World, is Words) error {
	lower, upper := w.software(is.Axis)
	return w.place(is.Axis, (lower+upper)/2)
}

func belowStow(w *World, _ Words) error {
	lower, _ := w.software(plant.Elevation)
	return w.place(plant.Elevation, lower+10*degree)
}

const degree = math.Pi / 180

// beforeLimit has the limit chain behind an axis stand where the software limit does not
// guard it, so that it can be driven through its final limit.
func beforeLimit(w *World, is Words) error {
	behind := 1 - is.End
	lower, upper := w.software(is.Axis)
	position := lower + 24*degree
	if behind == plant.Upper {
		position = upper - 24*degree
	}
	if err := w.place(is.Axis, position); err != nil {
		return err
	}
	target := is.Axis.String() + "." + plant.EndNames[behind]
	if err := w.latent("limit_chain_shifted", target, "inward", "16 deg"); err != nil {
		return err
	}
	return w.latent("pre_limit_welded", target)
}

// hornSounds arms the controller and waits until its horn has sounded for a second.
func hornSounds(w *World, _ Words) error {
	if err := w.command("arm", -1, 0); err != nil {
		return err
	}
	if !w.await(startTime, func() bool { return w.level(channel.Horn) == 1 }) {
		return fmt.Errorf("the horn has not sounded within %v of arming", startTime)
	}
	w.await(time.Second, nil)
	return nil
}

func brakesOpen(w *World, is Words) error {
	if err := w.send(is.Axis, is.End, 1); err != nil {
		return err
	}
	return w.awaitOpen(is.Axis)
}

func brakesOpenByHand(w *World, is Words) error {
	if err := w.hold(is.Axis, is.End); err != nil {
		return err
	}
	return w.awaitOpen(is.Axis)
}

// awaitOpen waits until the first brake of an axis has let go.
func (w *World) awaitOpen(a plant.Axis) error {
	first, _ := a.Motors()
	set := channel.BrakeSet.Of(plant.MotorNames[first])
	if !w.await(w.readyTime(), func() bool { return w.level(set) == 0 }) {
		return fmt.Errorf("the brakes of %v have not been released within %v", a, w.readyTime())
	}
	return nil
}

func accelerates(w *World, is Words) error {
	if err := w.send(is.Axis, is.End, 1); err != nil {
		return err
	}
	return w.awaitRate(is.Axis, 0.3)
}

// slowsDown commands a tenth of the full rate to an axis at its full rate.
func slowsDown(w *World, is Words) error {
	if err := w.turn(1, is.End, is.Axis); err != nil {
		return err
	}
	if err := w.send(is.Axis, is.End, 0.1); err != nil {
		return err
	}
	full := float64(w.run.Station.FullRate[is.Axis])
	if !w.await(startTime, func() bool {
		return math.Abs(w.station.Plant.State().Rate[is.Axis]) < 0.7*full
	}) {
		return fmt.Errorf("%v has not slowed down within %v", is.Axis, startTime)
	}
	return nil
}

// toPosition commands a position some way towards an end, inside the software limits.
func (w *World) toPosition(is Words, way float64) error {
	if err := w.ready(); err != nil {
		return err
	}
	lower, upper := w.software(is.Axis)
	target := w.station.Plant.State().Position[is.Axis] + way*float64(2*is.End-1)
	w.ends[is.Axis] = is.End
	return w.command("position", int(is.Axis), min(max(target, lower+degree), upper-degree))
}

func positioned(w *World, is Words) error {
	if err := w.toPosition(is, 25*degree); err != nil {
		return err
	}
	return w.awaitRate(is.Axis, 0.9)
}

// holds has an axis go a little way and stay there.
func holds(w *World, is Words) error {
	if err := w.toPosition(is, 2*degree); err != nil {
		return err
	}
	if !w.await(travelTime, func() bool { return w.movedSince(is.Axis) && w.station.Still(is.Axis) }) {
		return fmt.Errorf("%v has not come to its position within %v", is.Axis, travelTime)
	}
	w.await(time.Second, nil)
	if !w.torqueOn(is.Axis, false) || !w.station.Still(is.Axis) {
		return fmt.Errorf("%v does not hold its position with torque", is.Axis)
	}
	return nil
}

func blownToStow(w *World, is Words) error {
	is.Wind, is.Speed = "gust", 2
	if err := w.windRises(is); err != nil {
		return err
	}
	full := float64(w.run.Station.FullRate[plant.Elevation])
	if !w.await(stowTime, func() bool {
		return math.Abs(w.station.Plant.State().Rate[plant.Elevation]) > 0.5*full
	}) {
		return fmt.Errorf("elevation has not moved out of the wind within %v", stowTime)
	}
	return nil
}

// recovered drives an axis through the final limit behind it and brings it back by hand, with
// the override key turned.
func recovered(w *World, is Words) error {
	out := is
	out.End, out.Share = 1-is.End, 1
	if err := sendThroughFinalLimit(w, out); err != nil {
		return err
	}
	if err := w.act(record.Step, "recovery by hand", func(time.Duration) {
		w.station.Interlock.Panel.Mode = interlock.Local
		w.station.Interlock.Panel.Override = true
	}); err != nil {
		return err
	}
	return w.handle(is.Axis, is.End)
}

// activityWords are what a sentence may call an activity.
func activityWords() []string {
	var all []string
	for _, a := range Activities() {
		all = append(all, a.Words)
	}
	return all
}

// activity finds an activity by its words.
func activity(words string) *Activity {
	for _, a := range Activities() {
		if a.Words == words {
			return &a
		}
	}
	panic("scenario: no activity " + strconv.Quote(words))
}

// doings are the sentences of activities.
func doings() []*Phrase {
	return []*Phrase{
		given("everything is prepared for {axis} {activity} towards its {end} end",
			"places the axis, and sets the mode selector and the limit chain as that needs",
			func(w *World, is Words) error { return activity(is.Activity).place(w, is) }).needs(doable),
		on("{axis} is {activity} towards its {end} end",
			"begins that by commands or by hand, and waits until it is so",
			func(w *World, is Words) error {
				w.doing = activity(is.Activity)
				w.ends[is.Axis] = is.End
				return w.doing.begin(w, is)
			}).needs(doable),
	}
}

// doable holds a phrase to what its axis can do.
func doable(is Words) error {
	if why := activity(is.Activity).lacks(is.Axis, is.End); why != "" {
		return fmt.Errorf("%s cannot be %s towards its %s end: %s", is.Axis.Words(), is.Activity,
			plant.EndNames[is.End], why)
	}
	return nil
}
