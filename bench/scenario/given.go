package scenario

import (
	"cmp"
	"errors"
	"fmt"
	"strconv"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
)

// givens set up. They let no time pass and touch no device: the world is built
// by the first When.
func givens() []*Phrase {
	g := given
	return append([]*Phrase{
		g("{axis} rests in mid-travel",
			"places the axis half way between its software limits",
			func(w *World, is Words) error {
				lower, upper := w.software(is.Axis)
				return w.place(is.Axis, (lower+upper)/2)
			}),
		g("{axis} rests {angle} inside its {end} software limit",
			"places the axis inward of that limit, at rest with its brakes set",
			func(w *World, is Words) error {
				lower, upper := w.software(is.Axis)
				if is.End == plant.Lower {
					return w.place(is.Axis, lower+float64(is.Angle))
				}
				return w.place(is.Axis, upper-float64(is.Angle))
			}).needs(inward),
		g("elevation rests in its stow attitude with its stow pin inserted",
			"contact and steel: the pin is in its hole", stowedAndPinned),
		driven("{axis} has a drive for each of its motors",
			"what is about that does not apply to a station whose servo units turn both").needs(switched),
		g("the mode selector is at {mode}", "sets the selector at the local panel",
			selectedMode),
		g("the limit switches, buffer and hard stop at the {end} end of {axis} stand {angle} "+
			"inboard of their configured positions", "moves them inward",
			func(w *World, is Words) error {
				return w.latent("limit_chain_shifted", endTarget(is), "inward", angleText(is.Angle))
			}).needs(switched, inward),
		g("the {end} pre-limit switch of {axis} is welded closed", "that switch never opens",
			func(w *World, is Words) error { return w.latent("pre_limit_welded", endTarget(is)) }).
			needs(switched),
		g("the {end} final-limit switch of {axis} is welded closed", "that switch never opens",
			func(w *World, is Words) error { return w.latent("final_limit_welded", endTarget(is)) }).
			needs(switched),
		g("channel {number} of the emergency stop is welded closed",
			"that contact of the emergency stop never opens",
			func(w *World, is Words) error {
				return w.latent("emergency_stop_welded", "emergency_stop."+strconv.Itoa(is.Number))
			}).needs(hasChannel),
		g("the encoder of {axis} counts in reverse", "its direction is reversed, as after an exchange",
			func(w *World, is Words) error {
				w.reversed = append(w.reversed, reversal{is.Axis, -1})
				return w.latent("encoder_reversed", is.Axis.String())
			}),
		g("an external torque of {torque} acts on {axis} towards its {end} end",
			"a constant outside torque acts on the axis all the while",
			func(w *World, is Words) error {
				push := float64(is.Torque)
				if is.End == plant.Lower {
					push = -push
				}
				return w.latent("external_torque", is.Axis.String(),
					"torque", fmt.Sprintf("%g N m", push))
			}).needs(pushing),
	}, worn()...)
}

func selectedMode(w *World, is Words) error {
	if w.selected {
		return errors.New("the selector stands somewhere already; one place is enough")
	}
	w.mode, w.selected = is.Mode, true
	return nil
}

func stowedAndPinned(w *World, _ Words) error {
	attitude, _, ok := w.run.Rules.Limits("stow.elevation")
	if !ok {
		return errors.New("the station has no stow attitude")
	}
	w.position[plant.Elevation], w.placed[plant.Elevation] = attitude, true
	return w.latent("stow_pin_in", plant.Elevation.String())
}

// driven is a Given that is about axes with a drive for each motor, and does nothing.
func driven(pattern, about string) *Phrase {
	p := given(pattern, about, func(*World, Words) error { return nil })
	p.Lacks = func(st *station.Parameters, is Words) string {
		if first, _ := is.Axis.Motors(); st.Drives[first].Servo {
			return "one servo unit turns both motors of " + is.Axis.Words()
		}
		return ""
	}
	return p
}

func given(pattern, about string, does action) *Phrase {
	return &Phrase{Keyword: Given, Pattern: pattern, About: about, Does: does}
}

// worn givens are of brakes that are no longer sound and of switches wired wrong.
func worn() []*Phrase {
	g := given
	return []*Phrase{
		g("brake {number} of {axis} is worn to {part} of its torque", "that brake is worn",
			func(w *World, is Words) error {
				share := fmt.Sprintf("%g %%", is.Share*100)
				return w.latent("brake_worn", motorTarget(is), "torque", share)
			}).needs(switched, hasMotor),
		g("brake {number} of {axis} engages late by {span}", "that brake takes so much longer to close",
			func(w *World, is Words) error {
				return w.latent("brake_late", motorTarget(is), "by", fmt.Sprintf("%g s", is.Span.Seconds()))
			}).needs(switched, hasMotor, lasts),
		g("brake {number} of {axis} drags with {part} of its torque",
			"that brake rubs while it is released",
			func(w *World, is Words) error {
				share := fmt.Sprintf("%g %%", is.Share*100)
				return w.latent("brake_dragging", motorTarget(is), "torque", share)
			}).needs(switched, hasMotor),
		g("the feedback of brake {number} of {axis} is stuck at released",
			"the controller never sees that brake set",
			func(w *World, is Words) error {
				return w.latent("brake_feedback_stuck", motorTarget(is), "at", "released")
			}).needs(switched, hasMotor),
		g("motor {number} of {axis} is wired in reverse",
			"it turns the other way, torque and feedback alike",
			func(w *World, is Words) error {
				first, _ := is.Axis.Motors()
				w.reversed = append(w.reversed, reversal{is.Axis, first + is.Number - 1})
				return w.latent("direction_changed", motorTarget(is))
			}).needs(switched, hasMotor),
		g("the pre-limit switches of {axis} are swapped", "each end tells of the other one",
			func(w *World, is Words) error {
				return w.latent("pre_limits_swapped", is.Axis.String())
			}).needs(switched),
	}
}

func angleText(a quantity.Angle) string { return fmt.Sprintf("%g deg", a.Degrees()) }

func endTarget(is Words) string { return is.Axis.String() + "." + plant.EndNames[is.End] }

func motorTarget(is Words) string { return is.Axis.String() + "." + strconv.Itoa(is.Number) }

// latent plans a fault that stands from the world's start. Parameters come as
// name and text in turn.
func (w *World) latent(name, target string, parameters ...string) error {
	f, err := w.fault(name, target, parameters...)
	if err != nil {
		return err
	}
	for _, e := range w.plan {
		if e.Fault.Name() == f.Name() && e.Fault.Target() == f.Target() {
			return fmt.Errorf("%s is so already (%v); once is enough", target, e.Fault)
		}
	}
	w.plan = append(w.plan, fault.Entry{Fault: f})
	return nil
}

// fault makes a fault that can act on this world's station.
func (w *World) fault(name, target string, parameters ...string) (fault.Fault, error) {
	given, err := settings(parameters)
	if err != nil {
		return fault.Fault{}, err
	}
	return w.run.Station.Fault(name, target, given)
}

// canAct tells what a fault would lack on this world's station. What a sentence does by
// hand, at the panel or on the way, needs what the fault of that kind needs; it is none
// itself, and does not name it.
func (w *World) canAct(name, target string) error {
	_, err := w.fault(name, target)
	return cmp.Or(errors.Unwrap(err), err)
}

// settings are parameters that come as name and text in turn, each once.
func settings(parameters []string) (map[string]string, error) {
	set := map[string]string{}
	for i := 0; i+1 < len(parameters); i += 2 {
		name := parameters[i]
		if before, given := set[name]; given {
			return nil, fmt.Errorf("%s is given twice, as %s and as %s; give it once", name, before,
				parameters[i+1])
		}
		set[name] = parameters[i+1]
	}
	return set, nil
}
