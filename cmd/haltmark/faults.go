package main

import (
	"encoding/json"
	"strings"

	"haltmark/bench/fault"
	"haltmark/bench/station"
)

// faultsCommand prints the catalogue of what can be broken.
type faultsCommand struct {
	JSON bool `name:"json" help:"As JSON."`
}

// faultForm is a fault as machines read it.
type faultForm struct {
	Name       string          `json:"name"`
	Place      string          `json:"place"`
	Does       string          `json:"does"`
	Once       bool            `json:"once"` // happens at its start; its end does nothing
	Target     string          `json:"target"`
	Targets    []string        `json:"targets"`
	Parameters []parameterForm `json:"parameters"`
}

// parameterForm is a parameter of a fault. Without a default it must be given.
type parameterForm struct {
	Name     string   `json:"name"`
	Does     string   `json:"does"`
	Quantity string   `json:"quantity"`
	Units    []string `json:"units,omitempty"`
	Choices  []string `json:"choices,omitempty"`
	Default  string   `json:"default,omitempty"`
	Example  string   `json:"example,omitempty"`
	Lowest   string   `json:"lowest,omitempty"`
	Highest  string   `json:"highest,omitempty"`
}

// Run implements the subcommand.
func (f *faultsCommand) Run(c *console) error {
	forms := faultForms()
	if f.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		return e.Encode(forms)
	}
	place := ""
	for _, one := range forms {
		if one.Place != place {
			place = one.Place
			c.say("%s (%s)", place, aboutPlace(place))
		}
		once := ""
		if one.Once {
			once = ", once"
		}
		c.say("  %s on %s%s\n      %s", one.Name, one.Target, once, one.Does)
		for _, p := range one.Parameters {
			c.say("      %s: %s; %s", p.Name, p.Does, p.words())
		}
	}
	c.say("\nTargets, as a sentence names them (When the fault silence begins on azimuth.encoder)")
	said := map[string]bool{}
	for _, one := range forms {
		if !said[one.Target] {
			said[one.Target] = true
			c.say("  %s: %s", one.Target, strings.Join(one.Targets, ", "))
		}
	}
	return nil
}

func aboutPlace(place string) string {
	switch place {
	case fault.PlacePhysics.String():
		return "mechanics, wiring, people, supply and weather; acts at a plant step"
	case fault.PlaceDevice.String():
		return "what a device does or tells; acts at a plant step"
	}
	return "messages and connections; acts at the next exchange"
}

// faultForms is the catalogue, grouped by place.
func faultForms() []faultForm {
	var all []faultForm
	for _, place := range []fault.Place{fault.PlacePhysics, fault.PlaceDevice, fault.PlaceWire} {
		for _, k := range station.Faults() {
			if k.Place != place {
				continue
			}
			form := faultForm{Name: k.Name, Place: place.String(), Does: k.Does, Once: k.Event,
				Target: k.On.String(), Targets: k.On.Targets(), Parameters: []parameterForm{}}
			for _, p := range k.Parameters {
				form.Parameters = append(form.Parameters, formOf(p))
			}
			all = append(all, form)
		}
	}
	return all
}

func formOf(p fault.Parameter) parameterForm {
	form := parameterForm{Name: p.Name, Does: p.Does, Quantity: p.Dimension.String(),
		Choices: p.Choices, Default: p.Default, Example: p.Example, Lowest: p.Lowest,
		Highest: p.Highest}
	switch {
	case len(p.Choices) > 0:
		form.Quantity = "choice"
	case p.Whole:
		form.Quantity = "whole number"
	default:
		form.Units = p.Dimension.Units()
	}
	return form
}

// words is what may be given, in one line.
func (p parameterForm) words() string {
	parts := []string{p.Quantity}
	if len(p.Choices) > 0 {
		parts[0] = "one of " + strings.Join(p.Choices, ", ")
	}
	if len(p.Units) > 0 {
		parts[0] += " in " + strings.Join(p.Units, ", ")
	}
	switch {
	case p.Lowest != "" && p.Highest != "":
		parts = append(parts, p.Lowest+" to "+p.Highest)
	case p.Lowest != "":
		parts = append(parts, "at least "+p.Lowest)
	case p.Highest != "":
		parts = append(parts, "at most "+p.Highest)
	}
	if p.Default != "" {
		parts = append(parts, "default "+p.Default)
	} else {
		parts = append(parts, "to be given, such as "+p.Example)
	}
	return strings.Join(parts, "; ")
}
