package registers

import (
	"math"
	"testing"

	"haltmark/emulators/modbus"
)

var (
	word = Point{Quantity: "a", Space: modbus.Holding, Address: 4, Bit: -1, Type: U16}
	flag = Point{Quantity: "a", Space: modbus.Holding, Address: 4, Bit: 3}
)

func change(p Point, do func(*Point)) Point {
	do(&p)
	return p
}

func second(p Point, do func(*Point)) []Point {
	q := p
	q.Quantity = "b"
	do(&q)
	return []Point{p, q}
}

var badMaps = []struct {
	want   string
	points []Point
}{
	{"registers: map m has no points", nil},
	{"registers: map m: : point without a quantity", []Point{{}}},
	{"registers: map m: a: no space 4", []Point{
		change(word, func(p *Point) { p.Space = 4 })}},
	{"registers: map m: a: type unknown (7), order big, side none", []Point{
		change(word, func(p *Point) { p.Type = 7 })}},
	{"registers: map m: a: type u16 in coils; need bit", []Point{
		change(word, func(p *Point) { p.Space = modbus.Coils })}},
	{"registers: map m: a: input cannot be written", []Point{
		change(word, func(p *Point) { p.Space, p.Write = modbus.Input, true })}},
	{"registers: map m: a: u32 at 65535 passes the last address 65535", []Point{
		change(word, func(p *Point) { p.Address, p.Type = 65535, U32 })}},
	{"registers: map m: a: scale -1; need a positive number", []Point{
		change(word, func(p *Point) { p.Scale = -1 })}},
	{"registers: map m: a: scale NaN; need a positive number", []Point{
		change(word, func(p *Point) { p.Scale = math.NaN() })}},
	{"registers: map m: a: offset +Inf; need a number", []Point{
		change(word, func(p *Point) { p.Offset = math.Inf(1) })}},
	{"registers: map m: a: bit 16; need 0 to 15", []Point{
		change(flag, func(p *Point) { p.Bit = 16 })}},
	{"registers: map m: a: bit -1; need 0 to 15", []Point{
		change(flag, func(p *Point) { p.Bit = -1 })}},
	{"registers: map m: a: bit 3 of a u16 in holding; need none", []Point{
		change(word, func(p *Point) { p.Bit = 3 })}},
	{"registers: map m: a: order little of a bit; need big", []Point{
		change(flag, func(p *Point) { p.Order = Little })}},
	{"registers: map m: a: a bit has no scale, offset or side", []Point{
		change(flag, func(p *Point) { p.Scale = 2 })}},
	{"registers: map m: a: stands twice in holding", []Point{word,
		change(word, func(p *Point) { p.Address = 9 })}},
	{"registers: map m: b: overlaps a in holding 4",
		second(word, func(*Point) {})},
	{"registers: map m: b: overlaps a in holding 5",
		second(change(word, func(p *Point) { p.Type = U32 }), func(p *Point) { p.Address = 5 })},
	{"registers: map m: b: overlaps a in holding 4",
		second(flag, func(*Point) {})},
	{"registers: map m: a: overlaps b in holding 4",
		second(flag, func(p *Point) { p.Type, p.Bit = U16, -1 })},
	{"registers: map m: b: is writable and a is not, or the other way, in holding 4",
		second(flag, func(p *Point) { p.Bit, p.Write = 5, true })},
}

func TestMap_Refusals(t *testing.T) {
	for _, row := range badMaps {
		err := Map{Name: "m", Points: row.points}.Validate()
		if err == nil || err.Error() != row.want {
			t.Errorf("%v\nwant %s", err, row.want)
		}
	}
	if err := (Map{Name: "m", Gaps: 2, Points: []Point{word}}).Validate(); err == nil {
		t.Error("gaps of no kind are accepted")
	}
}

func TestMap_AcceptsWhatTouches(t *testing.T) {
	m := Map{Name: "m", Points: []Point{
		{Quantity: "a", Space: modbus.Holding, Address: 65534, Type: U32},
		{Quantity: "b", Space: modbus.Holding, Address: 65530, Type: U64},
		{Quantity: "a", Space: modbus.Input, Address: 65534, Type: U32},
		{Quantity: "c", Space: modbus.Coils, Address: 65535, Bit: -1, Write: true},
	}}
	if err := m.Validate(); err != nil {
		t.Error(err)
	}
}

func TestBind_Refusals(t *testing.T) {
	d := newBench("here")
	m := Map{Name: "m", Points: []Point{{Quantity: "there", Space: modbus.Input, Type: U16}}}
	want := `registers: map m: the device has no quantity "there"; it has [here]`
	if _, err := Bind(m, d, 1); err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	m.Points[0].Quantity = "here"
	for _, gear := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := Bind(m, d, gear); err == nil {
			t.Errorf("gear %v is accepted by Bind", gear)
		}
		if _, err := NewClient(m, gear, nil, nil); err == nil {
			t.Errorf("gear %v is accepted by NewClient", gear)
		}
	}
}

func TestNames_ThereAndBack(t *testing.T) {
	for i, text := range []string{"bit", "u16", "s16", "u32", "s32", "u64", "s64"} {
		var got Type
		if err := got.UnmarshalText([]byte(text)); err != nil || got != Type(i) ||
			got.String() != text {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	for i, text := range []string{"big", "little_words", "swapped_bytes", "little"} {
		var got Order
		if err := got.UnmarshalText([]byte(text)); err != nil || got != Order(i) ||
			got.String() != text {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	for i, text := range []string{"none", "axis", "motor"} {
		var got Side
		if err := got.UnmarshalText([]byte(text)); err != nil || got != Side(i) ||
			got.String() != text {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	for i, text := range []string{"refused", "zero"} {
		var got Gaps
		if err := got.UnmarshalText([]byte(text)); err != nil || got != Gaps(i) ||
			got.String() != text {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	var order Order
	want := `registers: no order "middle"; need one of [big little_words swapped_bytes little]`
	if err := order.UnmarshalText([]byte("middle")); err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}
