package registers

import (
	"fmt"
	"slices"

	"haltmark/emulators/modbus"
)

// chosen returns the map's tables with the points of the named quantities
// numbered by their place in the list, and all others -1. With write only
// writable points are taken.
func chosen(m Map, gear float64, names []string, write bool) (*[modbus.SpaceCount]table, error) {
	ids := make([]int, len(m.Points))
	for i := range ids {
		ids[i] = -1
	}
	for i, name := range names {
		if slices.Index(names, name) != i {
			return nil, fmt.Errorf("registers: map %s: %s is asked for twice", m.Name, name)
		}
		at := slices.IndexFunc(m.Points, func(p Point) bool {
			return p.Quantity == name && (p.Write || !write)
		})
		if at < 0 && write {
			return nil, fmt.Errorf("registers: map %s has no writable quantity %q", m.Name, name)
		}
		if at < 0 {
			return nil, fmt.Errorf("registers: map %s has no quantity %q", m.Name, name)
		}
		ids[at] = i
	}
	return tablesOf(m, gear, ids)
}

// planReads covers the named quantities with the fewest blocks. Taking each
// block as far as it goes is best, because no block could begin earlier.
func planReads(m Map, gear float64, names []string) ([]*block, error) {
	tables, err := chosen(m, gear, names, false)
	if err != nil {
		return nil, err
	}
	var blocks []*block
	for s := range tables {
		t, space := &tables[s], Space(s)
		limit := modbus.ReadRegistersMax
		if space.Bits() {
			limit = modbus.ReadBitsMax
		}
		var open *block
		for i := range t.cells {
			c := &t.cells[i]
			if !c.wanted() {
				continue
			}
			if open == nil || c.end-int(open.Address) > limit ||
				!t.readable(int(open.Address), c.end) {
				open = &block{space: space, Block: modbus.Block{Address: uint16(c.start)}}
				blocks = append(blocks, open)
			}
			open.take(c)
		}
	}
	return blocks, nil
}

// planWrites covers the named quantities with blocks that touch nothing else.
func planWrites(m Map, gear float64, names []string, reads []*block) ([]*block, error) {
	tables, err := chosen(m, gear, names, true)
	if err != nil {
		return nil, err
	}
	var blocks []*block
	for s := range tables {
		t, space := &tables[s], Space(s)
		limit := writeLimit(space, reads)
		var open *block
		for i := range t.cells {
			c := &t.cells[i]
			if !c.wanted() {
				continue
			}
			if missing := c.unwanted(); missing != "" {
				return nil, fmt.Errorf("registers: map %s: %s shares %v %d with what is written; "+
					"write it too", m.Name, missing, space, c.start)
			}
			if open == nil || c.end-int(open.Address) > limit ||
				c.start != int(open.Address)+int(open.Count) {
				open = &block{space: space, Block: modbus.Block{Address: uint16(c.start)}}
				blocks = append(blocks, open)
			}
			open.take(c)
		}
	}
	for _, b := range blocks {
		b.image = make([]byte, 2*int(b.Count))
		if b.space.Bits() {
			b.image = make([]byte, (int(b.Count)+7)/8)
		}
	}
	return blocks, nil
}

// writeLimit is smaller where a write will go with a read.
func writeLimit(space Space, reads []*block) int {
	if space.Bits() {
		return modbus.WriteBitsMax
	}
	if slices.ContainsFunc(reads, func(b *block) bool { return b.space == modbus.Holding }) {
		return modbus.ReadWriteRegistersMax
	}
	return modbus.WriteRegistersMax
}

// wanted reports whether any point of the cell was chosen.
func (c *cell) wanted() bool {
	return slices.ContainsFunc(c.points, func(s slot) bool { return s.id >= 0 })
}

// unwanted names a point of the cell that was not chosen.
func (c *cell) unwanted() string {
	for _, s := range c.points {
		if s.id < 0 {
			return s.name
		}
	}
	return ""
}

// take stretches the block over a cell and its chosen points.
func (b *block) take(c *cell) {
	b.Count = uint16(c.end - int(b.Address))
	at := c.start - int(b.Address)
	if !b.space.Bits() {
		at *= 2
	}
	for _, s := range c.points {
		if s.id >= 0 {
			b.items = append(b.items, item{index: s.id, at: at, slot: s})
		}
	}
}
