package config

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/registers"
)

// Station is a station as loaded: its parameters, its devices and what both
// make. It never changes; WithOverride makes another.
type Station struct {
	form    stationFile
	doc     *document
	sheets  [plant.MotorCount]sheet
	maps    map[station.Device]registers.Map
	table   table
	files   []File
	figures [plant.MainAxes]plant.Figures

	overrides map[string]float64
}

// LoadStation loads a station by its embedded name or its file's path, with the
// drive sheets and register maps it names, and enforces every rule. The error is
// of type Problems when the files are at fault.
func LoadStation(name string) (*Station, error) {
	f, err := open(kindStation, name)
	if err != nil {
		return nil, err
	}
	s, r, err := assemble(f, nil)
	if err != nil {
		return nil, err
	}
	s.enforce(r)
	if err := r.err(); err != nil {
		return nil, err
	}
	return s, nil
}

// assemble makes a station of its file, without the rules that a corner may break.
func assemble(f *file, overrides map[string]float64) (*Station, *report, error) {
	s, r := &Station{overrides: overrides}, &report{}
	s.doc = decode(f, &s.form, r)
	if err := r.err(); err != nil {
		return nil, nil, err
	}
	s.files = []File{f.summary()}
	if err := s.override(overrides); err != nil {
		return nil, nil, err
	}
	s.table = s.doc.parameters(&s.form, s.form.Origin.value, "", r)
	s.loadDevices(r)
	s.checkWords(r)
	s.checkMechanics(r)
	if err := r.err(); err != nil {
		return nil, nil, err
	}
	s.derive()
	s.table = s.table.sorted()
	s.checkDevices(r)
	if err := r.err(); err != nil {
		return nil, nil, err
	}
	return s, r, nil
}

// Name is what the station calls itself.
func (s *Station) Name() string { return s.form.Station.value }

// Files lists the files that the station came from, itself first.
func (s *Station) Files() []File { return slices.Clone(s.files) }

// Parameters is the flat table in order of path.
func (s *Station) Parameters() []Parameter { return slices.Clone(s.table) }

// Lookup finds a parameter, given or derived, by its path.
func (s *Station) Lookup(path string) (Parameter, bool) { return s.table.lookup(path) }

// Limit is Lookup as verdicts need it: value in SI and dimension.
func (s *Station) Limit(path string) (si float64, d quantity.Dimension, ok bool) {
	p, ok := s.table.lookup(path)
	return p.Value, p.Dimension, ok
}

// Figures are what follows for a main axis from its parameters.
func (s *Station) Figures(axis plant.Axis) plant.Figures { return s.figures[axis] }

// ErrParameter is an override of a parameter that is not there or not given.
var ErrParameter = errors.New("config: no such parameter to override")

// WithOverride is the station with one parameter at another value, in SI. Rules
// are not enforced, since a corner is meant to leave nominal ground. Only given
// parameters of the station file can be overridden, not derived ones.
func (s *Station) WithOverride(path string, si float64) (*Station, error) {
	overrides := maps.Clone(s.overrides)
	if overrides == nil {
		overrides = map[string]float64{}
	}
	overrides[path] = si
	changed, _, err := assemble(s.doc.file, overrides)
	return changed, err
}

// override puts the values of a corner into the form.
func (s *Station) override(values map[string]float64) error {
	found := 0
	s.eachParameter(func(path string, p parameter) {
		si, ok := values[path]
		if !ok {
			return
		}
		in := p.inner()
		in.value = si
		in.lowest, in.highest = min(in.lowest, si), max(in.highest, si)
		found++
	})
	if found == len(values) {
		return nil
	}
	known := map[string]bool{}
	s.eachParameter(func(path string, _ parameter) { known[path] = true })
	for _, path := range slices.Sorted(maps.Keys(values)) {
		if !known[path] {
			return fmt.Errorf("%w: %s", ErrParameter, path)
		}
	}
	return nil
}

// eachParameter calls do for every parameter of the station file.
func (s *Station) eachParameter(do func(path string, p parameter)) {
	visit(&s.form, func(at string, _ reflect.StructField, l leaf) {
		switch p := l.(type) {
		case *ends:
			do(public(at)+".lower", &p.lower)
			do(public(at)+".upper", &p.upper)
		case parameter:
			do(public(at), p)
		}
	})
}
