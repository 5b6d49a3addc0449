package fault

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"haltmark/bench/nearest"
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

// Kind declares one kind of fault.
type Kind struct {
	Name  string
	Place Place
	On    On
	Does  string
	// Event happens once, at its start; its end does nothing.
	Event      bool
	Parameters []Parameter
	// Home is what the catalogue's owner keeps with the kind: how it acts.
	Home any
}

// Catalogue is a list of kinds of faults.
type Catalogue []Kind

// Fault is one fault with its target and parameters, ready to be planned. Only a
// catalogue makes one.
type Fault struct {
	kind     Kind
	target   Target
	settings []Setting
}

// Setting is one parameter's value in words, "5.000 deg".
type Setting struct {
	Name, Value string
	si          float64
}

// Name is that of the fault's kind.
func (f Fault) Name() string { return f.kind.Name }

// Kind is what the catalogue says of it.
func (f Fault) Kind() Kind { return f.kind }

// Target is what the fault is done to.
func (f Fault) Target() Target { return f.target }

// Settings are the parameters as they stand, defaults filled in, in the catalogue's order.
func (f Fault) Settings() []Setting { return f.settings }

// Value is a parameter in SI units, or the number of its choice from 0. To ask for one
// that the kind does not declare is the caller's error and panics.
func (f Fault) Value(parameter string) float64 {
	for _, s := range f.settings {
		if s.Name == parameter {
			return s.si
		}
	}
	panic("fault: " + f.Name() + " has no parameter " + parameter)
}

// Span is a parameter that is a time, to the nanosecond.
func (f Fault) Span(parameter string) time.Duration {
	return time.Duration(math.Round(f.Value(parameter) * 1e9))
}

// String is the fault in one line: "encoder_stepping azimuth by=5.000 deg".
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.Name() + " " + f.target.Name)
	for _, s := range f.settings {
		b.WriteString(" " + s.Name + "=" + s.Value)
	}
	return b.String()
}

// New makes a fault of one of the kinds on a target of its kind. Parameter values carry
// units. The error of an unknown name ends with the nearest one.
func (c Catalogue) New(name, target string, parameters map[string]string) (Fault, error) {
	kind, err := c.Find(name)
	if err != nil {
		return Fault{}, err
	}
	f := Fault{kind: kind}
	if f.target, err = kind.On.find(target); err != nil {
		return Fault{}, fmt.Errorf("fault: %s: %w", name, err)
	}
	if err := kind.known(parameters); err != nil {
		return Fault{}, fmt.Errorf("fault: %s: %w", name, err)
	}
	for _, p := range kind.Parameters {
		text, given := parameters[p.Name]
		if !given {
			text = p.Default
		}
		value, err := p.parse(text)
		if err != nil {
			return Fault{}, fmt.Errorf("fault: %s: %s: %w", name, p.Name, err)
		}
		f.settings = append(f.settings, Setting{p.Name, p.format(value), value})
	}
	return f, nil
}

// Idle says that a fault does nothing, since all of its parameters that have an idle value
// stand at it; nil where it does something. Whoever names such a fault means another.
func (f Fault) Idle() error {
	var at []string
	for i, p := range f.kind.Parameters {
		if p.Idle == "" {
			continue
		}
		if idle, err := p.read(p.Idle); err != nil || idle != f.settings[i].si {
			return nil
		}
		at = append(at, p.Name+" "+f.settings[i].Value)
	}
	if at == nil {
		return nil
	}
	return fmt.Errorf("fault: %s does nothing with %s; give it a strength or leave it out",
		f.Name(), strings.Join(at, ", "))
}

// Find is the kind of this name.
func (c Catalogue) Find(name string) (Kind, error) {
	var names []string
	for _, k := range c {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	return Kind{}, fmt.Errorf("fault: no fault is called %q%s", name, suggest(name, names))
}

// known refuses parameters that the kind does not have.
func (k Kind) known(given map[string]string) error {
	var have []string
	for _, p := range k.Parameters {
		have = append(have, p.Name)
	}
	for _, name := range slices.Sorted(maps.Keys(given)) {
		if !slices.Contains(have, name) {
			return fmt.Errorf("no parameter is called %q%s", name, suggest(name, have))
		}
	}
	return nil
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

// suggest is the end of an error about an unknown name: the nearest known one
// where it is near, nothing where none is.
func suggest(name string, known []string) string {
	if best := nearest.Name(name, known, len(name)/3+1); best != "" {
		return fmt.Sprintf("; did you mean %q?", best)
	}
	return ""
}
