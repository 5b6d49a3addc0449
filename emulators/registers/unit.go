package registers

import (
	"encoding/binary"
	"fmt"
	"slices"

	"haltmark/emulators/modbus"
)

// Device is what a map is put over: a list of named quantities, each loaded
// and stored by its index in the list.
type Device interface {
	// Quantities returns the names; the list never changes.
	Quantities() []string
	// Load returns a quantity in SI, or a raw integer, or 0 and 1 for a bit.
	Load(id int) float64
	// Store sets a quantity; an error makes the write fail with exception 04.
	Store(id int, value float64) error
}

// Unit is a device behind its map. It implements modbus.Bank.
type Unit struct {
	device Device
	tables *[modbus.SpaceCount]table
}

var _ modbus.Bank = (*Unit)(nil)

// Bind puts a map over a device. gear is the motor turns for one axis turn and
// must be positive; it matters only to points at the motor's side. The error
// names a quantity that the device does not have, or what Validate finds.
func Bind(m Map, d Device, gear float64) (*Unit, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	if err := checkGear(gear); err != nil {
		return nil, err
	}
	known := d.Quantities()
	ids := make([]int, len(m.Points))
	for i, p := range m.Points {
		ids[i] = slices.Index(known, p.Quantity)
		if ids[i] < 0 {
			return nil, fmt.Errorf("registers: map %s: the device has no quantity %q; it has %v",
				m.Name, p.Quantity, known)
		}
	}
	tables, err := tablesOf(m, gear, ids)
	if err != nil {
		return nil, err
	}
	return &Unit{device: d, tables: tables}, nil
}

func checkGear(gear float64) error {
	if !(gear > 0) || gear-gear != 0 {
		return fmt.Errorf("registers: gear ratio %v; need a positive number", gear)
	}
	return nil
}

// Check refuses addresses without a point, read-only points and parts of
// points, as the package comment says.
func (u *Unit) Check(space Space, address, count uint16, write bool) modbus.Code {
	t := &u.tables[space]
	start, end := int(address), int(address)+int(count)
	if write && t.writable(start, end) || !write && t.readable(start, end) {
		return 0
	}
	return modbus.IllegalAddress
}

// ReadBits packs coils or discrete inputs.
func (u *Unit) ReadBits(space Space, address, count uint16, dst []byte) modbus.Code {
	t := &u.tables[space]
	start, end := int(address), int(address)+int(count)
	for i := t.find(start); i < len(t.cells) && t.cells[i].start < end; i++ {
		c := &t.cells[i]
		p := &c.points[0]
		if p.on(u.device.Load(p.id)) {
			at := c.start - start
			dst[at/8] |= 1 << (at % 8)
		}
	}
	return 0
}

// ReadRegisters codes registers. A part of a point reads as that part.
func (u *Unit) ReadRegisters(space Space, address uint16, dst []byte) modbus.Code {
	t := &u.tables[space]
	start := int(address)
	end := start + len(dst)/2
	for i := t.find(start); i < len(t.cells) && t.cells[i].start < end; i++ {
		c := &t.cells[i]
		if c.start >= start && c.end <= end {
			u.load(c, dst[2*(c.start-start):2*(c.end-start)])
			continue
		}
		var whole [8]byte
		u.load(c, whole[:2*(c.end-c.start)])
		from, to := max(c.start, start), min(c.end, end)
		copy(dst[2*(from-start):2*(to-start)], whole[2*(from-c.start):])
	}
	return 0
}

// load codes a cell of registers.
func (u *Unit) load(c *cell, dst []byte) {
	if !c.bitField() {
		p := &c.points[0]
		p.put(dst, u.device.Load(p.id))
		return
	}
	var field uint16
	for i := range c.points {
		if p := &c.points[i]; p.on(u.device.Load(p.id)) {
			field |= 1 << p.bit
		}
	}
	binary.BigEndian.PutUint16(dst, field)
}

// WriteBits stores coils in order of address. It stops at the first that the
// device refuses; those before it have been stored.
func (u *Unit) WriteBits(address, count uint16, src []byte) modbus.Code {
	t := &u.tables[modbus.Coils]
	start, end := int(address), int(address)+int(count)
	for i := t.find(start); i < len(t.cells) && t.cells[i].start < end; i++ {
		c := &t.cells[i]
		p := &c.points[0]
		if u.device.Store(p.id, p.bitValue(modbus.BitAt(src, c.start-start))) != nil {
			return modbus.DeviceFailure
		}
	}
	return 0
}

// WriteRegisters stores registers in order of address and bit, and stops as
// WriteBits does. Bits without a point are ignored.
func (u *Unit) WriteRegisters(address uint16, src []byte) modbus.Code {
	t := &u.tables[modbus.Holding]
	start := int(address)
	end := start + len(src)/2
	for i := t.find(start); i < len(t.cells) && t.cells[i].start < end; i++ {
		c := &t.cells[i]
		if u.store(c, src[2*(c.start-start):2*(c.end-start)]) != nil {
			return modbus.DeviceFailure
		}
	}
	return 0
}

// store decodes a cell of registers into the device.
func (u *Unit) store(c *cell, src []byte) error {
	if !c.bitField() {
		p := &c.points[0]
		return u.device.Store(p.id, p.get(src))
	}
	field := binary.BigEndian.Uint16(src)
	for i := range c.points {
		p := &c.points[i]
		if err := u.device.Store(p.id, p.bitValue(field>>p.bit&1 != 0)); err != nil {
			return err
		}
	}
	return nil
}
