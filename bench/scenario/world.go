package scenario

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/clock"
	"haltmark/bench/controller"
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/station"
	"haltmark/emulators/interlock"
)

// World is one run of one example: the station, its sky one day, the controller
// and the supervisory system, on one clock.
type World struct {
	run   *Run
	clock clock.Clock
	net   link.Network
	tags  []string

	// What the Givens set.
	position [plant.AxisCount]float64
	placed   [plant.AxisCount]bool
	reversed []reversal
	mode     interlock.Mode
	selected bool // the mode, by a Given
	stowed   bool // it went to its stow attitude
	plan     []fault.Entry

	// What the first When built.
	built     bool
	recorder  *record.Recorder
	lost      []fault.ID // supplies
	undo      []func()   // puts right what sentences have broken, opened or pressed
	absent    bool       // the controller
	station   *station.Station
	listeners []link.Listener
	observer  *controller.Observer
	control   controller.Controller

	// What the sentences so far left behind.
	sentence       string
	actedAt        time.Duration // when the last When began
	windowAt       time.Duration
	lastCause      string
	subject        plant.Axis    // of the last sentence about a state
	orderedAt      time.Duration // when it was commanded
	doing          *Activity     // that a sentence has begun; nil for none
	ends           [plant.AxisCount]int
	answer         controller.Report
	stopController bool
	panicked       *Panic
}

// begin builds the world, unless it stands already: station, network, management
// side, then the controller, then a reset of the relay by hand.
func (w *World) begin() error {
	if w.built {
		return nil
	}
	w.built = true
	w.recorder = record.NewRecorder(w.run.channels(), w.run.Raw)
	w.recorder.Use(w.run.Pool)
	if err := w.assemble(); err != nil {
		return err
	}
	if err := w.observe(); err != nil {
		return err
	}
	if err := w.startController(); err != nil {
		return err
	}
	err := w.closeChain()
	w.actedAt = w.now() // what came before was no part of the sentence
	return err
}

func (w *World) assemble() error {
	w.placeOthers()
	var err error
	w.station, err = station.New(*w.run.Station, station.Options{
		Step: w.run.Step, Position: w.position, Seed: w.run.Seed, Faults: w.plan,
		Recorder: w.recorder,
	})
	if err != nil {
		return err
	}
	if w.run.Books {
		w.station.Plant.OpenBooks()
	}
	w.station.Interlock.Panel.Mode = w.mode
	for _, r := range w.reversed {
		w.markReversed(r)
	}
	w.clock.Do(func() { w.listeners, err = w.station.Serve(w.net) })
	if err != nil {
		return err
	}
	w.control = w.run.Control(w.clock, w.net, w.station.Seats())
	return nil
}

// placeOthers puts the axes of which no Given tells into mid-travel.
func (w *World) placeOthers() {
	for a := range plant.AxisCount {
		if !w.placed[a] {
			lower, upper := w.software(plant.Axis(a))
			w.position[a] = (lower + upper) / 2
		}
		w.ends[a] = w.nearerEnd(plant.Axis(a))
	}
}

// reversal is what tells its motion with the wrong sign: the encoder of an axis, or one
// of its motors.
type reversal struct {
	axis  plant.Axis
	motor int // of the station; -1 for the encoder
}

// markReversed marks the doubt about what counts backwards at the step at which it
// first differs from the (other) motor by the rate of the supervision row.
func (w *World) markReversed(r reversal) {
	limit, _, _ := w.run.Rules.Limits("disagreement.rate")
	first, _ := r.axis.Motors()
	cause, what := "encoder_implausible", "counts backwards"
	told := func(state *plant.State) float64 { return -state.Rate[r.axis] }
	if r.motor >= 0 {
		cause, what = "uncontrolled_motion", plant.MotorNames[r.motor]
		told = func(state *plant.State) float64 { return -state.MotorRate[r.motor] }
		if r.motor == first {
			first++
		}
	}
	w.station.When(func() bool {
		state := w.station.Plant.State()
		return math.Abs(told(state)-state.MotorRate[first]) > limit
	}, func(now time.Duration) {
		w.recorder.Mark(now, record.Cause, cause, r.axis.String(), what)
	})
}

// observe starts the supervisory system and lets it write what it is told.
func (w *World) observe() error {
	var err error
	w.observer, err = controller.NewObserver(w.clock, w.net, w.run.Profile)
	if err != nil {
		return err
	}
	last := controller.Cause{}
	state := controller.StateUnknown
	w.observer.OnChange(func(c controller.Change) {
		if c.Status.State != state {
			state = c.Status.State
			w.recorder.Edge(c.At, channel.ControllerState, int64(state))
		}
		if c.Status.Cause == last {
			return
		}
		last = c.Status.Cause
		w.recorder.Edge(c.At, channel.ControllerCause, int64(last.Number))
		if last.Number > 0 {
			axis := ""
			if c.Status.CauseAxis >= 0 {
				axis = plant.AxisNames[c.Status.CauseAxis]
			}
			w.recorder.Mark(c.At, record.Report, last.Name, axis, c.Source.String())
		}
	})
	w.recorder.Edge(0, channel.ControllerState, int64(controller.StateUnknown))
	w.recorder.Edge(0, channel.ControllerCause, 0)
	return w.observer.Start()
}

func (w *World) startController() error {
	if err := w.control.Start(); err != nil {
		return fmt.Errorf("the controller does not start: %w", err)
	}
	if !w.await(w.readyTime(), func() bool { return w.observer.Status().Heard }) {
		return fmt.Errorf("the controller's agent has not answered within %v", w.readyTime())
	}
	return nil
}

// closeChain has the relay reset by hand, as after every power-up. A button pushed
// while a stop still runs resets nothing, so it is pushed again.
func (w *World) closeChain() error {
	w.await(300*time.Millisecond, nil)
	for range 8 {
		if err := w.pushReset(); err != nil {
			return err
		}
		u := w.station.Interlock
		if w.await(500*time.Millisecond, func() bool {
			return u.InstantContact && u.DelayedContact
		}) {
			w.await(500*time.Millisecond, nil)
			return nil
		}
	}
	return errors.New("the stop chain does not close")
}

// restartController brings a stopped controller back, and resets the relay as a
// person would who finds it open.
func (w *World) restartController() error {
	w.clock.Do(func() { w.recorder.Mark(w.now(), record.Release, controllerBack, "", "") })
	w.absent = false
	if err := w.startController(); err != nil {
		return err
	}
	return w.closeChain()
}

// command gives a command from the supervisory system and waits for what became of
// it. A refusal is an answer, and no error.
func (w *World) command(verb string, axis int, value float64) error {
	if err := w.begin(); err != nil {
		return err
	}
	v, err := controller.ParseVerb(verb)
	if err != nil {
		return err
	}
	name := ""
	if axis >= 0 {
		name = plant.AxisNames[axis]
	}
	w.clock.Do(func() { w.recorder.Mark(w.clock.Now(), record.Command, verb, name, "") })
	order := w.observer.Command(v, axis, value)
	if !w.await(3*time.Second, order.Done) {
		return fmt.Errorf("the controller has not answered the command %s", verb)
	}
	w.answer = order.Report()
	if w.answer.Outcome == controller.Failed {
		return fmt.Errorf("the command %s: %s", verb, w.answer.Reason)
	}
	return nil
}

// refused reports whether the last command was refused.
func (w *World) refused() bool { return w.answer.Outcome == controller.Refused }

// armed reports whether the controller says that it takes a motion command.
func (w *World) armed() bool { return w.observer.Status().Armed }

// phaseSpan is how much later a cause strikes at this run's phase.
func (w *World) phaseSpan() time.Duration {
	return time.Duration(w.run.Phase * float64(w.run.Cycle))
}

// close ends the world; the record keeps what it had.
func (w *World) close() error {
	if !w.built {
		return nil
	}
	if w.station != nil {
		w.await(tailTime+w.run.Station.Interlock.SS1Time, nil)
		w.station.Advance(w.clock.Now()) // nobody else may be left to look at it
	}
	var errs []error
	if w.control != nil {
		errs = append(errs, w.control.Stop())
	}
	if w.observer != nil {
		errs = append(errs, w.observer.Close())
	}
	for _, l := range w.listeners {
		errs = append(errs, l.Close())
	}
	return errors.Join(append(errs, w.recorder.Flush())...)
}
