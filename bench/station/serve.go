package station

import (
	"fmt"

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

// front is one address with the devices behind it.
type front struct {
	server   *modbus.Server
	listener link.Listener
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
		key := d.seat.Endpoint.String()
		f := fronts[key]
		if f == nil {
			if f, err = s.open(net, d.seat); err != nil {
				return listeners, fmt.Errorf("%s: %w", d.seat.Name, err)
			}
			fronts[key] = f
			listeners = append(listeners, f.listener)
		}
		f.server.Attach(d.seat.Unit, &modbus.Unit{Bank: unit})
		d.seat.Endpoint = f.listener.Endpoint()
		s.wires[i] = f.listener.Impairments()
	}
	return listeners, nil
}

func (s *Station) open(net link.Network, seat *Seat) (*front, error) {
	server := &modbus.Server{SilentUnknown: true}
	l, err := net.Serve(link.Service{
		Name: seat.Name, Endpoint: seat.Endpoint, Framing: link.ModbusTCP,
		Open:    func() link.Session { return server },
		Advance: s.Advance,
	})
	return &front{server, l}, err
}

// wire is the traffic of a device; nil before the station is served.
func (s *Station) wire(d fault.Device) *link.Impairments {
	switch d.Role {
	case fault.Encoder:
		return s.wires[firstEncoder+d.Index]
	case fault.Drive:
		return s.wires[firstDrive+d.Index]
	}
	return s.wires[interlockAt]
}
