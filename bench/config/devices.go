package config

import (
	"fmt"
	"net/netip"
	"slices"
	"strings"

	"haltmark/bench/plant"
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

func (s *Station) encoderSeat(axis int) *encoderSeatSection {
	e := &s.form.Encoders
	return [plant.AxisCount]*encoderSeatSection{&e.Azimuth, &e.Elevation, &e.PolarizationH,
		&e.PolarizationV}[axis]
}

func (s *Station) driveSeat(motor int) *driveSeatSection {
	d := &s.form.Drives
	return [plant.MotorCount]*driveSeatSection{&d.Azimuth1, &d.Azimuth2, &d.Elevation1,
		&d.Elevation2, &d.PolarizationH1, &d.PolarizationV1}[motor]
}

// place is a seat with the path of its keys.
type place struct {
	at   string
	seat *seatSection
}

// places lists every seat in a fixed order.
func (s *Station) places() []place {
	var found []place
	for axis := range plant.AxisCount {
		found = append(found, place{"encoders." + plant.AxisNames[axis],
			&s.encoderSeat(axis).seatSection})
	}
	for motor := range plant.MotorCount {
		found = append(found, place{"drives." + plant.MotorNames[motor],
			&s.driveSeat(motor).seatSection})
	}
	return append(found, place{"interlock_unit", &s.form.Unit.seatSection})
}

// loadDevices reads the maps and sheets that the seats name.
func (s *Station) loadDevices(r *report) {
	for axis := range plant.AxisCount {
		s.maps.encoders[axis] = s.loadMap("encoders."+plant.AxisNames[axis], "encoder",
			&s.encoderSeat(axis).seatSection, r)
	}
	for motor := range plant.MotorCount {
		seat, at := s.driveSeat(motor), "drives."+plant.MotorNames[motor]
		s.maps.drives[motor] = s.loadMap(at, "drive", &seat.seatSection, r)
		f := s.reference(kindSheet, at+".sheet", seat.Sheet.value, r)
		if f == nil {
			continue
		}
		var rows []Parameter
		s.sheets[motor], rows = readSheet(f, plant.MotorNames[motor], r)
		s.table = append(s.table, rows...)
	}
	s.checkServos(r)
	s.maps.interlock = s.loadMap("interlock_unit", "interlock", &s.form.Unit.seatSection, r)
}

func (s *Station) loadMap(at, device string, seat *seatSection, r *report) registers.Map {
	f := s.reference(kindMap, at+".map", seat.Map.value, r)
	if f == nil {
		return registers.Map{}
	}
	return readMap(f, device, r)
}

// reference opens a file that the station names, or reports at its key that it
// is not there.
func (s *Station) reference(kind, at, name string, r *report) *file {
	f, err := openReference(kind, name, s.doc.file)
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
	for _, p := range s.places() {
		s.oneOf(p.at+".protocol", p.seat.Protocol.value, []string{"modbus-tcp"}, r)
		if p.seat.Seat.set {
			s.oneOf(p.at+".seat", p.seat.Seat.value, []string{"emulated"}, r)
		}
		if u := p.seat.Unit.value; u < 0 || u > 255 {
			r.add(s.doc.file, s.doc.line(p.at+".unit"), "%s.unit is %d; a unit id is one byte; "+
				"give 0 to 255", p.at, u)
		}
		s.endpoint(p.at+".endpoint", p.seat.Endpoint.value, r)
	}
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

func (s *Station) endpoint(at, address string, r *report) {
	if _, err := netip.ParseAddrPort(address); err != nil {
		r.add(s.doc.file, s.doc.line(at), "%s: %q is not an address with a port; "+
			"need such as 127.0.0.1:15021", at, address)
	}
}

// checkDevices lets every device say what is wrong with its parameters.
func (s *Station) checkDevices(r *report) {
	made := s.Station()
	complain := func(at string, err error) {
		if err != nil {
			text := strings.ReplaceAll(err.Error(), "\n", "; ")
			r.add(s.doc.file, s.doc.line(at), "%s: %s; mend it", public(at), text)
		}
	}
	for axis, e := range made.Encoders {
		at := "encoders." + plant.AxisNames[axis]
		if !s.encoderSeat(axis).countable() {
			continue // has been said
		}
		complain(at, e.Check())
		if e.Check() == nil {
			complain(at, covers(s.axis(plant.Axis(axis)), e.Parameters))
			_, err := registers.Bind(e.Seat.Map, encoder.New(e.Parameters), e.Seat.Gear)
			complain(at+".map", err)
		}
	}
	for motor, d := range made.Drives {
		at := "drives." + plant.MotorNames[motor]
		complain(at, d.Check())
		if d.Check() == nil {
			_, err := registers.Bind(d.Seat.Map, drive.New(d.Parameters), d.Seat.Gear)
			complain(at+".map", err)
			if d.Servo {
				complain(at+".sheet", drive.ServoParameters{Motor: d.Parameters, Bias: d.Bias}.Check())
			}
		}
	}
	unit, err := interlock.New(made.Interlock.Parameters)
	complain("interlock", err)
	if err == nil {
		_, err = registers.Bind(made.Interlock.Seat.Map, unit, made.Interlock.Seat.Gear)
		complain("interlock_unit.map", err)
	}
	_, err = plant.New(made.Plant, plantStep)
	complain("axes", err)
}

// covers tells whether an encoder's range holds the travel of its axis without
// coming round.
func covers(a *axisSection, e encoder.Parameters) error {
	span := float64(e.TotalRange) * float64(e.CountAngle())
	if travel := a.SoftwareLimit.upper.value - a.SoftwareLimit.lower.value; travel >= span {
		return fmt.Errorf("its range of turns is shorter than the travel of its axis")
	}
	return nil
}
