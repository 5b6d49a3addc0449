package station

import (
	"fmt"
	"slices"
	"strings"

	"haltmark/bench/link"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// Seats lists the seats of all devices in their order, at the addresses where they really
// are once the station is served.
func (s *Station) Seats() []Seat {
	seats := slices.Clone(s.set.Seats)
	for i, f := range s.fronts {
		if f != nil {
			seats[i].Endpoint = f.listener.Endpoint()
		}
	}
	return seats
}

// serve opens one listener for each address, in the order of its first seat. Port 0 is
// never shared: each such seat gets a port of its own.
func (s *Station) serve(net link.Network) ([]link.Listener, error) {
	var listeners []link.Listener
	shared := map[link.Endpoint]*front{}
	for i := range s.set.Seats {
		seat := &s.set.Seats[i]
		k := seat.Role.Kind()
		if k.within != nil && k.within(s, seat.Index) {
			// It is on the network already, behind the seat of the one before it.
			s.fronts[i] = s.fronts[i-1]
			continue
		}
		f, err := shared[seat.Endpoint], error(nil)
		if f == nil {
			if f, err = s.open(net, &k, seat); err != nil {
				return listeners, fmt.Errorf("%s: %w", seat.Name, err)
			}
			listeners = append(listeners, f.listener)
			if k.Protocol.Units && !strings.HasSuffix(seat.Endpoint.Address, ":0") {
				shared[seat.Endpoint] = f
			}
		}
		if k.bank != nil {
			err = f.attach(seat, k.bank(s, seat.Index))
		}
		if err != nil {
			return listeners, fmt.Errorf("%s: %w", seat.Name, err)
		}
		f.units++
		s.fronts[i] = f
	}
	return listeners, nil
}

func (s *Station) open(net link.Network, k *Kind, seat *Seat) (*front, error) {
	f := &front{}
	session := func() link.Session { return f }
	if k.bank != nil {
		f.server = &modbus.Server{SilentUnknown: true}
	} else {
		session = func() link.Session { return k.open(s, seat.Index) }
	}
	var err error
	f.listener, err = net.Serve(link.Service{
		Name: seat.Name, Endpoint: seat.Endpoint, Framing: k.Protocol.framing,
		Open: session, Advance: s.Advance,
	})
	return f, err
}

// attach puts a device behind its register map and its unit id.
func (f *front) attach(seat *Seat, device registers.Device) error {
	bank, err := registers.Bind(seat.Map, device, seat.Gear)
	if err != nil {
		return err
	}
	if f.server.Unit(seat.Unit) != nil {
		return fmt.Errorf("unit %d behind %v is taken", seat.Unit, seat.Endpoint)
	}
	id, err := identity(seat)
	if err == nil {
		f.server.Attach(seat.Unit, &modbus.Unit{Bank: bank, Identity: id})
	}
	return err
}

// Registers is a device as its register map finds it; nil of one that has no such map.
func (s *Station) Registers(d Device) registers.Device {
	if bank := d.Role.Kind().bank; bank != nil {
		return bank(s, d.Index)
	}
	return nil
}

// identity is what a device says of itself by function 43/14: who plays it, its
// register map as the product, and the map's form as the revision.
func identity(seat *Seat) (*modbus.Identity, error) {
	return modbus.NewIdentity(false,
		modbus.Object{ID: 0, Text: "Haltmark (emulated)"},
		modbus.Object{ID: 1, Text: seat.Map.Name},
		modbus.Object{ID: 2, Text: "1"})
}

// front is the address of a device; nil before the station is served, and without a seat.
func (s *Station) front(d Device) *front {
	i := slices.IndexFunc(s.set.Seats, func(seat Seat) bool { return seat.Device == d })
	if i < 0 {
		return nil
	}
	return s.fronts[i]
}
