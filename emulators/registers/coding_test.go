package registers

import (
	"bytes"
	"math"
	"testing"
)

// The four orders of bytes A B C D are common practice: the protocol fixes only
// the bytes of one register, high first (Modbus Application Protocol V1.1b3
// clause 4.2).
func TestCoding_Orders(t *testing.T) {
	const value32, value64 = 0x0A0B0C0D, 0x0001020304050607
	rows := []struct {
		kind  Type
		order Order
		value float64
		want  []byte
	}{
		{U16, Big, 0x0A0B, []byte{0x0A, 0x0B}},
		{U16, LittleWords, 0x0A0B, []byte{0x0A, 0x0B}},
		{U16, SwappedBytes, 0x0A0B, []byte{0x0B, 0x0A}},
		{U16, Little, 0x0A0B, []byte{0x0B, 0x0A}},
		{U32, Big, value32, []byte{0x0A, 0x0B, 0x0C, 0x0D}},
		{U32, LittleWords, value32, []byte{0x0C, 0x0D, 0x0A, 0x0B}},
		{U32, SwappedBytes, value32, []byte{0x0B, 0x0A, 0x0D, 0x0C}},
		{U32, Little, value32, []byte{0x0D, 0x0C, 0x0B, 0x0A}},
		{S32, Big, -2, []byte{0xFF, 0xFF, 0xFF, 0xFE}},
		{S32, LittleWords, -2, []byte{0xFF, 0xFE, 0xFF, 0xFF}},
		{S16, Big, -2, []byte{0xFF, 0xFE}},
		{S16, Little, -2, []byte{0xFE, 0xFF}},
		{U64, Big, value64, []byte{0, 1, 2, 3, 4, 5, 6, 7}},
		{U64, LittleWords, value64, []byte{6, 7, 4, 5, 2, 3, 0, 1}},
		{U64, SwappedBytes, value64, []byte{1, 0, 3, 2, 5, 4, 7, 6}},
		{U64, Little, value64, []byte{7, 6, 5, 4, 3, 2, 1, 0}},
		{S64, Big, -2, []byte{255, 255, 255, 255, 255, 255, 255, 254}},
	}
	for _, row := range rows {
		c := codingOf(&Point{Type: row.kind, Order: row.order}, 1)
		got := make([]byte, 2*row.kind.words())
		c.put(got, row.value)
		if !bytes.Equal(got, row.want) {
			t.Errorf("%v %v: % X, want % X", row.kind, row.order, got, row.want)
		}
		if back := c.get(row.want); back != row.value {
			t.Errorf("%v %v: back %v, want %v", row.kind, row.order, back, row.value)
		}
	}
}

// Two's complement and unsigned ranges are those of the widths themselves.
func TestCoding_Saturates(t *testing.T) {
	rows := []struct {
		kind            Type
		lowest, highest float64
	}{
		{U16, 0, 65535}, {S16, -32768, 32767}, {U32, 0, 4294967295},
		{S32, -2147483648, 2147483647}, {U64, 0, 1 << 64}, {S64, -1 << 63, 1 << 63},
	}
	for _, row := range rows {
		c := codingOf(&Point{Type: row.kind}, 1)
		through := func(value float64) float64 {
			wire := make([]byte, 2*row.kind.words())
			c.put(wire, value)
			return c.get(wire)
		}
		for value, want := range map[float64]float64{
			row.highest: row.highest, row.highest * 1.5: row.highest, math.Inf(1): row.highest,
			row.lowest: row.lowest, row.lowest*1.5 - 1: row.lowest, math.Inf(-1): row.lowest,
			0: 0, 7: 7, 6.4: 6, 6.6: 7, 6.5: 6, 7.5: 8,
		} {
			if got := through(value); got != want {
				t.Errorf("%v: %v arrives as %v, want %v", row.kind, value, got, want)
			}
		}
		if got := through(math.NaN()); got != 0 {
			t.Errorf("%v: not a number arrives as %v, want 0", row.kind, got)
		}
	}
	wire := make([]byte, 8)
	c := codingOf(&Point{Type: U64}, 1)
	if c.put(wire, math.Inf(1)); !bytes.Equal(wire, bytes.Repeat([]byte{0xFF}, 8)) {
		t.Errorf("u64 saturates at % X, want all ones", wire)
	}
	c = codingOf(&Point{Type: S64}, 1)
	if c.put(wire, math.Inf(1)); wire[0] != 0x7F || wire[7] != 0xFF {
		t.Errorf("s64 saturates at % X, want 7F FF ... FF", wire)
	}
}

// Worked by hand from raw = (sign * side * value - offset) / scale.
func TestCoding_ScaleOffsetSignAndSide(t *testing.T) {
	rows := []struct {
		what  string
		point Point
		value float64
		raw   int16
	}{
		{"scale", Point{Scale: 0.5}, 10, 20},
		{"offset", Point{Scale: 0.5, Offset: 3}, 10, 14},
		{"sign", Point{Scale: 0.5, Negate: true}, 10, -20},
		{"sign and offset", Point{Scale: 0.5, Offset: 3, Negate: true}, 10, -26},
		{"motor side", Point{Scale: 2, Side: SideMotor}, 10, 500},
		{"axis side", Point{Scale: 2, Side: SideAxis}, 10, 5},
		{"all", Point{Scale: 2, Offset: 100, Side: SideMotor, Negate: true}, 10, -550},
		{"no scale is one", Point{}, 10, 10},
	}
	for _, row := range rows {
		row.point.Type = S16
		c := codingOf(&row.point, 100)
		wire := make([]byte, 2)
		c.put(wire, row.value)
		if got := int16(c.get16(wire)); got != row.raw {
			t.Errorf("%s: raw %d, want %d", row.what, got, row.raw)
		}
		if back := c.get(wire); back != row.value {
			t.Errorf("%s: back %v, want %v", row.what, back, row.value)
		}
	}
}

func TestCoding_Bits(t *testing.T) {
	plain, inverted := codingOf(&Point{}, 1), codingOf(&Point{Negate: true}, 1)
	for _, value := range []float64{0, 1, -3, 0.25, math.NaN()} {
		want := value != 0 && !math.IsNaN(value)
		if plain.on(value) != want || inverted.on(value) == want {
			t.Errorf("%v: %v, inverted %v", value, plain.on(value), inverted.on(value))
		}
	}
	if plain.bitValue(true) != 1 || plain.bitValue(false) != 0 ||
		inverted.bitValue(true) != 0 || inverted.bitValue(false) != 1 {
		t.Error("a bit's value is not 1 for on and 0 for off")
	}
}

// What any bytes say is said again by the bytes of that value.
func FuzzCoding(f *testing.F) {
	f.Add(uint8(U16), uint8(Big), []byte{0, 1, 2, 3, 4, 5, 6, 7})
	f.Add(uint8(S64), uint8(Little), []byte{255, 1, 2, 3, 4, 5, 6, 128})
	f.Fuzz(func(t *testing.T, kind, order uint8, wire []byte) {
		p := Point{Type: U16 + Type(kind%6), Order: Order(order % 4), Scale: 0.25, Offset: 8}
		size := 2 * p.Type.words()
		if len(wire) < size {
			return
		}
		c := codingOf(&p, 1)
		value := c.get(wire[:size])
		again := make([]byte, size)
		c.put(again, value)
		if back := c.get(again); back != value {
			t.Fatalf("%v %v: % X says %v, then %v", p.Type, p.Order, wire[:size], value, back)
		}
		if size < 8 && !bytes.Equal(again, wire[:size]) {
			t.Fatalf("%v %v: % X became % X", p.Type, p.Order, wire[:size], again)
		}
	})
}
