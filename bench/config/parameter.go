package config

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"time"

	"haltmark/bench/quantity"
)

// Parameter is one row of a station's flat table. Values are SI.
type Parameter struct {
	Path                   string // such as "azimuth.full_rate"
	Dimension              quantity.Dimension
	Value, Lowest, Highest float64
	Origin                 quantity.Origin
	Derived                bool   // computed from others; its origin is the weakest of theirs
	Where                  string // file:line; of a derived one, of what it is derived from
}

// String prints path and value with its unit.
func (p Parameter) String() string {
	return p.Path + " = " + quantity.Format(p.Dimension, p.Value)
}

// parameters lists what a file gives, and reports values out of bounds. Paths
// begin with prefix.
func (d *document) parameters(section any, origin, prefix string, r *report) []Parameter {
	standard, err := quantity.ParseOrigin(origin)
	if err != nil {
		r.add(d.file, d.line("origin"), "origin: %v", err)
	}
	var rows []Parameter
	odd := plausible()
	row := func(at string, field reflect.StructField, p parameter) {
		in := p.inner()
		if !in.sourced {
			in.origin = standard
		}
		name := prefix + public(at)
		if d.bounds(at, field.Tag.Get("range"), p, r) {
			d.believe(odd, at, p, r)
		}
		rows = append(rows, Parameter{Path: name, Dimension: p.dimension(), Value: in.value,
			Lowest: in.lowest, Highest: in.highest, Origin: in.origin,
			Where: fmt.Sprintf("%s:%d", d.name, d.line(at))})
	}
	visit(section, func(at string, field reflect.StructField, l leaf) {
		if !l.given() && optional(field) {
			return
		}
		switch p := l.(type) {
		case *ends:
			field.Tag = `range:"any"`
			row(at+".lower", field, &p.lower)
			row(at+".upper", field, &p.upper)
			if !(p.lower.value < p.upper.value) {
				r.add(d.file, d.line(at), "%s runs from %v to %v; lower must come first; swap them",
					public(at), quantity.Angle(p.lower.value), quantity.Angle(p.upper.value))
			}
		case parameter:
			row(at, field, p)
		}
	})
	return rows
}

// bounds reports a value that the key does not allow, its range included, and tells
// whether there was none.
func (d *document) bounds(at, allowed string, p parameter, r *report) bool {
	in, before := p.inner(), len(r.found)
	switch {
	case allowed == "any":
	case allowed == "zero" && in.lowest < 0:
		r.add(d.file, d.line(at), "%s is %s; it must not be below 0; give 0 or more",
			public(at), quantity.Format(p.dimension(), in.lowest))
	case allowed == "" && in.lowest <= 0:
		r.add(d.file, d.line(at), "%s is %s; it must be above 0; give a positive value",
			public(at), quantity.Format(p.dimension(), in.lowest))
	}
	if p.dimension() == quantity.DimSpan && in.highest > maxSpan.Seconds() {
		r.add(d.file, d.line(at), "%s is %s; no span here is longer than a day; shorten it",
			public(at), quantity.Format(p.dimension(), in.highest))
	}
	return len(r.found) == before
}

const maxSpan = 24 * time.Hour

// table is the parameters in order of path.
type table []Parameter

func (t table) sorted() table {
	slices.SortFunc(t, func(a, b Parameter) int { return cmp.Compare(a.Path, b.Path) })
	return t
}

func (t table) lookup(path string) (Parameter, bool) {
	i, ok := slices.BinarySearchFunc(t, path, func(p Parameter, path string) int {
		return cmp.Compare(p.Path, path)
	})
	if !ok {
		return Parameter{}, false
	}
	return t[i], true
}
