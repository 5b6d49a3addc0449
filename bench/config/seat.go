package config

import (
	"fmt"
	"net/netip"
	"reflect"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/station"
)

// seatSection is the place of a device on the network. Emulated is the only kind
// of seat so far, and the one that is meant where the key is left out.
type seatSection struct {
	Name     text `yaml:"name"`
	Seat     text `yaml:"seat,omitempty"`
	Protocol text `yaml:"protocol"`
	Endpoint text `yaml:"endpoint"`
}

// deviceSection is the seat of a device behind a register map.
type deviceSection struct {
	seatSection `yaml:",inline"`
	Unit        count `yaml:"unit"`
	Map         text  `yaml:"map"`
}

// seated is a section with a seat in it; mapped is nil where it has no register map.
type seated interface {
	seat() *seatSection
	mapped() *deviceSection
}

func (s *seatSection) seat() *seatSection       { return s }
func (s *seatSection) mapped() *deviceSection   { return nil }
func (s *deviceSection) mapped() *deviceSection { return s }

// place is the seat of a device with the path of its keys.
type place struct {
	station.Device
	at string
	seated
}

// places lists every seat of the file, in the order of the station's devices.
func (s *Station) places() []place {
	var found []place
	for _, d := range station.Devices() {
		if section := s.section(d); section != nil {
			found = append(found, place{d, d.Key(), section})
		}
	}
	return found
}

// section is that of a device, found by its keys; nil where the file leaves it out.
func (s *Station) section(d station.Device) seated {
	v := reflect.ValueOf(&s.form).Elem()
	for _, key := range []string{d.Role.Kind().Key, d.Of()} {
		if key == "" {
			continue
		}
		if v = below(v, key); !v.IsValid() {
			return nil
		}
	}
	section, _ := v.Addr().Interface().(seated)
	return section
}

// below is what stands under a key of a section; not valid where nothing does.
func below(section reflect.Value, key string) reflect.Value {
	for i := range section.NumField() {
		if keyOf(section.Type().Field(i)) == key {
			return reflect.Indirect(section.Field(i))
		}
	}
	return reflect.Value{}
}

func (s *Station) encoderSeat(axis int) *encoderSeatSection {
	return s.section(station.Device{Role: station.RoleEncoder, Index: axis}).(*encoderSeatSection)
}

func (s *Station) driveSeat(motor int) *driveSeatSection {
	return s.section(station.Device{Role: station.RoleDrive, Index: motor}).(*driveSeatSection)
}

// seats are those of the assembled station.
func (s *Station) seats() []station.Seat {
	var all []station.Seat
	for _, p := range s.places() {
		k := p.Role.Kind()
		seat := station.Seat{Device: p.Device, Name: p.seat().Name.value, Gear: s.gear(p.Device),
			Endpoint: link.Endpoint{Network: k.Protocol.Network, Address: p.seat().Endpoint.value},
			Map:      s.maps[p.Device]}
		if m := p.mapped(); m != nil {
			seat.Unit = byte(m.Unit.value)
		}
		all = append(all, seat)
	}
	return all
}

// gear is the motor turns for one of the axis that a device is on.
func (s *Station) gear(d station.Device) float64 {
	switch d.Role {
	case station.RoleEncoder:
		return s.axis(plant.Axis(d.Index)).Gear.value
	case station.RoleDrive:
		return s.axis(plant.MotorAxis[d.Index]).Gear.value
	}
	return 1
}

// checkSeats reports what seats say that means nothing here.
func (s *Station) checkSeats(r *report) {
	for _, p := range s.places() {
		seat := p.seat()
		s.oneOf(p.at+".protocol", seat.Protocol.value, []string{p.Role.Kind().Protocol.Name}, r)
		if seat.Seat.set {
			s.oneOf(p.at+".seat", seat.Seat.value, []string{"emulated"}, r)
		}
		if m := p.mapped(); m != nil && (m.Unit.value < 0 || m.Unit.value > 255) {
			r.add(s.doc.file, s.doc.line(p.at+".unit"), "%s.unit is %d; a unit id is one byte; "+
				"give 0 to 255", p.at, m.Unit.value)
		}
		if _, err := netip.ParseAddrPort(seat.Endpoint.value); err != nil {
			r.add(s.doc.file, s.doc.line(p.at+".endpoint"), "%s.endpoint: %q is not an address with a "+
				"port; need such as 127.0.0.1:15021", p.at, seat.Endpoint.value)
		}
	}
}

// ruleAddresses is the second part of rule 10.
func (s *Station) ruleAddresses(r *report) {
	var before []place
	for _, p := range s.places() {
		if s.secondSeat(p.Device) {
			continue
		}
		for _, other := range before {
			if other.seat().Name.value == p.seat().Name.value {
				r.add(s.doc.file, s.doc.line(p.at), "%s has the name %s, as %s has; give it another name",
					p.at, p.seat().Name.value, other.at)
			}
			if at, share := p.clashes(other); at != "" {
				r.add(s.doc.file, s.doc.line(p.at+".endpoint"), "%s is at %s, where %s is already; "+
					"two devices never share address, port and unit; give it another port%s (rule 10)",
					p.at, at, other.at, share)
			}
		}
		before = append(before, p)
	}
}

// clashes tells where two seats are at one place; only units can share an address, each
// by an id of its own.
func (p place) clashes(other place) (at, otherwise string) {
	at = p.seat().Endpoint.value
	if at != other.seat().Endpoint.value {
		return "", ""
	}
	m, o := p.mapped(), other.mapped()
	if m == nil || o == nil {
		return at, ""
	}
	if m.Unit.value != o.Unit.value {
		return "", ""
	}
	return fmt.Sprintf("%s unit %d", at, m.Unit.value), " or unit"
}
