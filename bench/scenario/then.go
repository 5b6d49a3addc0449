package scenario

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// thens wait, within bounds, until what they measure can have happened, and ask
// for it. They never act, and they never judge.
func thens() []*Phrase {
	return append(append(rests(), gone()...), told()...)
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
	Cause   string // "" where the phrase is about whatever stop cause came last
	Item    string
	until   wait
	window  time.Duration // measures over a window from the sentence on
	every   bool          // about every axis, not the one named
	limit   func(Words) (float64, bool)
}

// wait tells when a measure can be taken.
type wait int

const (
	nothing   wait = iota
	rest           // standstill of the axis
	brakes         // every brake of the axis set
	torqueOff      // no motor of the axis, or of any axis, has torque
	reported       // the management side was told
)

func rests() []*Phrase {
	return []*Phrase{
		ask("{axis} comes to rest inside its {end} software limit",
			"farthest outward position from standstill on, against the software limit",
			question{Measure: "rest_inside", Item: "software", until: rest}),
		ask("{axis} comes to rest between its {end} pre-limit and its {end} final limit",
			"peak travel beyond the place at which the pre-limit opened",
			question{Measure: "overtravel", Item: "pre_limit", Cause: "pre_limit", until: rest}),
		ask("{axis} comes to rest between its {end} final limit and its {end} buffer",
			"peak travel beyond the place at which the final limit opened",
			question{Measure: "overtravel", Item: "final_limit", Cause: "final_limit", until: rest}),
		ask("{axis} comes to rest inside its {end} structure",
			"peak travel beyond the touch of the buffer, against its stroke",
			question{Measure: "overtravel", Item: "buffer", until: rest}),
		ask("{axis} stops within its category 2 travel of the pre-limit opening",
			"peak excursion from the position at which the pre-limit opened",
			question{Measure: "stop_travel", Cause: "pre_limit", until: rest}),
		ask("{axis} stops within its category 1 time and travel",
			"time and peak excursion from the stop cause to standstill",
			question{Measure: "stop_time", until: rest}, question{Measure: "stop_travel", until: rest}),
		ask("{axis} stops within its category 1 time",
			"time from the stop cause, its supervision time apart, to standstill",
			question{Measure: "stop_time", until: rest}),
		ask("{axis} stops within its category 0 travel",
			"peak excursion from the stop cause, its supervision time apart",
			question{Measure: "stop_travel", until: rest}),
		ask("{axis} stops within its travel from pre-limit to final limit",
			"peak excursion from the start of its motion",
			question{Measure: "stop_travel", until: rest}),
		ask("{axis} stays where it is", "excursion of the axis over 12 s from now on",
			question{Measure: "stayed", until: nothing, window: 12 * time.Second}),
		ask("{axis} has moved inward at no more than a tenth of its full rate",
			"outward excursion and peak rate while it was pushed",
			question{Measure: "inward_only"}, question{Measure: "inward_rate"}),
		ask("{axis} moves after the horn has sounded", "length of the horn before motion begins",
			question{Measure: "horn_before_motion", window: 3 * time.Second}),
		ask("the reset is refused", "changes of state, relay closures and motion from the reset on",
			question{Measure: "refused", window: 2 * time.Second}),
	}
}

func gone() []*Phrase {
	return []*Phrase{
		ask("the torque of {axis} is gone within its time of the final limit opening",
			"time from the final limit opening to the last torque of the axis",
			question{Measure: "torque_gone", Cause: "final_limit", until: torqueOff}),
		ask("the torque of {axis} is gone in time",
			"time from the stop cause, its supervision time apart, to the last torque of the axis",
			question{Measure: "torque_gone", until: torqueOff}),
		ask("the torque of every axis is gone within the monitored ramp time",
			"time from the stop cause, its supervision time apart, to the last torque of any axis",
			question{Measure: "torque_gone", until: torqueOff, every: true}),
		ask("the torque of every axis stays off", "time with torque on any axis over 12 s from now on",
			question{Measure: "torque_stays_off", window: 12 * time.Second, every: true}),
		ask("the brakes of {axis} are set within their brake time of the final limit opening",
			"time from the final limit opening to the last brake of the axis",
			question{Measure: "brake_time", Cause: "final_limit", until: brakes}),
		ask("the brakes of {axis} are set within their brake time",
			"time to the last brake: from the cause for category 0, from standstill or the end "+
				"of the monitored ramp for category 1",
			question{Measure: "brake_time", until: brakes}),
		ask("its partner is off within the partner time",
			"time from the trip to the end of its partner's torque",
			question{Measure: "partner_off", Cause: "drive_trip", until: torqueOff}),
		ask("the interlock unit flags the channel discrepancy",
			"time from the stop to the flag",
			question{Measure: "flag_time", Item: "interlock.discrepancy", window: time.Second}),
	}
}

func told() []*Phrase {
	var all []*Phrase
	for _, c := range []struct{ words, cause string }{
		{"pre-limit", "pre_limit"},
		{"final limit", "final_limit"},
		{"emergency stop", "emergency_stop"},
		{"opened access", "access_opened"},
		{"turned mode selector", "mode_changed"},
		{"lost encoder", "encoder_lost"},
		{"doubted encoder", "encoder_doubted"},
		{"tripped drive", "drive_trip"},
		{"silent drive", "drive_silent"},
	} {
		all = append(all, ask("the management side is told of the "+c.words+" within {span}",
			"time from the cause, its supervision time apart, to the first report that names it",
			question{Measure: "report_time", Cause: c.cause, until: reported,
				limit: func(is Words) (float64, bool) { return is.Span.Seconds(), true }}))
	}
	return all
}

// inquire waits for what the questions need and takes them down.
func (w *World) inquire(asks []question, is Words) error {
	for _, q := range asks {
		w.settle(q, is)
		w.take(q, is)
	}
	return nil
}

// settle waits, within bounds; what has not happened by then is for the measure
// to say.
func (w *World) settle(q question, is Words) {
	switch q.until {
	case rest:
		w.await(restTime, func() bool { return w.station.Still(is.Axis) && w.movedSince(is.Axis) })
	case brakes:
		w.await(restTime, func() bool { return w.brakesSet(is.Axis) })
	case torqueOff:
		w.await(restTime, func() bool { return !w.torqueOn(is.Axis, q.every) })
	case reported:
		w.await(reportTime, func() bool { return w.told(q.Cause) })
	}
	if q.window > 0 {
		w.await(q.window, nil)
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
	if q.window > 0 {
		a.From, a.Until = w.sentenceAt, w.now()
	}
	w.fillIn(&a, q, is)
	w.recorder.Ask(a)
}

func hasEnd(measure string) bool {
	switch measure {
	case "rest_inside", "overtravel", "inward_only", "inward_rate":
		return true
	}
	return false
}
