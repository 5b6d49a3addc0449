package station

import (
	"fmt"
	"strings"

	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// The devices on the wire: encoders by axis, drives by motor, the interlock unit.
const (
	firstEncoder = 0
	firstDrive   = firstEncoder + plant.AxisCount
	interlockAt  = firstDrive + plant.MotorCount
	deviceCount  = interlockAt + 1
)

// seated is a device with its place on the network.
type seated struct {
	seat   *Seat
	device registers.Device
}

// seats lists every device, in the order above.
func (s *Station) seats() [deviceCount]seated {
	var all [deviceCount]seated
	for a := range s.Encoders {
		all[firstEncoder+a] = seated{&s.set.Encoders[a].Seat, s.Encoders[a]}
	}
	for m := range s.Drives {
		all[firstDrive+m] = seated{&s.set.Drives[m].Seat, s.Drives[m]}
	}
	all[interlockAt] = seated{&s.set.Interlock.Seat, s.Interlock}
	return all
}

// Seats lists the seats of every device, for whoever prints them.
func (s *Station) Seats() []Seat {
	var seats []Seat
	for _, d := range s.seats() {
		seats = append(seats, *d.seat)
	}
	return seats
}

// serve opens one listener for each address, in the order of its first seat.
// Port 0 is never shared: each such seat gets a port of its own.
func (s *Station) serve(net link.Network) ([]link.Listener, error) {
	var listeners []link.Listener
	fronts := map[string]*front{}
	for i, d := range s.seats() {
		unit, err := registers.Bind(d.seat.Map, d.device, d.seat.Gear)
		if err != nil {
			return listeners, fmt.Errorf("%s: %w", d.seat.Name, err)
		}
		if m := i - firstDrive; s.shares(m) {
			// The unit is on the network already, behind its first motor's seat.
			s.fronts[i] = s.fronts[i-1]
			d.seat.Endpoint = s.fronts[i].listener.Endpoint()
			continue
		}
		key := d.seat.Endpoint.String()
		f := fronts[key]
		if f == nil {
			if f, err = s.open(net, d.seat); err != nil {
				return listeners, fmt.Errorf("%s: %w", d.seat.Name, err)
			}
			listeners = append(listeners, f.listener)
			if !strings.HasSuffix(d.seat.Endpoint.Address, ":0") {
				fronts[key] = f
			}
		}
		if f.server.Unit(d.seat.Unit) != nil {
			return listeners, fmt.Errorf("%s: unit %d behind %v is taken", d.seat.Name,
				d.seat.Unit, d.seat.Endpoint)
		}
		id, err := identity(d.seat)
		if err != nil {
			return listeners, fmt.Errorf("%s: %w", d.seat.Name, err)
		}
		f.server.Attach(d.seat.Unit, &modbus.Unit{Bank: unit, Identity: id})
		f.units++
		d.seat.Endpoint = f.listener.Endpoint()
		s.fronts[i] = f
	}
	mast, err := s.serveMast(net)
	if mast != nil {
		listeners = append(listeners, mast)
	}
	return listeners, err
}

func (s *Station) open(net link.Network, seat *Seat) (*front, error) {
	f := &front{server: &modbus.Server{SilentUnknown: true}}
	var err error
	f.listener, err = net.Serve(link.Service{
		Name: seat.Name, Endpoint: seat.Endpoint, Framing: link.ModbusTCP,
		Open:    func() link.Session { return f },
		Advance: s.Advance,
	})
	return f, err
}

// identity is what a device says of itself by function 43/14: who plays it, its
// register map as the product, and the map's form as the revision.
func identity(seat *Seat) (*modbus.Identity, error) {
	return modbus.NewIdentity(false,
		modbus.Object{ID: 0, Text: "Haltmark (emulated)"},
		modbus.Object{ID: 1, Text: seat.Map.Name},
		modbus.Object{ID: 2, Text: "1"})
}

// place is where a device stands among the seats.
func place(d fault.Device) int {
	switch d.Role {
	case fault.Encoder:
		return firstEncoder + d.Index
	case fault.Drive:
		return firstDrive + d.Index
	}
	return interlockAt
}

// wire is the address of a device; nil before the station is served, and of a mast
// that has no seat.
func (s *Station) wire(d fault.Device) *front {
	if d.Role == fault.Mast {
		return s.mastFront
	}
	return s.fronts[place(d)]
}
