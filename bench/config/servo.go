package config

import (
	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
)

// servo tells a motor whose drive is a unit for both motors of its axis.
func (s *Station) servo(motor int) bool {
	return plant.MotorAxis[motor].Main() && s.sheets[motor].form.Per.value == "axis"
}

// secondSeat tells a drive whose seat only repeats that of a servo unit.
func (s *Station) secondSeat(d station.Device) bool {
	if d.Role != station.RoleDrive {
		return false
	}
	first, _ := plant.MotorAxis[d.Index].Motors()
	return d.Index != first && s.servo(d.Index) && s.servo(first)
}

// checkServos reports a sheet for a whole axis that only one of its motors names,
// or that they name at two places.
func (s *Station) checkServos(r *report) {
	for motor := range plant.MotorCount {
		if s.sheets[motor].form.Per.value != "axis" {
			continue
		}
		seat, at := s.driveSeat(motor), "drives."+plant.MotorNames[motor]
		first, count := plant.MotorAxis[motor].Motors()
		if count != drive.ServoMotors {
			r.add(s.doc.file, s.doc.line(at+".sheet"), "%s.sheet names %s, a unit for two motors; the "+
				"axis has %d; name a sheet for one motor", at, seat.Sheet.value, count)
			continue
		}
		other := s.driveSeat(2*first + 1 - motor)
		otherAt := "drives." + plant.MotorNames[2*first+1-motor]
		switch {
		case other.Sheet.value != seat.Sheet.value:
			r.add(s.doc.file, s.doc.line(at+".sheet"), "%s.sheet names %s, a unit for both motors of "+
				"the axis; %s names %s; name one sheet at both", at, seat.Sheet.value, otherAt,
				other.Sheet.value)
		case motor != first && (other.Endpoint.value != seat.Endpoint.value ||
			other.Unit.value != seat.Unit.value || other.Map.value != seat.Map.value):
			r.add(s.doc.file, s.doc.line(at), "%s is at %s unit %d and %s at %s unit %d; one unit "+
				"serves both motors; give both one address, port, unit and map", at,
				seat.Endpoint.value, seat.Unit.value, otherAt, other.Endpoint.value, other.Unit.value)
		}
	}
}
