package fault

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"haltmark/bench/quantity"
)

// Place is where a fault acts.
type Place int

// Places of faults.
const (
	PlacePhysics Place = iota
	PlaceDevice
	PlaceWire
)

// String is the place in one word.
func (p Place) String() string { return [...]string{"physics", "device", "wire"}[p] }

// Parameter of a fault. Its values are texts with units.
type Parameter struct {
	Name      string
	Does      string
	Dimension quantity.Dimension
	// No default means that the parameter must be given; no bound, that there
	// is none.
	Default, Lowest, Highest string
	// Example is a sensible value where there is no default.
	Example string
	// Choices, where there are any, are the only values.
	Choices []string
	// Whole takes whole numbers only, decimal or 0x hexadecimal.
	Whole bool
}

// Kind is one entry of the catalogue.
type Kind struct {
	Name  string
	Place Place
	On    On
	Does  string
	// Event happens once, at its start; its end does nothing.
	Event      bool
	Parameters []Parameter

	effect func(t target, v []float64) Effect
}

// Fault is one fault with its target and parameters, ready to be planned.
type Fault struct {
	Name, Target string
	Effect       Effect
	// Parameters as they stand, defaults filled in, in the catalogue's order.
	Parameters []Setting
}

// Setting is one parameter's value in words, "5.000 deg".
type Setting struct{ Name, Value string }

// String is the fault in one line: "encoder_stepping azimuth by=5.000 deg".
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.Name + " " + f.Target)
	for _, s := range f.Parameters {
		b.WriteString(" " + s.Name + "=" + s.Value)
	}
	return b.String()
}

// New makes a fault of the catalogue's name and a target of its kind. Parameter
// values carry units. The error of an unknown name ends with the nearest one.
func New(name, targetName string, parameters map[string]string) (Fault, error) {
	kind, err := find(name)
	if err != nil {
		return Fault{}, err
	}
	t, err := kind.On.find(targetName)
	if err != nil {
		return Fault{}, fmt.Errorf("fault: %s: %w", name, err)
	}
	if err := kind.known(parameters); err != nil {
		return Fault{}, fmt.Errorf("fault: %s: %w", name, err)
	}
	f := Fault{Name: name, Target: targetName}
	values := make([]float64, 0, len(kind.Parameters))
	for _, p := range kind.Parameters {
		text, given := parameters[p.Name]
		if !given {
			text = p.Default
		}
		value, err := p.parse(text)
		if err != nil {
			return Fault{}, fmt.Errorf("fault: %s: %s: %w", name, p.Name, err)
		}
		values = append(values, value)
		f.Parameters = append(f.Parameters, Setting{p.Name, p.format(value)})
	}
	f.Effect = kind.effect(t, values)
	return f, nil
}

// Find is the catalogue's entry of this name.
func Find(name string) (Kind, error) { return find(name) }

func find(name string) (Kind, error) {
	var names []string
	for _, k := range Catalogue() {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	return Kind{}, fmt.Errorf("fault: no fault is called %q%s", name, suggest(name, names))
}

// known refuses parameters that the kind does not have.
func (k Kind) known(given map[string]string) error {
	var have, strange []string
	for _, p := range k.Parameters {
		have = append(have, p.Name)
	}
	for name := range given {
		if !contains(have, name) {
			strange = append(strange, name)
		}
	}
	if len(strange) == 0 {
		return nil
	}
	sort.Strings(strange)
	return fmt.Errorf("no parameter is called %q%s", strange[0], suggest(strange[0], have))
}

// Example are parameters that make a fault of this kind.
func (k Kind) Example() map[string]string {
	example := map[string]string{}
	for _, p := range k.Parameters {
		if p.Default == "" {
			example[p.Name] = p.Example
		}
	}
	return example
}

func (p Parameter) parse(text string) (float64, error) {
	if text == "" {
		return 0, fmt.Errorf("must be given, such as %q", p.Example)
	}
	value, err := p.read(text)
	if err != nil {
		return 0, err
	}
	for _, bound := range []struct {
		text  string
		sign  float64
		words string
	}{{p.Lowest, 1, "below"}, {p.Highest, -1, "above"}} {
		if bound.text == "" {
			continue
		}
		limit, err := p.read(bound.text)
		if err != nil {
			panic("fault: catalogue bound of " + p.Name + ": " + err.Error())
		}
		if bound.sign*(value-limit) < 0 {
			return 0, fmt.Errorf("%s is %s %s", text, bound.words, bound.text)
		}
	}
	return value, nil
}

func (p Parameter) read(text string) (float64, error) {
	switch {
	case len(p.Choices) > 0:
		for i, c := range p.Choices {
			if c == text {
				return float64(i), nil
			}
		}
		return 0, fmt.Errorf("%q is none of %s", text, strings.Join(p.Choices, ", "))
	case p.Whole:
		n, err := strconv.ParseUint(text, 0, 16)
		if err != nil {
			return 0, fmt.Errorf("%q is no whole number of 16 bits", text)
		}
		return float64(n), nil
	}
	value, _, err := quantity.Parse(p.Dimension, text)
	return value, err
}

func (p Parameter) format(value float64) string {
	switch {
	case len(p.Choices) > 0:
		return p.Choices[int(value)]
	case p.Whole:
		return fmt.Sprintf("0x%04X", int(value))
	}
	return quantity.Format(p.Dimension, value)
}

// span is seconds as a duration, to the nanosecond.
func span(seconds float64) time.Duration {
	return time.Duration(math.Round(seconds * 1e9))
}

func contains(list []string, name string) bool {
	for _, l := range list {
		if l == name {
			return true
		}
	}
	return false
}
