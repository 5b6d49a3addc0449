package station

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/link"
	"haltmark/emulators/registers"
)

// Kind declares one kind of device, once. Whatever is about all devices reads the list of
// Kinds: seats and their addresses, sessions, the order within a plant step, the device
// sheet, the targets of faults, and how far time may be passed over. A test names the field
// that a kind has forgotten.
//
// due is the next instant at which a device does something by itself while nobody touches
// it and its inputs stay: fast-forward goes no further, and 0 means the next step.
// s.nextDue() is the first one of all kinds that are not paced.
type Kind struct {
	Role     Role
	Of       []string // the axes or motors that have one each; of a single device, {""}
	Key      string   // of its seats in a station file, below which stand those names
	Optional bool     // a station may lack it
	Unasked  bool     // it speaks by itself; any other is polled
	Protocol Protocol

	// make makes every device of the kind with the station around it.
	make func(s *Station) error
	// bank is a device behind its register map, of a protocol with units; open, of any
	// other, is the session of a new connection to it.
	bank func(s *Station, i int) registers.Device
	open func(s *Station, i int) link.Session
	// within tells a device that is one with the one before it and has no seat of its own;
	// nil where none is.
	within func(s *Station, i int) bool

	// Place is where in a plant step the kind acts, by step, every device of it at once.
	Place Place
	step  func(s *Station, now time.Duration)
	due   func(s *Station, i int) time.Duration
	// faults are its own, beside what can happen to any wire.
	faults func() []faultKind
	// paced tells that fast-forward steps the kind where it is due, instead of ending there.
	paced bool
}

// Quantities are those that a register map of the kind may have: they never change, so a
// device that was not made tells them too.
func (k Kind) Quantities() []string { return k.bank(&Station{}, 0).Quantities() }

// Role is what a device is, in the word of the device sheet.
type Role string

// Kind is that of a role. A role that no kind has is the caller's error and panics.
func (r Role) Kind() Kind {
	kinds := Kinds()
	i := slices.IndexFunc(kinds, func(k Kind) bool { return k.Role == r })
	if i < 0 {
		panic(fmt.Sprintf("station: no kind of device is a %q", string(r)))
	}
	return kinds[i]
}

// Device is one device: Index is its axis, its motor, or 0.
type Device struct {
	Role  Role
	Index int
}

// Devices lists every device that a station may have, in the order of the device sheet.
func Devices() []Device {
	var all []Device
	for _, k := range Kinds() {
		for i := range k.Of {
			all = append(all, Device{k.Role, i})
		}
	}
	return all
}

// Of names the axis or the motor; empty of a single device.
func (d Device) Of() string { return d.Role.Kind().Of[d.Index] }

// String is the device as faults name it: azimuth.encoder, azimuth.1.drive, interlock.
func (d Device) String() string { return dotted(d.Of(), string(d.Role)) }

// Key is the path of its seat in a station file: encoders.azimuth, interlock_unit.
func (d Device) Key() string { return dotted(d.Role.Kind().Key, d.Of()) }

func dotted(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "." + b
}

// Place is where in a plant step a kind of device acts. The order of the places is fixed.
type Place uint8

// The places, in their order, behind agenda, wind and switches.
const (
	InWind Place = iota + 1
	AtInterlock
	AtEncoders
	AtDrives
)

// Protocol is how a device is spoken to.
type Protocol struct {
	Name    string // in station files and the device sheet
	Network string // tcp or udp
	Units   bool   // it has unit ids, by which devices share an address
	framing link.Framing
}

// ordered is the seats in the order of Devices. It tells of a device with two seats, and of
// one that lacks the seat it must have.
func (p *Parameters) ordered() ([]Seat, error) {
	var seats []Seat
	for _, d := range Devices() {
		before := len(seats)
		for _, seat := range p.Seats {
			if seat.Device == d {
				seats = append(seats, seat)
			}
		}
		if n := len(seats) - before; n > 1 || n == 0 && !d.Role.Kind().Optional {
			return nil, fmt.Errorf("station %s: %d seats for %v; need one", p.Name, n, d)
		}
	}
	return seats, nil
}

// assemble makes every device, and the lists by which a plant step and fast-forward go.
func (s *Station) assemble() error {
	kinds := Kinds()
	slices.SortStableFunc(kinds, func(a, b Kind) int { return cmp.Compare(a.Place, b.Place) })
	for _, k := range kinds {
		if err := k.make(s); err != nil {
			return fmt.Errorf("station %s: %w", s.set.Name, err)
		}
		s.steps = append(s.steps, k.step)
		for i := range k.Of {
			if !k.paced {
				s.dues = append(s.dues, func() time.Duration { return k.due(s, i) })
			}
		}
	}
	return nil
}

// nextDue is the first instant at which a device that is not paced does something by itself.
func (s *Station) nextDue() time.Duration {
	first := never
	for _, due := range s.dues {
		first = min(first, due())
	}
	return first
}

// never is later than every instant.
const never = time.Duration(math.MaxInt64)
