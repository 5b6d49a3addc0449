package registers

import (
	"testing"

	"haltmark/emulators/modbus"
)

// axis is a device as plain as can be, so that a benchmark measures the map.
type axis struct{ values [8]float64 }

func (a *axis) Quantities() []string {
	return []string{"position", "rate", "torque", "status", "mode", "command", "target", "offset"}
}
func (a *axis) Load(id int) float64 { return a.values[id] }
func (a *axis) Store(id int, value float64) error {
	a.values[id] = value
	return nil
}

// axisMap reads 10 registers and writes 4 in one request.
func axisMap() Map {
	at := func(q string, address uint16, kind Type, scale float64, write bool) Point {
		return Point{Quantity: q, Space: modbus.Holding, Address: address, Bit: -1,
			Type: kind, Scale: scale, Write: write, Order: LittleWords}
	}
	return Map{Name: "axis", Points: []Point{
		at("status", 0, U16, 0, false), at("mode", 1, S16, 0, false),
		at("position", 2, S64, 1e-6, false), at("rate", 6, S32, 1e-6, false),
		at("torque", 8, S32, 0.1, false),
		at("command", 16, U16, 0, true), at("target", 17, S32, 1e-6, true),
		at("offset", 19, S16, 0.1, true)}}
}

func exchange(t testing.TB) func() {
	s := &modbus.Server{}
	u, err := Bind(axisMap(), &axis{values: [8]float64{1, 2, 3, 4, 5}}, 1)
	if err != nil {
		t.Fatal(err)
	}
	s.Attach(modbus.UnitDirect, &modbus.Unit{Bank: u})
	c, err := NewClient(axisMap(), 1,
		[]string{"status", "mode", "position", "rate", "torque"},
		[]string{"command", "target", "offset"})
	if err != nil {
		t.Fatal(err)
	}
	if c.Requests() != 1 {
		t.Fatalf("%d requests, want 1", c.Requests())
	}
	request, reply := make([]byte, 0, modbus.ADUMax), make([]byte, 0, modbus.ADUMax)
	return func() {
		c.Set(0, 15)
		c.Set(1, 0.25)
		c.Set(2, -3)
		request = c.AppendRequest(request[:0], 0)
		reply = s.Respond(reply[:0], request)
		if _, err := c.Decode(reply); err != nil {
			t.Fatal(err)
		}
	}
}

func TestExchange_AllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, exchange(t)); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
	d := sampleDevice()
	s := served(t, sample(), d)
	c, err := NewClient(sample(), 1, d.names,
		[]string{"low", "high", "long", "word", "wide", "lamp", "horn"})
	if err != nil {
		t.Fatal(err)
	}
	request, reply := make([]byte, 0, modbus.ADUMax), make([]byte, 0, modbus.ADUMax)
	n := testing.AllocsPerRun(100, func() {
		d.stored = d.stored[:0]
		for i := range c.Requests() {
			request = c.AppendRequest(request[:0], i)
			reply = s.Respond(reply[:0], request)
			if _, err := c.Decode(reply); err != nil {
				t.Fatal(err)
			}
		}
	})
	if n != 0 {
		t.Errorf("all of a map: %v allocations, want 0", n)
	}
}

// BenchmarkExchange is both sides, from values to values: 3 written in 4
// registers, 5 read in 10, one request.
func BenchmarkExchange(b *testing.B) {
	do := exchange(b)
	b.ReportAllocs()
	for b.Loop() {
		do()
	}
}
