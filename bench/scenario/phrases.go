package scenario

import "strings"

// Phrases is the whole phrase table, in the order in which `haltmark phrases`
// prints it. It is the single source of what a sentence may say.
func Phrases() []*Phrase { return table }

// table is made once and never changed.
var table = compiled(givens(), whens(), thens(), ofWeather(), supply(), matrix(),
	refusals(), uses(), named())

func compiled(lists ...[]*Phrase) []*Phrase {
	var all []*Phrase
	for _, list := range lists {
		for _, p := range list {
			p.compile()
			all = append(all, p)
		}
	}
	return all
}

// Value is one kind of value that a sentence may hold, and what may stand in its place.
type Value struct{ Name, Form string }

// Values lists them in the order of the table.
func Values() []Value {
	var all []Value
	for _, p := range placeholders() {
		form := strings.ReplaceAll(p.form, "|", ", ")
		switch {
		case strings.HasPrefix(p.form, measured):
			form = "a number and its unit: " + p.units
		case p.name == "number":
			form = "a whole number"
		case p.name == "fault" || p.name == "target":
			form = "as `haltmark faults` names it"
		case p.name == "settings":
			form = "parameters of that fault, such as: by 50 ms, jitter 10 ms"
		}
		all = append(all, Value{p.name, form})
	}
	return all
}
