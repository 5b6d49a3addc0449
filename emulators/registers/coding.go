package registers

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// coding is a point's arithmetic with the gear worked in.
type coding struct {
	kind   Type
	order  Order
	invert bool // of a bit
	plain  bool // raw is the value
	factor float64
	scale  float64
	offset float64
}

func codingOf(p *Point, gear float64) coding {
	c := coding{kind: p.Type, order: p.Order, scale: p.Scale, offset: p.Offset, factor: 1}
	if c.scale == 0 {
		c.scale = 1
	}
	if p.Side == SideMotor {
		c.factor = gear
	}
	if p.Negate {
		c.factor = -c.factor
	}
	c.invert = p.Type == Bit && p.Negate
	c.plain = c.factor == 1 && c.scale == 1 && c.offset == 0
	return c
}

// raw returns the count nearest to a value, ties to even.
func (c *coding) raw(value float64) float64 {
	if !c.plain {
		value = (float64(c.factor*value) - c.offset) / c.scale
	}
	return math.RoundToEven(value)
}

// value returns what a count stands for.
func (c *coding) value(raw float64) float64 {
	if c.plain {
		return raw
	}
	return (float64(raw*c.scale) + c.offset) / c.factor
}

// on returns the state of a bit for a value.
func (c *coding) on(value float64) bool { return (value != 0 && value == value) != c.invert }

// bitValue returns the value for the state of a bit.
func (c *coding) bitValue(on bool) float64 {
	if on != c.invert {
		return 1
	}
	return 0
}

// put codes a value into dst, which has the bytes of the type.
func (c *coding) put(dst []byte, value float64) {
	raw := c.raw(value)
	switch c.kind {
	case U16:
		c.put16(dst, uint16(int64(within(raw, 0, math.MaxUint16))))
	case S16:
		c.put16(dst, uint16(int64(within(raw, math.MinInt16, math.MaxInt16))))
	case U32:
		c.put32(dst, uint32(int64(within(raw, 0, math.MaxUint32))))
	case S32:
		c.put32(dst, uint32(int64(within(raw, math.MinInt32, math.MaxInt32))))
	case U64:
		c.put64(dst, unsigned64(raw))
	case S64:
		c.put64(dst, uint64(signed64(raw)))
	}
}

// get decodes the value in src, which has the bytes of the type.
func (c *coding) get(src []byte) float64 {
	switch c.kind {
	case U16:
		return c.value(float64(c.get16(src)))
	case S16:
		return c.value(float64(int16(c.get16(src))))
	case U32:
		return c.value(float64(c.get32(src)))
	case S32:
		return c.value(float64(int32(c.get32(src))))
	case U64:
		return c.value(float64(c.get64(src)))
	}
	return c.value(float64(int64(c.get64(src))))
}

// within saturates; what is not a number becomes 0.
func within(raw, lowest, highest float64) float64 {
	if raw >= lowest && raw <= highest {
		return raw
	}
	if raw > highest {
		return highest
	}
	if raw < lowest {
		return lowest
	}
	return 0
}

// The largest 64-bit integers are no float64, so the edges are powers of two.
func unsigned64(raw float64) uint64 {
	switch {
	case raw >= 1<<64:
		return math.MaxUint64
	case raw > 0:
		return uint64(raw)
	}
	return 0
}

func signed64(raw float64) int64 {
	switch {
	case raw >= 1<<63:
		return math.MaxInt64
	case raw < -1<<63:
		return math.MinInt64
	case raw != raw:
		return 0
	}
	return int64(raw)
}

func (c *coding) put16(dst []byte, v uint16) {
	if c.order >= SwappedBytes {
		binary.LittleEndian.PutUint16(dst, v)
		return
	}
	binary.BigEndian.PutUint16(dst, v)
}

func (c *coding) get16(src []byte) uint16 {
	if c.order >= SwappedBytes {
		return binary.LittleEndian.Uint16(src)
	}
	return binary.BigEndian.Uint16(src)
}

func (c *coding) put32(dst []byte, v uint32) {
	switch c.order {
	case Big:
		binary.BigEndian.PutUint32(dst, v)
	case LittleWords:
		binary.BigEndian.PutUint32(dst, bits.RotateLeft32(v, 16))
	case SwappedBytes:
		binary.LittleEndian.PutUint32(dst, bits.RotateLeft32(v, 16))
	case Little:
		binary.LittleEndian.PutUint32(dst, v)
	}
}

func (c *coding) get32(src []byte) uint32 {
	switch c.order {
	case LittleWords:
		return bits.RotateLeft32(binary.BigEndian.Uint32(src), 16)
	case SwappedBytes:
		return bits.RotateLeft32(binary.LittleEndian.Uint32(src), 16)
	case Little:
		return binary.LittleEndian.Uint32(src)
	}
	return binary.BigEndian.Uint32(src)
}

func (c *coding) put64(dst []byte, v uint64) {
	switch c.order {
	case Big:
		binary.BigEndian.PutUint64(dst, v)
	case LittleWords:
		binary.BigEndian.PutUint64(dst, reverseWords(v))
	case SwappedBytes:
		binary.LittleEndian.PutUint64(dst, reverseWords(v))
	case Little:
		binary.LittleEndian.PutUint64(dst, v)
	}
}

func (c *coding) get64(src []byte) uint64 {
	switch c.order {
	case LittleWords:
		return reverseWords(binary.BigEndian.Uint64(src))
	case SwappedBytes:
		return reverseWords(binary.LittleEndian.Uint64(src))
	case Little:
		return binary.LittleEndian.Uint64(src)
	}
	return binary.BigEndian.Uint64(src)
}

// reverseWords reverses the order of the four 16-bit words.
func reverseWords(v uint64) uint64 {
	low := uint64(bits.RotateLeft32(uint32(v), 16))
	return low<<32 | uint64(bits.RotateLeft32(uint32(v>>32), 16))
}
