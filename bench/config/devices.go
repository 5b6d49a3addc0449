package config

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
	"haltmark/emulators/registers"
)

// axis is what all axes have, of one of them.
func (s *Station) axis(axis plant.Axis) *axisSection {
	a := &s.form.Axes
	return [plant.AxisCount]*axisSection{&a.Azimuth.axisSection, &a.Elevation.axisSection,
		&a.PolarizationH.axisSection, &a.PolarizationV.axisSection}[axis]
}

// mainAxis is all of azimuth or elevation.
func (s *Station) mainAxis(axis plant.Axis) *mainAxisSection {
	if axis == plant.Azimuth {
		return &s.form.Axes.Azimuth
	}
	return &s.form.Axes.Elevation
}

// loadDevices reads the maps and sheets that the seats name.
func (s *Station) loadDevices(r *report) {
	s.maps = map[station.Device]registers.Map{}
	for _, p := range s.places() {
		if m := p.mapped(); m != nil {
			if f := s.reference(kindMap, p.at+".map", m.Map.value, r); f != nil {
				s.maps[p.Device] = readMap(f, string(p.Role), r)
			}
		}
		if p.Role == station.RoleDrive {
			s.loadSheet(p.Index, p.at+".sheet", r)
		}
	}
	s.checkServos(r)
}

func (s *Station) loadSheet(motor int, at string, r *report) {
	f := s.reference(kindSheet, at, s.driveSeat(motor).Sheet.value, r)
	if f == nil {
		return
	}
	var rows []Parameter
	s.sheets[motor], rows = readSheet(f, plant.MotorNames[motor], r)
	s.table = append(s.table, rows...)
}

// reference opens a file that the station names, or reports at its key why not.
func (s *Station) reference(kind, at, name string, r *report) *file {
	f, err := openReference(kind, name, s.doc.file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		r.add(s.doc.file, s.doc.line(at), "%s names %q, which is not read; %s; put a file into the "+
			"folder of this one and name it from there", at, name, Reason(err))
		return nil
	}
	if err != nil {
		r.add(s.doc.file, s.doc.line(at), "%s names %q, which is neither beside this file nor "+
			"embedded; embedded are %s; name one that is there", at, name,
			strings.Join(Embedded(kind), ", "))
		return nil
	}
	if !slices.Contains(s.files, f.summary()) {
		s.files = append(s.files, f.summary())
	}
	return f
}

// checkWords reports words that mean nothing here.
func (s *Station) checkWords(r *report) {
	s.checkSeats(r)
	s.checkWeather(r)
	s.checkMast(r)
	i := &s.form.Interlock
	for _, row := range []struct{ key, word string }{{"hatch", i.Hatch.value},
		{"ladder", i.Ladder.value}, {"pin", i.Pin.value}, {"mode_change", i.ModeChange.value}} {
		s.oneOf("interlock."+row.key, row.word, stopWords(), r)
	}
	for axis := range plant.AxisCount {
		at := "wiring." + plant.AxisNames[axis]
		for _, contact := range s.contacts(axis) {
			known := []string{"final_limit", "isolator"}
			if axis >= plant.MainAxes {
				known = known[1:] // no limit switches there
			}
			s.oneOf(at, contact, known, r)
		}
		s.ratedBelowPeak(plant.Axis(axis), r)
	}
	s.checkSafe(r)
	s.checkEncoders(r)
}

func (s *Station) contacts(axis int) []string {
	w := &s.form.Wiring
	return [plant.AxisCount]*words{&w.Azimuth, &w.Elevation, &w.PolarizationH,
		&w.PolarizationV}[axis].values
}

// stopWords are the words for interlock.Stops, in order of its numbers.
func stopWords() []string { return []string{"never", "in motion", "always"} }

func (s *Station) oneOf(at, word string, known []string, r *report) {
	if !slices.Contains(known, word) {
		r.add(s.doc.file, s.doc.line(at), "%s: %q is not known here; need %s",
			at, word, alternatives(known))
	}
}

// alternatives words a choice: "a", "a or b", "a, b or c".
func alternatives(known []string) string {
	last := len(known) - 1
	if last < 1 {
		return strings.Join(known, "")
	}
	return strings.Join(known[:last], ", ") + " or " + known[last]
}

// checkDevices lets every device say what is wrong with its parameters, and then with its
// register map.
func (s *Station) checkDevices(r *report) {
	made := s.Station()
	sound := true
	complain := func(at string, err error) {
		if err != nil {
			sound = false
			text := strings.ReplaceAll(err.Error(), "\n", "; ")
			r.add(s.doc.file, s.doc.line(at), "%s: %s; mend it", public(at), text)
		}
	}
	for axis, e := range made.Encoders {
		at := "encoders." + plant.AxisNames[axis]
		if !s.encoderSeat(axis).countable() {
			sound = false // which has a rule of its own
			continue
		}
		complain(at, cmp.Or(e.Check(), covers(s.axis(plant.Axis(axis)), e)))
	}
	for motor, d := range made.Drives {
		at := "drives." + plant.MotorNames[motor]
		complain(at, d.Check())
		if d.Check() == nil && d.Servo {
			complain(at+".sheet", drive.ServoParameters{Motor: d.Parameters, Bias: d.Bias}.Check())
		}
	}
	_, err := interlock.New(made.Interlock)
	complain("interlock", err)
	_, err = plant.New(made.Plant, plantStep)
	complain("axes", err)
	if !sound {
		return
	}
	whole, err := station.New(made, station.Options{})
	complain("station", err)
	for _, seat := range made.Seats {
		if err != nil || !seat.Role.Kind().Protocol.Units {
			continue
		}
		_, unfit := registers.Bind(seat.Map, whole.Registers(seat.Device), seat.Gear)
		complain(seat.Key()+".map", unfit)
	}
}

// covers reports whether an encoder's range holds the travel of its axis without
// coming round.
func covers(a *axisSection, e encoder.Parameters) error {
	span := float64(e.TotalRange) * float64(e.CountAngle())
	if travel := a.SoftwareLimit.upper.value - a.SoftwareLimit.lower.value; travel >= span {
		return fmt.Errorf("its range of turns is shorter than the travel of its axis")
	}
	return nil
}
