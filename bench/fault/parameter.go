package fault

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"haltmark/bench/quantity"
)

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
	// Idle is the value at which the fault does nothing, where there is one.
	Idle string
	// Choices, where there are any, are the only values.
	Choices []string
	// Whole takes whole numbers only, decimal or 0x hexadecimal.
	Whole bool
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
		if i := slices.Index(p.Choices, text); i >= 0 {
			return float64(i), nil
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
