package scenario

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// Bounds of what a sentence waits for. They are wide: a limit that is missed is
// a verdict's matter, one of these is a run that came to nothing.
const (
	startTime  = 7 * time.Second // relay, arming and torque, the horn apart
	travelTime = 90 * time.Second
	restTime   = 30 * time.Second
	reportTime = 4 * time.Second
	// leadTime lets a rate settle before a cause strikes.
	leadTime = 300 * time.Millisecond
	// tailTime is how long the world runs on, so that a cause near the end is
	// seen through.
	tailTime = 1500 * time.Millisecond
)

// software gives the software limits of an axis, rad.
func (w *World) software(a plant.Axis) (lower, upper float64) {
	limits := w.run.Station.Plant.Axes[a].Limits.Software
	if !a.Main() {
		limits = w.run.Station.Plant.Axes[a].Travel
	}
	return float64(limits[0]), float64(limits[1])
}

// place puts an axis somewhere, before the world is built. The phase moves it by
// what the full rate covers in its share of a control cycle, so that a switch is
// met at every part of the cycle.
func (w *World) place(a plant.Axis, position float64) error {
	if w.placed[a] {
		return fmt.Errorf("%v rests somewhere already; one place is enough", a)
	}
	lower, upper := w.software(a)
	if position < lower || position > upper {
		return fmt.Errorf("%v cannot rest at %.2f deg, outside its travel", a,
			position*180/math.Pi)
	}
	shift := float64(w.run.Station.FullRate[a]) * w.phaseSpan().Seconds()
	if position > (lower+upper)/2 {
		shift = -shift
	}
	w.position[a], w.placed[a] = position+shift, true
	return nil
}

func (w *World) nearerEnd(a plant.Axis) int {
	lower, upper := w.software(a)
	if w.position[a] < (lower+upper)/2 {
		return plant.Lower
	}
	return plant.Upper
}

// horn is how long this station's horn sounds.
func (w *World) horn() time.Duration {
	si, _, _ := w.run.Rules.Limits("controller.horn")
	return time.Duration(si * float64(time.Second))
}

// readyTime bounds how long arming, or a start, may take.
func (w *World) readyTime() time.Duration { return startTime + w.horn() }

// usualHorn is what the windows of the questions have room for.
const usualHorn = 5 * time.Second

// window is how long a question looks on, which must outlast the horn.
func (w *World) window(q *question) time.Duration {
	return q.window + max(0, w.horn()-usualHorn)
}

// ready brings the controller to where it takes a motion command: relay closed,
// armed, horn over. A controller that refuses to arm is left as it is.
func (w *World) ready() error {
	if w.armed() {
		return nil
	}
	if err := w.command("arm", -1, 0); err != nil {
		return err
	}
	if w.refused() {
		return nil
	}
	if !w.await(w.readyTime(), w.armed) {
		return errors.New("the controller has not armed")
	}
	return nil
}

// send commands a share of the full rate towards an end.
func (w *World) send(a plant.Axis, end int, share float64) error {
	if err := w.ready(); err != nil {
		return err
	}
	rate := share * float64(w.run.Station.FullRate[a])
	if end == plant.Lower {
		rate = -rate
	}
	w.ends[a] = end
	return w.command("rate", int(a), rate)
}

// turn sends axes off and waits until they have their rate.
func (w *World) turn(share float64, end int, axes ...plant.Axis) error {
	for _, a := range axes {
		if err := w.send(a, end, share); err != nil {
			return err
		}
	}
	for _, a := range axes {
		if err := w.awaitRate(a, 0.98*share); err != nil {
			return err
		}
	}
	return w.awaitSteady(share, axes...)
}

// A rate that has settled is off its commanded share by no more than this and a part of the
// share: more than what wind and droop do to it, less than the swing when the brakes open.
const (
	unsteady     = 0.04 // of the full rate
	unsteadyPart = 0.15 // of the share
)

// awaitSteady waits until axes have kept their rate for as long as it takes to settle.
func (w *World) awaitSteady(share float64, axes ...plant.Axis) error {
	since := w.now()
	if w.await(w.readyTime(), func() bool {
		for _, a := range axes {
			rate := math.Abs(w.station.Plant.State().Rate[a]) / float64(w.run.Station.FullRate[a])
			if math.Abs(rate-share) > unsteady+unsteadyPart*share {
				since = w.now()
			}
		}
		return w.now()-since >= leadTime
	}) {
		return nil
	}
	return fmt.Errorf("%v has not kept a steady rate within %v", axes[0], w.readyTime())
}

// awaitRate waits until an axis turns at that share of its full rate.
func (w *World) awaitRate(a plant.Axis, share float64) error {
	full := float64(w.run.Station.FullRate[a])
	if w.await(w.readyTime(), func() bool {
		return math.Abs(w.station.Plant.State().Rate[a]) >= share*full
	}) {
		return nil
	}
	return fmt.Errorf("%v has not reached %.0f %% of its full rate within %v", a, share*100,
		w.readyTime())
}

func (w *World) awaitStop(a plant.Axis) error {
	if w.await(travelTime, func() bool { return w.station.Still(a) && w.movedSince(a) }) {
		return nil
	}
	return fmt.Errorf("%v has not come to a stop within %v", a, travelTime)
}

func (w *World) awaitRest(a plant.Axis) error {
	if !w.await(travelTime, func() bool { return w.station.Still(a) && !w.torqueOn(a, false) }) {
		return fmt.Errorf("%v has not come to rest with its torque off within %v", a, travelTime)
	}
	w.ringDown(a)
	return nil
}

// ringDown waits until the load has stopped swinging on the gear.
func (w *World) ringDown(a plant.Axis) {
	calm := float64(w.run.Station.Standstill[a].Rate) / 4
	for range 40 {
		if !w.await(400*time.Millisecond, func() bool {
			return math.Abs(w.station.Plant.State().Rate[a]) > calm
		}) {
			return
		}
		w.await(100*time.Millisecond, nil)
	}
}

// cause has something done at an exact plant step, shifted by the phase, and
// marks it as the stop cause it is.
func (w *World) cause(name, axis, text string, do func(time.Duration)) error {
	return w.atStep(func(now time.Duration) {
		do(now)
		w.recorder.Mark(now, record.Cause, name, axis, text)
		w.lastCause = name
		if w.run.Books {
			w.station.Plant.OpenBooks()
		}
	})
}

// act has something done at an exact plant step and marks it as what it is.
func (w *World) act(kind, name string, do func(time.Duration)) error {
	return w.atStep(func(now time.Duration) {
		do(now)
		w.recorder.Mark(now, kind, name, "", "")
	})
}

// atStep runs do inside the station's passing of time and waits for it.
func (w *World) atStep(do func(time.Duration)) error {
	done := false
	w.clock.Do(func() {
		w.station.At(w.clock.Now()+leadTime/10+w.phaseSpan(), func(now time.Duration) {
			do(now)
			done = true
		})
	})
	if !w.await(time.Second+w.run.Cycle, func() bool { return done }) {
		return errors.New("the station has not reached the step at which this was due")
	}
	if w.stopController {
		w.stopController = false
		return w.control.Stop()
	}
	return nil
}

// causeByFault begins a fault at an exact step and marks the stop cause that it is.
func (w *World) causeByFault(causeName, name, target, axis string, parameters []string) error {
	f, err := w.fault(name, target, parameters...)
	if err != nil {
		return err
	}
	return w.cause(causeName, axis, target, func(now time.Duration) {
		w.strike(f, now, 0)
	})
}

// pushReset presses the reset button for a moment, after the chain has had its
// time to run out.
func (w *World) pushReset() error {
	err := w.act(record.Command, "reset", func(time.Duration) {
		w.station.Interlock.Panel.Reset = true
	})
	w.await(100*time.Millisecond, nil)
	w.clock.Do(func() { w.station.Interlock.Panel.Reset = false })
	return err
}

// hold grips the hand control.
func (w *World) hold(a plant.Axis, end int) error {
	return w.atStep(func(now time.Duration) {
		p := &w.station.Interlock.Panel
		p.HandAxis, p.HandDirection, p.Enabling = int(a), 2*end-1, true
		w.recorder.Mark(now, record.Command, "hand", a.String(), "")
	})
}

func (w *World) letGo() {
	p := &w.station.Interlock.Panel
	p.HandDirection, p.Enabling = 0, false
}

// handle holds the hand control until the axis moves steadily.
func (w *World) handle(a plant.Axis, end int) error {
	if err := w.hold(a, end); err != nil {
		return err
	}
	w.ends[a] = end
	since := w.now()
	if !w.await(w.readyTime(), func() bool {
		if w.station.Still(a) {
			since = w.now()
		}
		return w.now()-since >= time.Second // more than the swing when its brakes open
	}) {
		return fmt.Errorf("%v has not moved by hand within %v", a, w.readyTime())
	}
	return nil
}

// sensed is the end that inward or outward means for an axis: outward is towards
// the end that it was last sent to, or rested nearer to before any motion.
func (w *World) sensed(is Words) int {
	end := w.ends[is.Axis]
	if is.Sense == "inward" {
		return 1 - end
	}
	return end
}

// push holds the hand control for a span, whatever comes of it. The horn comes
// first where the controller lets the motion begin at all.
func (w *World) push(is Words, end int, key bool) error {
	if key {
		if err := w.canAct("override_key_left_on", "station"); err != nil {
			return err
		}
	}
	w.clock.Do(func() { w.station.Interlock.Panel.Override = key })
	w.windowAt = w.now()
	if err := w.hold(is.Axis, end); err != nil {
		return err
	}
	w.await(is.Span, nil)
	w.clock.Do(w.letGo)
	w.await(2*time.Second, nil)
	w.clock.Do(func() { w.station.Interlock.Panel.Override = false })
	return nil
}
