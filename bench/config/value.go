package config

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"haltmark/bench/quantity"
)

// leaf is what every wrapper type has: was it given.
type leaf interface{ given() bool }

// wrapper tells the wrapper types, which hold a value and no keys.
func wrapper(t reflect.Type) bool { return reflect.PointerTo(t).Implements(leafType()) }

func leafType() reflect.Type { return reflect.TypeFor[leaf]() }

// fault words a problem of a value for the decoder, which gathers them.
func fault(n *yaml.Node, format string, args ...any) error {
	return &yaml.TypeError{Errors: []string{fmt.Sprintf("line %d: column %d: %s",
		n.Line, n.Column, fmt.Sprintf(format, args...))}}
}

// single reads a value that is no list and no set of keys.
func single(n *yaml.Node, what string) (string, error) {
	if n.Kind != yaml.ScalarNode {
		return "", fault(n, "is a list or a set of keys; need %s; write it as one value", what)
	}
	return n.Value, nil
}

// text is a word or a name.
type text struct {
	value string
	set   bool
}

func (t *text) UnmarshalYAML(n *yaml.Node) error {
	var err error
	t.value, err = single(n, "a word")
	t.set = true
	if err == nil && strings.TrimSpace(t.value) == "" {
		return fault(n, "is empty; need a word; fill it in or remove the key")
	}
	return err
}

func (t *text) given() bool { return t.set }

// count is a whole number.
type count struct {
	value int64
	set   bool
}

func (c *count) UnmarshalYAML(n *yaml.Node) error {
	value, err := single(n, "a whole number")
	if err != nil {
		return err
	}
	c.set = true
	if c.value, err = strconv.ParseInt(value, 0, 64); err != nil {
		return fault(n, "%q: not a whole number; need one without a unit", value)
	}
	return nil
}

func (c *count) given() bool { return c.set }

// flag is true or false.
type flag struct{ value, set bool }

func (f *flag) UnmarshalYAML(n *yaml.Node) error {
	value, err := single(n, "true or false")
	f.value, f.set = value == "true", true
	if err == nil && value != "true" && value != "false" {
		return fault(n, "%q: not a yes or no; need true or false", value)
	}
	return err
}

func (f *flag) given() bool { return f.set }

// param is a parameter with its range and where it comes from.
type param struct {
	set                    bool
	value, lowest, highest float64 // SI
	origin                 quantity.Origin
	sourced                bool // the origin was given
}

func (p *param) given() bool   { return p.set }
func (p *param) inner() *param { return p }

// span is the value of a parameter in seconds as a span.
func (p *param) span() time.Duration { return time.Duration(math.Round(p.value * 1e9)) }

// parameter is what the types of value have in common.
type parameter interface {
	leaf
	inner() *param
	dimension() quantity.Dimension
}

// value is a parameter of one dimension.
type value[D dimension] struct{ param }

// dimension is a marker type that stands for a quantity.Dimension.
type dimension interface{ of() quantity.Dimension }

type (
	angle        struct{}
	rate         struct{}
	acceleration struct{}
	jerk         struct{}
	torque       struct{}
	inertia      struct{}
	damping      struct{}
	energy       struct{}
	speed        struct{}
	frequency    struct{}
	length       struct{}
	ratio        struct{}
	span         struct{}
	number       struct{}
)

func (angle) of() quantity.Dimension        { return quantity.DimAngle }
func (rate) of() quantity.Dimension         { return quantity.DimRate }
func (acceleration) of() quantity.Dimension { return quantity.DimAcceleration }
func (jerk) of() quantity.Dimension         { return quantity.DimJerk }
func (torque) of() quantity.Dimension       { return quantity.DimTorque }
func (inertia) of() quantity.Dimension      { return quantity.DimInertia }
func (damping) of() quantity.Dimension      { return quantity.DimDamping }
func (energy) of() quantity.Dimension       { return quantity.DimEnergy }
func (speed) of() quantity.Dimension        { return quantity.DimSpeed }
func (frequency) of() quantity.Dimension    { return quantity.DimFrequency }
func (length) of() quantity.Dimension       { return quantity.DimLength }
func (ratio) of() quantity.Dimension        { return quantity.DimRatio }
func (span) of() quantity.Dimension         { return quantity.DimSpan }
func (number) of() quantity.Dimension       { return quantity.DimNone }

func (v *value[D]) dimension() quantity.Dimension {
	var d D
	return d.of()
}

// UnmarshalYAML reads "95 t m^2", or a set of keys: value with lowest and
// highest, or with within, a share of it to either side; and origin.
func (v *value[D]) UnmarshalYAML(n *yaml.Node) error {
	v.set = true
	if n.Kind != yaml.MappingNode {
		si, err := quantityOf(v.dimension(), n)
		v.value, v.lowest, v.highest = si, si, si
		return err
	}
	return v.readRange(v.dimension(), n)
}

// quantityOf reads one number with its unit.
func quantityOf(d quantity.Dimension, n *yaml.Node) (float64, error) {
	word, err := single(n, "a number with its unit")
	if err != nil {
		return 0, err
	}
	si, _, err := quantity.Parse(d, word)
	if err != nil {
		return 0, fault(n, "%q: %v", word, err)
	}
	return si, nil
}

// readRange reads the form with keys.
func (p *param) readRange(d quantity.Dimension, n *yaml.Node) error {
	nodes := map[string]*yaml.Node{}
	known := []string{"value", "lowest", "highest", "within", "origin"}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key := n.Content[i].Value
		if !slices.Contains(known, key) {
			return fault(n, "has the unknown key %q; a parameter has none of that name; %s",
				key, suggest(key, known))
		}
		if nodes[key] != nil {
			return fault(n, "has %s twice; one parameter has one; remove the other", key)
		}
		nodes[key] = n.Content[i+1]
	}
	if nodes["value"] == nil {
		return fault(n, "has no value; a range alone is no parameter; add the key value")
	}
	if nodes["within"] != nil && (nodes["lowest"] != nil || nodes["highest"] != nil) {
		return fault(n, "has within beside lowest or highest; they say the same; keep one form")
	}
	var err error
	if p.value, err = quantityOf(d, nodes["value"]); err != nil {
		return err
	}
	p.lowest, p.highest = p.value, p.value
	if nodes["lowest"] != nil {
		if p.lowest, err = quantityOf(d, nodes["lowest"]); err != nil {
			return err
		}
	}
	if nodes["highest"] != nil {
		if p.highest, err = quantityOf(d, nodes["highest"]); err != nil {
			return err
		}
	}
	if nodes["within"] != nil {
		share, err := quantityOf(quantity.DimRatio, nodes["within"])
		if err != nil {
			return err
		}
		p.lowest = p.value - math.Abs(p.value)*share
		p.highest = p.value + math.Abs(p.value)*share
	}
	return p.readOrigin(d, n, nodes["origin"])
}

func (p *param) readOrigin(d quantity.Dimension, n, origin *yaml.Node) error {
	if !(p.lowest <= p.value && p.value <= p.highest) {
		return fault(n, "is %s, outside its own range %s to %s; correct the range",
			quantity.Format(d, p.value), quantity.Format(d, p.lowest), quantity.Format(d, p.highest))
	}
	if origin == nil {
		return nil
	}
	var err error
	if p.origin, err = quantity.ParseOrigin(origin.Value); err != nil {
		return fault(origin, "is wrong; %v", err)
	}
	p.sourced = true
	return nil
}

// ends is a pair of angles, lower and upper.
type ends struct {
	lower, upper value[angle]
	set          bool
}

func (e *ends) given() bool { return e.set }

func (e *ends) UnmarshalYAML(n *yaml.Node) error {
	e.set = true
	if n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
		return fault(n, "is not a pair; an axis has two ends; write [lower, upper]")
	}
	if err := e.lower.UnmarshalYAML(n.Content[0]); err != nil {
		return err
	}
	return e.upper.UnmarshalYAML(n.Content[1])
}

func (e *ends) angles() [2]quantity.Angle {
	return [2]quantity.Angle{quantity.Angle(e.lower.value), quantity.Angle(e.upper.value)}
}

// words is a list of words.
type words struct {
	values []string
	set    bool
}

func (w *words) given() bool { return w.set }

func (w *words) UnmarshalYAML(n *yaml.Node) error {
	w.set = true
	if n.Kind != yaml.SequenceNode {
		return fault(n, "is not a list; need words; write [first, second]")
	}
	for _, item := range n.Content {
		word, err := single(item, "a word")
		if err != nil {
			return err
		}
		w.values = append(w.values, word)
	}
	return nil
}
