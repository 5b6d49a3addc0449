package station_test

import (
	"bytes"
	"fmt"
	"testing"

	"haltmark/bench/station"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// words reads every register and bit that the maps of a station have.
type words struct {
	units []*registers.Unit
	seats []station.Seat
}

func wordsOf(t testing.TB, s *station.Station) *words {
	t.Helper()
	w := &words{}
	for _, seat := range s.Seats() {
		var device registers.Device
		switch seat.Role {
		case station.RoleEncoder:
			device = s.Encoders[seat.Index]
		case station.RoleDrive:
			device = s.Drives[seat.Index]
		case station.RoleInterlock:
			device = s.Interlock
		default:
			continue
		}
		unit, err := registers.Bind(seat.Map, device, seat.Gear)
		if err != nil {
			t.Fatalf("%s: %v", seat.Name, err)
		}
		w.units, w.seats = append(w.units, unit), append(w.seats, seat)
	}
	return w
}

// read appends what every point of every map reads as.
func (w *words) read(dst []byte) []byte {
	var room [8]byte
	for i, unit := range w.units {
		for _, p := range w.seats[i].Map.Points {
			raw := room[:2*width(p.Type)]
			clear(raw)
			if p.Space == modbus.Coils || p.Space == modbus.DiscreteInputs {
				raw = raw[:1]
				unit.ReadBits(p.Space, p.Address, 1, raw)
			} else {
				unit.ReadRegisters(p.Space, p.Address, raw)
			}
			dst = append(dst, raw...)
		}
	}
	return dst
}

// width is how many registers a value takes.
func width(t registers.Type) int {
	switch t {
	case registers.U32, registers.S32:
		return 2
	case registers.U64, registers.S64:
		return 4
	}
	return 1
}

// differing names the points of which two readings differ.
func (w *words) differing(a, b []byte) (names []string) {
	at := 0
	for i := range w.units {
		for _, p := range w.seats[i].Map.Points {
			size := 2 * width(p.Type)
			if p.Space == modbus.Coils || p.Space == modbus.DiscreteInputs {
				size = 1
			}
			if !bytes.Equal(a[at:at+size], b[at:at+size]) {
				names = append(names, fmt.Sprintf("%s %s %x want %x", w.seats[i].Name, p.Quantity,
					a[at:at+size], b[at:at+size]))
			}
			at += size
		}
	}
	return names
}
