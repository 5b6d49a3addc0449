package scenario

import (
	"errors"
	"slices"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// thens wait, within bounds, until what they measure can have happened, and ask
// for it. They never act, and they never judge.
func thens() []*Phrase {
	return slices.Concat(rests(), stills(), gone(), told())
}

// ask makes a phrase that asks for one measure about one cause.
func ask(pattern, about string, asks ...question) *Phrase {
	return &Phrase{Keyword: Then, Pattern: pattern, About: about, Asks: asks,
		Does: func(w *World, is Words) error { return w.inquire(asks, is) }}
}

// question is a measure that a sentence asks for, and what must have happened
// before it can be taken.
type question struct {
	Measure string
	ID      string // the requirement, where the measure and the cause do not tell it
	Cause   string // "" where the phrase is about whatever stop cause came last
	Item    string
	until   wait
	window  time.Duration // measures over a window from the last When on
	pushed  bool          // measures while the hand control was last pushed
	every   bool          // about every axis, not the one named
	// regardless of a stop that was under way when the cause came.
	regardless bool
	other      bool // about an axis that is not that of the cause
	limit      func(Words) (float64, bool)
	requires   precondition // what must have come beside the cause; nil is nothing
	// occasion makes it a question that is asked only where it holds, and only after a stop
	// cause that has a requirement for it; nil asks always.
	occasion func(*World, Words) bool
}

// wait tells when a measure can be taken.
type wait int

const (
	nothing   wait = iota
	rest           // standstill of the axis
	brakes         // every brake of the axis set
	torqueOff      // no motor of the axis, or of any axis, has torque
	reported       // the supervisory system was told
	stowed         // the antenna has gone to its stow attitude by itself
	away           // the axis has left standstill
)

func rests() []*Phrase {
	return []*Phrase{
		ask("{axis} comes to rest inside its {end} software limit",
			"farthest outward position from standstill on, against the software limit",
			question{Measure: "rest_inside", ID: "HR-001", until: rest, requires: sentThere}).
			needs(switched),
		ask("{axis} comes to rest between its {end} pre-limit and its {end} final limit",
			"peak travel beyond the place at which the pre-limit opened",
			question{Measure: "overtravel", ID: "HR-002", until: rest}).needs(switched),
		ask("{axis} comes to rest between its {end} final limit and its {end} buffer",
			"peak travel beyond the place at which the final limit opened",
			question{Measure: "overtravel", ID: "HR-007", until: rest}).needs(switched),
		ask("{axis} comes to rest inside its {end} hard stop",
			"peak travel beyond the touch of the buffer, against its stroke",
			question{Measure: "overtravel", ID: "HR-009", until: rest}).needs(switched),
		ask("{axis} stops within its category 2 travel after its pre-limit opens",
			"peak excursion from the position at which the pre-limit opened",
			question{Measure: "stop_travel", Cause: "pre_limit", until: rest}).needs(switched),
		ask("{axis} stops within its category 1 time and travel",
			"time and peak excursion from the stop cause to standstill",
			question{Measure: "stop_time", until: rest, requires: category(1)},
			question{Measure: "stop_travel", until: rest, requires: category(1)}),
		ask("{axis} stops within its category 1 time",
			"time from the stop cause, excluding the supervision time, to standstill",
			question{Measure: "stop_time", until: rest, requires: category(1)}),
		ask("{axis} stops within its category 0 travel",
			"peak excursion from the stop cause, excluding the supervision time",
			question{Measure: "stop_travel", until: rest, requires: category(0)}),
		ask("{axis} stops within a travel no longer than the distance from its pre-limit to its final "+
			"limit",
			"peak excursion from the start of its motion",
			question{Measure: "move_travel", ID: "HR-046", until: rest, requires: countsBackwards}).
			needs(switched),
		ask("{axis} moves no further than the distance from its pre-limit to its final limit",
			"peak excursion from the start of its motion, against the distance from pre-limit to "+
				"final limit",
			question{Measure: "move_travel", ID: "HR-047", until: rest, requires: countsBackwards}).
			needs(switched),
		ask("{axis} stops within its category 2 travel",
			"peak excursion from the stop cause to standstill",
			question{Measure: "stop_travel", until: rest, requires: category(2)}).needs(switched),
	}
}

// stills are of what does not move, or not as it should not.
func stills() []*Phrase {
	return []*Phrase{
		stays("{axis} stays at rest while the emergency stop is pressed", "HR-025", commanded),
		stays("{axis} stays at rest despite the remote command", "HR-032",
			both(awayFromRemote, commanded)),
		ask("{axis} stays at rest after the reset",
			"excursion of the axis over 16 s from the last action on",
			question{Measure: "reset_motion", ID: "HR-030", window: 16 * time.Second,
				requires: both(setInMotion, both(resetNow, chainClosed))}),
		stays("{axis} stays at rest after the controller has restarted", "HR-060",
			both(setInMotion, came("a controller that comes back", record.Release, controllerBack))),
		stays("{axis} stays at rest after the supply has returned", "HR-093",
			both(setInMotion, came("a supply that comes back", record.Release, "supply"))),
		ask("{axis} has not moved without the override key",
			"excursion of the axis while it was pushed by hand",
			question{Measure: "stayed", ID: "HR-015", pushed: true, requires: pushed()}),
		ask("{axis} has not moved outward", "outward excursion while it was pushed by hand",
			question{Measure: "inward_only", ID: "HR-016", pushed: true, requires: pushed()}),
		ask("{axis} has moved inward at no more than a tenth of its full rate",
			"outward excursion and peak rate while it was pushed",
			question{Measure: "inward_only", ID: "HR-016", pushed: true},
			question{Measure: "inward_rate", ID: "HR-017", pushed: true}),
		ask("{axis} moves only after the horn has sounded", "length of the horn before motion begins",
			question{Measure: "horn_before_motion", ID: "HR-031", window: 12 * time.Second}),
		ask("{axis} sets out within its start time",
			"time from the command, after a stop and its reset, until the axis leaves standstill",
			question{Measure: "set_out", ID: "HR-100", until: away,
				requires: came("a reset", record.Command, "reset")}),
		ask("the reset is refused", "changes of state, relay closures and motion from the reset on",
			question{Measure: "refused", ID: "HR-028", window: 2 * time.Second,
				requires: both(stopLatches, resetNow)}),
	}
}

// stays makes a phrase that watches an axis at rest for longer than the horn.
func stays(pattern, id string, about precondition) *Phrase {
	return ask(pattern, "excursion of the axis over 16 s from the last action on",
		question{Measure: "stayed", ID: id, window: 16 * time.Second, requires: about})
}

// keeps makes a phrase that watches an axis that is to stay under torque.
func keeps(pattern, id string, about precondition) *Phrase {
	return ask(pattern, "time without torque on a motor of the axis over 6 s from the last action on",
		question{Measure: "torque_stays_on", ID: id, window: 6 * time.Second, requires: about})
}

// keepsRate makes a phrase that watches an axis that is to go on as it does.
func keepsRate(pattern, id string, about precondition) *Phrase {
	return ask(pattern, "greatest loss of rate of the axis over 6 s from the last action on",
		question{Measure: "rate_lost", ID: id, window: 6 * time.Second, requires: about})
}

func gone() []*Phrase {
	return []*Phrase{
		ask("the torque of {axis} is removed within its torque-off time after its final limit opens",
			"time from the final limit opening to the last torque of the axis",
			question{Measure: "torque_gone", Cause: "final_limit", until: torqueOff}).needs(switched),
		ask("the torque of {axis} is removed within its torque-off time",
			"time from the stop cause, excluding the supervision time, to the last torque of the axis",
			question{Measure: "torque_gone", until: torqueOff}),
		ask("the torque of every axis is removed by the end of the monitored ramp time",
			"time from the stop cause, excluding the supervision time, to the last torque of any axis",
			question{Measure: "torque_gone", until: torqueOff, every: true}),
		ask("the torque of every axis stays off",
			"time with torque on any axis over 16 s from the last action on",
			question{Measure: "torque_stays_off", ID: "HR-026", window: 16 * time.Second,
				every: true, requires: anyCommanded}),
		ask("{axis} receives no torque while an access is open",
			"time with torque on the axis over 16 s from the last action on",
			question{Measure: "torque_stays_off", ID: "HR-029", window: 16 * time.Second,
				requires: both(accessOpen, commanded)}),
		ask("{axis} receives no torque while its stow pin is inserted",
			"time with torque on the axis over 16 s from the last action on",
			question{Measure: "torque_stays_off", ID: "HR-039", window: 16 * time.Second,
				requires: both(pinIn, commanded)}).
			needs(switched),
		ask("the brakes of {axis} are set within their brake time after its final limit opens",
			"time from the final limit opening to the last brake of the axis",
			question{Measure: "brake_time", Cause: "final_limit", until: brakes}).needs(switched),
		ask("the brakes of {axis} are set within their brake time",
			"time to the last brake: from the cause for category 0, from standstill or the end "+
				"of the monitored ramp for category 1",
			question{Measure: "brake_time", until: brakes}).needs(switched),
		keeps("{axis} keeps its torque and stays ready to move", "HR-013", nil),
		keepsRate("{axis} keeps its commanded rate", "HR-087",
			came("a silent supervisory system", record.Step, managementSilent)),
		keepsRate("{axis} keeps moving undisturbed", "HR-088", came("a fault", record.Fault)),
		keeps("{axis} keeps its torque until both brakes are reported set", "HR-077",
			both(came("a brake feedback that is stuck", record.Fault, "brake_feedback_stuck"),
				came("a rest that is commanded", record.Command, "rest"))),
		ask("the torque of its partner is removed within the torque-off time of a partner",
			"time from the trip to the end of its partner's torque",
			question{Measure: "partner_off", ID: "HR-050", until: torqueOff, every: true}),
		ask("the interlock unit flags the channel discrepancy",
			"time from the stop to the flag",
			question{Measure: "flag_time", ID: "HR-027", window: time.Second, every: true,
				requires: came("a channel that stays closed", record.Fault, "emergency_stop_welded",
					"emergency_stop_one_channel")}),
	}
}

// told has a phrase for each stop cause whose report a requirement is about.
func told() []*Phrase {
	var all []*Phrase
	for _, c := range config.ReportedCauses() {
		all = append(all, ask("the "+c.Words+" is reported to the supervisory system within {span}",
			"time from the cause, excluding the supervision time, to the first report that names it",
			question{Measure: "report_time", Cause: c.Name, until: reported, every: true,
				limit: func(is Words) (float64, bool) { return is.Span.Seconds(), true }}).
			needs(lasts))
	}
	return all
}

// inquire waits for what the questions need and takes them down.
func (w *World) inquire(asks []question, is Words) error {
	for _, q := range asks {
		if _, ok := w.run.requirement(q, w.lastCause); !ok {
			return errors.New("no stop cause that this is about occurred")
		}
		w.settle(q, is)
		if err := w.concerns(q, is); err != nil {
			return err
		}
		w.take(q, is)
	}
	return nil
}

// settle waits, within bounds; what has not happened by then is for the measure
// to say.
func (w *World) settle(q question, is Words) {
	switch q.until {
	case rest:
		w.await(restTime, func() bool { return w.station.Still(is.Axis) && w.hasMoved(is.Axis) })
	case brakes:
		w.await(restTime, func() bool { return w.brakesSet(is.Axis) })
	case torqueOff:
		w.await(restTime, func() bool { return !w.torqueOn(is.Axis, q.every) })
	case away:
		w.await(w.readyTime(), func() bool { return !w.station.Still(is.Axis) })
	case stowed:
		w.awaitStowed(w.lastCause)
	case reported:
		w.await(reportTime, func() bool { return w.told(q.Cause) })
	}
	if left := w.actedAt + w.window(&q) - w.now(); q.window > 0 && left > 0 {
		w.await(left, nil)
	}
}

// take writes the ask down: what to measure, about which cause, from when on.
func (w *World) take(q question, is Words) {
	a := record.Ask{At: w.now(), Item: q.Item, Cause: q.Cause, Text: w.sentence}
	if !q.every {
		a.Axis = is.Axis.String()
	}
	if hasEnd(q.Measure) {
		a.End = plant.EndNames[w.endOf(is)]
	}
	w.fillIn(&a, q, is)
	w.recorder.Ask(a)
}

func hasEnd(measure string) bool {
	switch measure {
	case "rest_inside", "overtravel", "inward_only", "inward_rate", "outward_at_pre_limit":
		return true
	}
	return false
}
