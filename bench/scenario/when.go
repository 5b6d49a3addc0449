package scenario

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// whens act. The first one builds the world; each verifies that what its sentence
// says has come true, or leaves the run inconclusive.
func whens() []*Phrase {
	return slices.Concat(motions(), people(), deviceFaults(), absences())
}

func on(pattern, about string, does action) *Phrase {
	return &Phrase{Keyword: When, Pattern: pattern, About: about, Does: does}
}

func motions() []*Phrase {
	return []*Phrase{
		on("{axis} is commanded outward at {share} rate",
			"arms, waits for the horn and commands that rate towards the nearer end; "+
				"a refusal is an answer too",
			func(w *World, is Words) error { return w.send(is.Axis, w.nearerEnd(is.Axis), is.Share) }),
		on("{axis} is commanded towards its {end} end at {share} rate",
			"arms, waits for the horn and commands that rate; a refusal is an answer too",
			func(w *World, is Words) error { return w.send(is.Axis, is.End, is.Share) }),
		on("{axis} is commanded outward at {share} rate until its {end} final limit has stopped it",
			"the same, and waits until the final limit has opened and the axis is at rest",
			sendThroughFinalLimit).needs(switched),
		on("{axis} moves towards its {end} end at {share} rate",
			"the same, and waits until the axis has that rate",
			func(w *World, is Words) error { return w.turn(is.Share, is.End, is.Axis) }),
		on("azimuth and elevation move towards their {end} ends at {share} rate",
			"the same for both main axes",
			func(w *World, is Words) error {
				return w.turn(is.Share, is.End, plant.Azimuth, plant.Elevation)
			}),
		on("the antenna drives to stow", "commands stow and waits until elevation has its rate",
			driveToStow),
		on("{axis} has reached standstill without torque",
			"waits until the axis is at standstill with its torque off",
			func(w *World, is Words) error { return w.since(w.awaitRest(is.Axis)) }),
		on("{axis} has reached standstill", "waits until the axis is at standstill, torque on or off",
			func(w *World, is Words) error { return w.since(w.awaitStop(is.Axis)) }),
		on("the operator commands a stop", "commands a stop from the supervisory system",
			stopByOperator),
		on("{axis} is commanded to rest on its brakes",
			"commands its rest: a ramp, then its brakes, then no torque",
			func(w *World, is Words) error { return w.command("rest", int(is.Axis), 0) }),
		on("the controller is armed", "arms it and waits for the horn",
			func(w *World, _ Words) error { return w.ready() }),
		on("a reset is commanded",
			"commands a reset from the supervisory system; a refusal is an answer too",
			func(w *World, _ Words) error { return w.command("reset", -1, 0) }),
		on("the reset button is pressed and a reset is commanded",
			"pushes the button at the panel, then commands a reset; a refusal is an answer too",
			func(w *World, _ Words) error {
				// A button pushed before the stop has run out resets nothing.
				w.await(restTime, func() bool { return !w.station.Interlock.DelayedContact })
				if err := w.pushReset(); err != nil {
					return err
				}
				return w.command("reset", -1, 0)
			}),
	}
}

// since has the window of what follows begin when a sentence that only waited has ended.
func (w *World) since(err error) error {
	w.actedAt = w.now()
	return err
}

func stopByOperator(w *World, _ Words) error {
	w.await(leadTime/10+w.phaseSpan(), nil)
	w.clock.Do(func() {
		w.recorder.Mark(w.clock.Now(), record.Cause, "operator_stop", "", "")
	})
	w.lastCause = "operator_stop"
	return w.command("stop", -1, 0)
}

func sendThroughFinalLimit(w *World, is Words) error {
	if err := w.canAct("final_limit_open", endTarget(is)); err != nil {
		return err
	}
	if err := w.send(is.Axis, is.End, is.Share); err != nil {
		return err
	}
	edge := channel.FinalLimit.At(is.Axis.String(), plant.EndNames[is.End])
	if !w.await(travelTime, func() bool { return w.level(edge) == 1 }) {
		return fmt.Errorf("the %s final limit of %v has not opened within %v",
			plant.EndNames[is.End], is.Axis, travelTime)
	}
	return w.awaitRest(is.Axis)
}

func driveToStow(w *World, _ Words) error {
	if err := w.ready(); err != nil {
		return err
	}
	if err := w.command("stow", -1, 0); err != nil {
		return err
	}
	return w.awaitRate(plant.Elevation, 0.98)
}

func people() []*Phrase {
	return []*Phrase{
		on("the emergency stop is pressed", "presses it by hand; both channels open",
			pressed),
		on("the emergency stop is released", "releases it by hand",
			func(w *World, _ Words) error {
				return w.act(record.Release, "emergency_stop", func(time.Duration) {
					w.station.Interlock.Panel.EmergencyStop = [2]bool{}
				})
			}),
		on("the {access} interlock opens", "opens its contact", openAccess),
		on("channel {number} of the emergency stop opens", "one contact opens and the other does not",
			func(w *World, is Words) error {
				return w.causeByFault("emergency_stop", "emergency_stop_one_channel",
					"emergency_stop."+strconv.Itoa(is.Number), "", nil)
			}).needs(hasChannel),
		on("the isolator of {axis} opens", "somebody switches the axis off beside it",
			func(w *World, is Words) error {
				return w.causeByFault("isolator_opened", "isolator_opened", is.Axis.String(),
					is.Axis.String(), nil)
			}),
		on("the {end} final limit of {axis} opens for {span}", "the contact opens and closes again",
			openFinalLimit).needs(switched, lasts),
		on("the {end} final limit of {axis} opens", "its contact opens and stays open",
			func(w *World, is Words) error { return w.opens("final_limit", is) }).needs(switched),
		on("the {end} pre-limit of {axis} opens", "its contact opens and stays open",
			func(w *World, is Words) error { return w.opens("pre_limit", is) }).needs(switched),
		on("the mode selector is turned to {mode}", "turns it at the local panel", turnMode),
		on("{axis} is moved under hand control towards its {end} end",
			"holds the hand control and waits until the axis moves steadily",
			func(w *World, is Words) error { return w.handle(is.Axis, is.End) }),
		on("the hand control is released", "lets the hold-to-run control spring back",
			func(w *World, _ Words) error {
				return w.cause("hand_released", "", "", func(time.Duration) { w.letGo() })
			}),
		on("the enabling device is released", "its contact opens while the hand control stays held",
			enablingOpens("released")),
		on("the enabling device is fully pressed",
			"the same: a device of three positions allows motion in its middle one alone",
			enablingOpens("fully pressed")),
		on("the hand control of {axis} is held towards its {end} end for {span}",
			"holds the hand control that long, whatever comes of it, then lets go",
			func(w *World, is Words) error { return w.push(is, is.End, false) }).needs(lasts),
		on("the hand control of {axis} is held {sense} for {span} without the override key",
			"holds the hand control that long, then lets go",
			func(w *World, is Words) error { return w.push(is, w.sensed(is), false) }).needs(lasts),
		on("the hand control of {axis} is held {sense} for {span} with the override key turned",
			"the same with the maintained key turned",
			func(w *World, is Words) error { return w.push(is, w.sensed(is), true) }).needs(lasts),
	}
}

// openFinalLimit lets a contact open in mid-travel, where an inverted one is open.
func openFinalLimit(w *World, is Words) error {
	return w.begins("final limit opens",
		namedFault{name: "final_limit_inverted", target: endTarget(is), lasts: is.Span})
}

// namedFault is a fault that a sentence begins; it lasts for good where nothing else is said.
type namedFault struct {
	name, target string
	parameters   []string // name and text in turn
	lasts        time.Duration
}

// begins plans a fault from an exact plant step on, marked by what it is.
func (w *World) begins(what string, b namedFault) error {
	f, err := w.fault(b.name, b.target, b.parameters...)
	if err != nil {
		return err
	}
	return w.act(record.Step, what, func(now time.Duration) {
		w.strike(f, now, b.lasts)
	})
}

// strike has a fault act in this very step: the agenda runs before the faults do. A span
// of zero is for good.
func (w *World) strike(f fault.Fault, now, lasts time.Duration) fault.ID {
	id, err := w.station.Plan(fault.Entry{Fault: f, Start: fault.Moment{At: now}, Lasts: lasts})
	if err != nil {
		panic("scenario: " + err.Error())
	}
	w.undo = append(w.undo, func() { w.station.Remove(id) })
	return id
}

// enablingOpens moves the enabling device out of its middle position.
func enablingOpens(how string) action {
	return func(w *World, _ Words) error {
		if err := w.canAct("enabling_released", "station"); err != nil {
			return err
		}
		return w.cause("hand_released", "", "enabling device "+how, func(time.Duration) {
			w.station.Interlock.Panel.Enabling = false
		})
	}
}

// opens has the contact of a limit switch open, which the station marks as the stop cause.
func (w *World) opens(which string, is Words) error {
	err := w.begins(is.Axis.Words()+" limit opens",
		namedFault{name: which + "_open", target: endTarget(is)})
	w.lastCause = which
	return err
}

// turnMode is a stop cause in motion; at rest nothing has to stop.
func turnMode(w *World, is Words) error {
	turn := func(time.Duration) { w.station.Interlock.Panel.Mode = is.Mode }
	if w.moving() {
		return w.cause("mode_changed", "", is.Mode.String(), turn)
	}
	return w.act(record.Step, "mode selector turned at rest", turn)
}

// moving reports whether any axis is past its standstill.
func (w *World) moving() bool {
	for a := range plant.Axis(plant.AxisCount) {
		if !w.station.Still(a) {
			return true
		}
	}
	return false
}

// openAccess is a stop cause in motion; at rest nothing has to stop.
func openAccess(w *World, is Words) error {
	if is.Access == "stow pin" {
		if err := w.canAct("pin_inserted", plant.Azimuth.String()); err != nil {
			return err
		}
	}
	open := func(time.Duration) {
		p := &w.station.Interlock.Panel
		switch is.Access {
		case "hatch":
			p.Hatch = true
		case "ladder":
			p.Ladder = true
		default:
			p.Pin[0] = true
		}
	}
	w.undoes(func(p *interlock.Panel) { p.Hatch, p.Ladder, p.Pin[0] = false, false, false })
	if w.moving() {
		return w.cause("access_opened", "", is.Access, open)
	}
	return w.act(record.Step, "access opened at rest", open)
}

// dragInMotion is a brake that half closes by itself.
func dragInMotion(w *World, is Words) error {
	share := fmt.Sprintf("%g %%", is.Share*100)
	drag := namedFault{name: "brake_dragging", target: motorTarget(is),
		parameters: []string{"torque", share}}
	if err := w.begins("brake drags", drag); err != nil {
		return err
	}
	return w.causeByFault("brake_feedback", "brake_feedback_stuck", motorTarget(is), is.Axis.String(),
		[]string{"at", "set"})
}

func deviceFaults() []*Phrase {
	encoder := func(name, causeName string, set func(Words) []string) action {
		return func(w *World, is Words) error {
			var parameters []string
			if set != nil {
				parameters = set(is)
			}
			return w.causeByFault(causeName, name, is.Axis.String(), is.Axis.String(), parameters)
		}
	}
	drive := func(name, causeName string, parameters ...string) action {
		return func(w *World, is Words) error {
			return w.causeByFault(causeName, name, motorTarget(is), is.Axis.String(), parameters)
		}
	}
	return []*Phrase{
		on("the encoder of {axis} stops responding", "it answers no more",
			encoder("encoder_silent", "encoder_lost", nil)),
		on("the encoder of {axis} raises its alarm", "its alarm is on while its data stay good",
			encoder("encoder_alarm", "encoder_lost", nil)),
		on("the encoder of {axis} freezes", "it tells its last position for ever, and looks alive",
			encoder("encoder_frozen", "encoder_implausible", nil)),
		on("the encoder of {axis} jumps by {angle}", "what it tells is off by this from now on",
			encoder("encoder_stepping", "encoder_implausible",
				func(is Words) []string { return []string{"by", angleText(is.Angle)} })).needs(apart),
		on("the encoder of {axis} drifts at {rate}", "what it tells walks away from the truth",
			encoder("encoder_drift", "encoder_implausible",
				func(is Words) []string {
					return []string{"rate", fmt.Sprintf("%g deg/s", is.Rate.DegreesPerSecond())}
				})).needs(walking),
		on("drive {number} of {axis} trips", "it goes to its fault state with an over-current",
			drive("drive_trip", "drive_trip")).needs(hasMotor),
		on("drive {number} of {axis} stops responding", "it hears and answers no more",
			drive("drive_silent", "drive_silent")).needs(hasMotor),
		on("drive {number} of {axis} runs away", "it pulls at its peak torque whatever it is told",
			drive("drive_runaway", "overspeed")).needs(hasMotor),
		on("the speed feedback of motor {number} of {axis} reads zero", "its drive does not notice",
			drive("drive_feedback_dead", "uncontrolled_motion")).needs(hasMotor),
		on("the speed feedback of motor {number} of {axis} changes sign", "its drive does not notice",
			drive("drive_feedback_reversed", "uncontrolled_motion")).needs(hasMotor),
		on("brake {number} of {axis} drags with {part} of its torque and is reported set",
			"its lining rubs and its contact closes although its coil is powered", dragInMotion).
			needs(switched, hasMotor),
		on("brake {number} of {axis} is falsely reported set", "the brake itself stays released",
			drive("brake_feedback_stuck", "brake_feedback", "at", "set")).
			needs(switched, hasMotor),
	}
}

// How some of that is marked.
const (
	managementSilent = "management silent"
	controllerBack   = "controller"
)

// absences are of what is no longer there to hear or to command.
func absences() []*Phrase {
	return []*Phrase{
		on("the interlock unit stops responding", "it hears and answers no more",
			func(w *World, _ Words) error {
				return w.causeByFault("interlock_silent", "interlock_silent", "interlock", "", nil)
			}),
		on("the supervisory system stops communicating",
			"it polls no more and hears nothing; nor can it "+
				"command after that", func(w *World, _ Words) error {
				w.await(w.phaseSpan(), nil)
				w.clock.Do(func() {
					w.recorder.Mark(w.clock.Now(), record.Step, managementSilent, "", "")
				})
				return w.observer.Close()
			}),
		on("the controller loses its power", "every process and connection of it ends at once",
			func(w *World, _ Words) error {
				w.absent = true
				return w.cause("controller_silent", "", "", func(time.Duration) { w.stopController = true })
			}),
		on("the controller is powered up again", "it starts as after a power-up",
			func(w *World, _ Words) error { return w.restartController() }),
	}
}
