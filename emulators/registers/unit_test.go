package registers

import (
	"bytes"
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"haltmark/emulators/modbus"
)

// bench is a device that remembers what was stored, in order.
type bench struct {
	names  []string
	values []float64
	stored []string
	refuse string // the quantity that Store refuses
}

func newBench(names ...string) *bench {
	return &bench{names: names, values: make([]float64, len(names))}
}

func (d *bench) Quantities() []string { return d.names }
func (d *bench) Load(id int) float64  { return d.values[id] }
func (d *bench) Store(id int, value float64) error {
	if d.names[id] == d.refuse {
		return errors.New("refused")
	}
	d.values[id] = value
	d.stored = append(d.stored, d.names[id])
	return nil
}

// set puts a value where Load finds it.
func (d *bench) set(name string, value float64) {
	for i, n := range d.names {
		if n == name {
			d.values[i] = value
		}
	}
}

// sample is a map with something of everything. Holding 0 to 6 is one run;
// 10 to 14 another; 7 to 9 is a gap.
func sample() Map {
	at := func(q string, address uint16, kind Type, write bool) Point {
		return Point{Quantity: q, Space: modbus.Holding, Address: address, Bit: -1,
			Type: kind, Write: write}
	}
	bit := func(q string, s Space, address uint16, bit int, write bool) Point {
		return Point{Quantity: q, Space: s, Address: address, Bit: bit, Write: write}
	}
	return Map{Name: "sample", Points: []Point{
		at("long", 10, U32, true), at("word", 0, U16, true), at("wide", 1, S32, true),
		bit("low", modbus.Holding, 3, 0, true), bit("high", modbus.Holding, 3, 15, true),
		at("status", 4, U16, false), at("more", 5, S16, true), at("last", 6, S16, true),
		at("other", 12, S32, false), at("end", 14, U16, true),
		at2(modbus.Input, "position", 100, S64),
		bit("switch", modbus.DiscreteInputs, 8, -1, false),
		bit("guard", modbus.DiscreteInputs, 9, -1, false),
		bit("lamp", modbus.Coils, 20, -1, true), bit("horn", modbus.Coils, 21, -1, true),
		bit("sealed", modbus.Coils, 22, -1, false),
	}}
}

func at2(s Space, q string, address uint16, kind Type) Point {
	return Point{Quantity: q, Space: s, Address: address, Bit: -1, Type: kind}
}

// sampleDevice has the sample map's quantities in another order.
func sampleDevice() *bench {
	return newBench("horn", "lamp", "sealed", "switch", "guard", "position", "end", "other",
		"last", "more", "status", "high", "low", "wide", "word", "long")
}

func served(t testing.TB, m Map, d Device) *modbus.Server {
	t.Helper()
	u, err := Bind(m, d, 1)
	if err != nil {
		t.Fatal(err)
	}
	s := &modbus.Server{}
	s.Attach(modbus.UnitDirect, &modbus.Unit{Bank: u})
	return s
}

// ask sends a PDU in hex and returns the reply's PDU in hex.
func ask(t testing.TB, s *modbus.Server, pdu string) string {
	t.Helper()
	body, err := hex.DecodeString(strings.ReplaceAll(pdu, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	request := []byte{0, 1, 0, 0, 0, byte(1 + len(body)), modbus.UnitDirect}
	reply := s.Respond(nil, append(request, body...))
	return strings.ToUpper(hex.EncodeToString(reply[7:]))
}

func expect(t *testing.T, s *modbus.Server, what, pdu, want string) {
	t.Helper()
	if got := ask(t, s, pdu); got != strings.ReplaceAll(want, " ", "") {
		t.Errorf("%s: %s, want %s", what, got, want)
	}
}

// Bytes worked by hand from the map and Modbus Application Protocol V1.1b3
// clauses 6.1 to 6.17.
func TestUnit_Reads(t *testing.T) {
	d := sampleDevice()
	s := served(t, sample(), d)
	for name, value := range map[string]float64{"word": 7, "wide": -2, "low": 1, "high": 1,
		"status": 0x1234, "more": -1, "last": 2, "long": 0x00010002, "position": -3,
		"guard": 1, "horn": 1, "sealed": 1} {
		d.set(name, value)
	}
	expect(t, s, "a whole run", "03 0000 0007", "03 0E 0007 FFFFFFFE 8001 1234 FFFF 0002")
	expect(t, s, "inside a run", "03 0003 0002", "03 04 8001 1234")
	expect(t, s, "the second half of a value", "03 0002 0002", "03 04 FFFE 8001")
	expect(t, s, "the first half of a value", "03 000A 0001", "03 02 0001")
	expect(t, s, "the middle of a value", "04 0065 0002", "04 04 FFFF FFFF")
	expect(t, s, "64 bits", "04 0064 0004", "04 08 FFFFFFFFFFFFFFFD")
	expect(t, s, "discrete inputs", "02 0008 0002", "02 01 02")
	expect(t, s, "coils", "01 0014 0003", "01 01 06")
	expect(t, s, "a single coil", "01 0015 0001", "01 01 01")
}

func TestUnit_AddressesWithoutAPoint(t *testing.T) {
	s := served(t, sample(), sampleDevice())
	expect(t, s, "into the gap", "03 0006 0002", "83 02")
	expect(t, s, "over the gap", "03 0006 0005", "83 02")
	expect(t, s, "in the gap", "03 0008 0001", "83 02")
	expect(t, s, "past the end", "03 000E 0002", "83 02")
	expect(t, s, "below the first input", "04 0063 0002", "84 02")
	expect(t, s, "the wrong space", "04 0000 0001", "84 02")
	expect(t, s, "a coil past the end", "01 0016 0002", "81 02")

	m := sample()
	m.Gaps = GapsZero
	d := sampleDevice()
	d.set("last", 2)
	d.set("long", 3)
	s = served(t, m, d)
	expect(t, s, "zero: over the gap", "03 0006 0006", "03 0C 0002 0000 0000 0000 0000 0003")
	expect(t, s, "zero: in the gap", "03 0008 0001", "03 02 0000")
	expect(t, s, "zero: past the end", "03 000E 0002", "83 02")
	expect(t, s, "zero: below the first", "04 0063 0001", "84 02")
	expect(t, s, "zero: a write into the gap", "06 0008 0001", "86 02")
	expect(t, s, "zero: a write over the gap", "10 0006 0005 0A 0001 0000 0000 0000 0001", "90 02")
}

func TestUnit_Writes(t *testing.T) {
	d := sampleDevice()
	s := served(t, sample(), d)
	expect(t, s, "a run", "10 0000 0004 08 0005 FFFFFFFD 7FFE", "10 0000 0004")
	expect(t, s, "a word", "06 0006 8000", "06 0006 8000")
	expect(t, s, "32 bits", "10 000A 0002 04 00020001", "10 000A 0002")
	expect(t, s, "coils", "0F 0014 0002 01 02", "0F 0014 0002")
	expect(t, s, "a mask", "16 0003 FFFE 0001", "16 0003 FFFE 0001")
	for name, want := range map[string]float64{"word": 5, "wide": -3, "low": 1, "high": 0,
		"last": -32768, "long": 0x00020001, "lamp": 0, "horn": 1} {
		for i, n := range d.names {
			if n == name && d.values[i] != want {
				t.Errorf("%s is %v, want %v", name, d.values[i], want)
			}
		}
	}
	want := "word wide low high last long lamp horn low high"
	if got := strings.Join(d.stored, " "); got != want {
		t.Errorf("stored %s, want %s", got, want)
	}
	d.set("low", 0)
	d.set("high", 1)
	expect(t, s, "write before read", "17 0003 0001 0000 0001 02 0009", "17 02 8000")
}

// Bench rules: the protocol leaves a read-only register and half a value to
// the device.
func TestUnit_WritesRefused(t *testing.T) {
	d := sampleDevice()
	s := served(t, sample(), d)
	expect(t, s, "read-only", "06 0004 0001", "86 02")
	expect(t, s, "a run with something read-only", "10 0003 0003 06 0001 0001 0001", "90 02")
	expect(t, s, "first half", "06 0001 0001", "86 02")
	expect(t, s, "second half", "06 0002 0001", "86 02")
	expect(t, s, "a run that ends in a value", "10 0000 0002 04 0001 0001", "90 02")
	expect(t, s, "a run that begins in a value", "10 0002 0002 04 0001 0001", "90 02")
	expect(t, s, "masked half", "16 0001 FFFF 0000", "96 02")
	expect(t, s, "a sealed coil", "05 0016 FF00", "85 02")
	expect(t, s, "coils with a sealed one", "0F 0014 0003 01 07", "8F 02")
	expect(t, s, "read and half written", "17 0000 0001 0001 0001 02 0001", "97 02")
	if len(d.stored) != 0 {
		t.Errorf("refused writes stored %v", d.stored)
	}
}

func TestUnit_DeviceRefusesAValue(t *testing.T) {
	d := sampleDevice()
	d.refuse = "wide"
	s := served(t, sample(), d)
	expect(t, s, "register", "10 0000 0004 08 0005 FFFFFFFD 7FFE", "90 04")
	if got := strings.Join(d.stored, " "); got != "word" {
		t.Errorf("stored %q, want only what stands before: word", got)
	}
	d.refuse = "high"
	expect(t, s, "bit of a register", "06 0003 FFFF", "86 04")
	d.refuse = "horn"
	expect(t, s, "coil", "05 0015 FF00", "85 04")
	expect(t, s, "write before a read", "17 0000 0001 0003 0001 02 0001", "17 02 0005")
}

func TestUnit_SeveralBehindOneAddress(t *testing.T) {
	s := &modbus.Server{}
	var devices []*bench
	for id := range 2 {
		d := newBench("word")
		m := Map{Name: "one", Points: []Point{
			{Quantity: "word", Space: modbus.Holding, Address: 5, Type: U16, Write: true}}}
		u, err := Bind(m, d, 1)
		if err != nil {
			t.Fatal(err)
		}
		s.Attach(byte(id+1), &modbus.Unit{Bank: u})
		devices = append(devices, d)
		c, err := NewClient(m, 1, []string{"word"}, []string{"word"})
		if err != nil {
			t.Fatal(err)
		}
		c.Unit = byte(id + 1)
		c.Set(0, float64(100+id))
		reply := s.Respond(nil, c.AppendRequest(nil, 0))
		if _, err := c.Decode(reply); err != nil {
			t.Fatal(err)
		}
		if c.Value(0) != float64(100+id) {
			t.Errorf("unit %d answers %v", id+1, c.Value(0))
		}
	}
	if devices[0].values[0] != 100 || devices[1].values[0] != 101 {
		t.Errorf("devices have %v and %v, want 100 and 101", devices[0].values, devices[1].values)
	}
}

func FuzzUnit(f *testing.F) {
	for _, pdu := range []string{"030000000E", "01001400FF", "1700030006000E00030600FF00FF00FF",
		"0F001400020102", "160003FFFE0001", "0600048000", "0400650002"} {
		body, _ := hex.DecodeString(pdu)
		f.Add(body)
	}
	m := sample()
	m.Gaps = GapsZero
	strict, tolerant := served(f, sample(), sampleDevice()), served(f, m, sampleDevice())
	f.Fuzz(func(t *testing.T, pdu []byte) {
		if len(pdu) == 0 || len(pdu) > modbus.PDUMax {
			return
		}
		request := append([]byte{0, 1, 0, 0, 0, byte(1 + len(pdu)), modbus.UnitDirect}, pdu...)
		for _, s := range []*modbus.Server{strict, tolerant} {
			reply := s.Respond(nil, request)
			size, err := modbus.Frame(reply)
			if err != nil || size != len(reply) || !bytes.Equal(reply[:2], request[:2]) {
				t.Fatalf("% X to % X", reply, request)
			}
		}
	})
}
