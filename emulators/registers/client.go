package registers

import (
	"encoding/binary"
	"fmt"

	"haltmark/emulators/modbus"
)

// Client reads and writes chosen quantities of one device with the requests
// that NewClient planned. An exchange is: Set what is to be written; append and
// send each of Requests; give every message that comes back to Decode until
// all are answered. It belongs to one connection; a new one needs Reset.
type Client struct {
	// Unit is the identifier of the device behind its address; NewClient sets
	// modbus.UnitDirect.
	Unit byte

	plan        []request
	values      []float64 // by index of read
	writes      []target  // by index of write
	transaction uint16
}

// request is one message of the plan.
type request struct {
	read, write *block
	sent        []byte // while its answer is awaited, else empty
}

// block is a range of one space and what lies in it.
type block struct {
	space Space
	modbus.Block
	items []item
	image []byte // wire bytes of a block that is written
}

// item is a quantity in a block.
type item struct {
	index int // in the list of the caller
	at    int // bytes from the block's start; bits in spaces of bits
	slot
}

// target is where a written quantity stands.
type target struct {
	block *block
	item  *item
}

// NewClient plans how to read and write the named quantities: as few requests
// as the limits of the protocol, the points and the gaps of the map allow. A
// block of holding registers that is written and one that is read go together
// as function 23, which writes first; writes that are left come before those,
// reads that are left after them. All bits of a register must be written
// together. A quantity that stands in several spaces is taken where the map
// names it first. gear is that of Bind.
func NewClient(m Map, gear float64, read, write []string) (*Client, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	if err := checkGear(gear); err != nil {
		return nil, err
	}
	reads, err := planReads(m, gear, read)
	if err != nil {
		return nil, err
	}
	writes, err := planWrites(m, gear, write, reads)
	if err != nil {
		return nil, err
	}
	c := &Client{Unit: modbus.UnitDirect, values: make([]float64, len(read)),
		writes: make([]target, len(write)), plan: pair(reads, writes)}
	for _, b := range writes {
		for i := range b.items {
			c.writes[b.items[i].index] = target{b, &b.items[i]}
			c.Set(b.items[i].index, 0)
		}
	}
	return c, nil
}

// pair joins blocks to requests: writes alone, writes with reads, reads alone.
func pair(reads, writes []*block) []request {
	var plan, joined, rest []request
	holding := 0
	for _, r := range reads {
		if r.space == modbus.Holding {
			holding++
		}
	}
	// The last writes are joined, so that the others come before every read.
	for i, w := range writes {
		if w.space == modbus.Holding && len(writes)-i <= holding {
			joined = append(joined, request{write: w})
		} else {
			plan = append(plan, request{write: w})
		}
	}
	next := 0
	for _, r := range reads {
		if r.space == modbus.Holding && next < len(joined) {
			joined[next].read = r
			next++
		} else {
			rest = append(rest, request{read: r})
		}
	}
	return append(append(plan, joined...), rest...)
}

// Requests returns how many messages one exchange takes.
func (c *Client) Requests() int { return len(c.plan) }

// Set chooses the value that the following requests write for the quantity at
// an index of the write list: SI, saturated to what the map can carry. Before
// the first Set it is 0.
func (c *Client) Set(index int, value float64) {
	t := &c.writes[index]
	b, it := t.block, t.item
	switch {
	case b.space.Bits():
		setBit(b.image, it.at, it.on(value))
	case it.kind == Bit:
		// Bit 0 of a register is in its second byte.
		setBit(b.image[it.at+1-it.bit/8:], it.bit%8, it.on(value))
	default:
		it.put(b.image[it.at:it.at+2*it.kind.words()], value)
	}
}

func setBit(packed []byte, at int, on bool) {
	packed[at/8] &^= 1 << (at % 8)
	if on {
		packed[at/8] |= 1 << (at % 8)
	}
}

// AppendRequest appends message i of the plan under a transaction identifier
// of its own, in place of an earlier one that was never answered.
func (c *Client) AppendRequest(dst []byte, i int) []byte {
	c.transaction++
	r := &c.plan[i]
	r.sent = r.append(r.sent[:0], modbus.Header{Transaction: c.transaction, Unit: c.Unit})
	return append(dst, r.sent...)
}

func (r *request) append(dst []byte, h modbus.Header) []byte {
	switch {
	case r.write == nil:
		return modbus.AppendRead(dst, h, r.read.space, r.read.Block)
	case r.read != nil:
		return modbus.AppendReadWrite(dst, h, r.read.Block, r.write.Address, r.write.image)
	}
	w := r.write
	switch {
	case w.space == modbus.Coils && w.Count == 1:
		return modbus.AppendWriteCoil(dst, h, w.Address, w.image[0]&1 != 0)
	case w.space == modbus.Coils:
		return modbus.AppendWriteCoils(dst, h, w.Block, w.image)
	case w.Count == 1:
		return modbus.AppendWriteRegister(dst, h, w.Address, binary.BigEndian.Uint16(w.image))
	}
	return modbus.AppendWriteRegisters(dst, h, w.Address, w.image)
}

// Decode takes one message from the device, tells which request of the plan it
// answers and keeps the values it carries. Errors are those of modbus.Decode;
// with modbus.ErrStale no awaited request has the message's transaction and
// unit, the index is -1, and the caller reads on. After any other error the
// request is over and the values are the old ones.
func (c *Client) Decode(reply []byte) (int, error) {
	for i := range c.plan {
		r := &c.plan[i]
		if len(r.sent) == 0 {
			continue
		}
		data, err := modbus.Decode(r.sent, reply)
		if err == modbus.ErrStale {
			continue
		}
		r.sent = r.sent[:0]
		if err != nil {
			return i, fmt.Errorf("registers: request %d: %w", i, err)
		}
		if r.read != nil {
			r.read.keep(c.values, data)
		}
		return i, nil
	}
	return -1, modbus.ErrStale
}

// keep decodes a block's data into values.
func (b *block) keep(values []float64, data []byte) {
	for i := range b.items {
		it := &b.items[i]
		switch {
		case b.space.Bits():
			values[it.index] = it.bitValue(modbus.BitAt(data, it.at))
		case it.kind == Bit:
			field := binary.BigEndian.Uint16(data[it.at:])
			values[it.index] = it.bitValue(field>>it.bit&1 != 0)
		default:
			values[it.index] = it.get(data[it.at:])
		}
	}
}

// Value returns the quantity at an index of the read list as last decoded, in
// SI; 0 before the first answer.
func (c *Client) Value(index int) float64 { return c.values[index] }

// Reset forgets what was sent, so that no answer is awaited.
func (c *Client) Reset() {
	for i := range c.plan {
		c.plan[i].sent = c.plan[i].sent[:0]
	}
}
