package registers

import (
	"fmt"
	"slices"

	"haltmark/emulators/modbus"
)

// Space is one of the four Modbus tables.
type Space = modbus.Space

// Type is how a value is coded on the wire. Signed types are two's complement.
type Type uint8

// The types. A value of 64 bits is exact up to 2^53, as float64 is.
const (
	Bit Type = iota
	U16
	S16
	U32
	S32
	U64
	S64
	typeCount
)

// Order is the order of the bytes of one value. The protocol fixes the order
// within a register as high byte first, and leaves the order of registers to
// the device; some devices swap bytes as well.
type Order uint8

// The four orders of a 32-bit value with the bytes A (highest) to D.
const (
	Big          Order = iota // A B C D
	LittleWords               // C D A B
	SwappedBytes              // B A D C
	Little                    // D C B A
	orderCount
)

// Side tells where along the gear a map's value is counted.
type Side uint8

// Only SideMotor changes a value: it is multiplied by the gear ratio.
const (
	SideNone Side = iota
	SideAxis
	SideMotor
	sideCount
)

// Gaps tells how a device answers a read of addresses between its points.
type Gaps uint8

// Refused gaps give exception 02; zero gaps read as zero.
const (
	GapsRefused Gaps = iota
	GapsZero
	gapsCount
)

var (
	typeNames  = []string{"bit", "u16", "s16", "u32", "s32", "u64", "s64"}
	orderNames = []string{"big", "little_words", "swapped_bytes", "little"}
	sideNames  = []string{"none", "axis", "motor"}
	gapsNames  = []string{"refused", "zero"}
)

func name(names []string, i int) string {
	if i < len(names) {
		return names[i]
	}
	return fmt.Sprintf("unknown (%d)", i)
}

func lookup(kind string, names []string, text []byte) (int, error) {
	if i := slices.Index(names, string(text)); i >= 0 {
		return i, nil
	}
	return 0, fmt.Errorf("registers: no %s %q; need one of %v", kind, text, names)
}

// String returns the name that maps use.
func (t Type) String() string { return name(typeNames, int(t)) }

// String returns the name that maps use.
func (o Order) String() string { return name(orderNames, int(o)) }

// String returns the name that maps use.
func (s Side) String() string { return name(sideNames, int(s)) }

// String returns the name that maps use.
func (g Gaps) String() string { return name(gapsNames, int(g)) }

// UnmarshalText accepts bit, u16, s16, u32, s32, u64 and s64.
func (t *Type) UnmarshalText(text []byte) error {
	i, err := lookup("type", typeNames, text)
	*t = Type(i)
	return err
}

// UnmarshalText accepts big, little_words, swapped_bytes and little.
func (o *Order) UnmarshalText(text []byte) error {
	i, err := lookup("order", orderNames, text)
	*o = Order(i)
	return err
}

// UnmarshalText accepts none, axis and motor.
func (s *Side) UnmarshalText(text []byte) error {
	i, err := lookup("side", sideNames, text)
	*s = Side(i)
	return err
}

// UnmarshalText accepts refused and zero.
func (g *Gaps) UnmarshalText(text []byte) error {
	i, err := lookup("gaps", gapsNames, text)
	*g = Gaps(i)
	return err
}

// Map is the register map of a device type.
type Map struct {
	Name   string
	Gaps   Gaps
	Points []Point
}

// Point is where and how one quantity stands on the wire:
//
//	raw = (sign * side * value - Offset) / Scale, to the nearest integer
//
// sign is -1 with Negate; side is the gear ratio with SideMotor, else 1. A bit
// is on for any value but zero; Negate inverts it, and it has no scale.
type Point struct {
	Quantity string
	Space    Space
	Address  uint16
	Bit      int // 0 to 15, for a bit within a register; -1 or 0 for the rest
	Type     Type
	Order    Order
	Scale    float64 // of one raw count; 0 means 1
	Offset   float64 // value at raw 0, in the wire's sense and side
	Side     Side
	Write    bool
	Negate   bool
}

// words is the number of addresses that a value of the type takes.
func (t Type) words() int {
	switch t {
	case U32, S32:
		return 2
	case U64, S64:
		return 4
	}
	return 1
}
