package registers

import (
	"cmp"
	"fmt"
	"slices"

	"haltmark/emulators/modbus"
)

// table is one space of a map, in order of address.
type table struct {
	cells []cell
	slots []slot // of all cells, in their order
	zero  bool   // gaps read as zero
	found int    // by the last find: requests come by the same addresses again
}

// cell is the smallest thing that is written at once: one value, one coil, or
// one register of bits.
type cell struct {
	start, end int // addresses, end excluded
	readEnd    int // end of the run without a gap that begins here
	writeEnd   int // the same of writable cells; start if this is none
	write      bool
	points     []slot // one, or the bits of a register in order
}

// slot is a point in its cell.
type slot struct {
	id   int // of the quantity, as the owner of the table counts
	bit  int // within a register
	name string
	coding
}

// bitField reports whether the cell is a register of bits.
func (c *cell) bitField() bool { return c.points[0].kind == Bit }

// tablesOf builds the tables of a map whose points are valid; ids gives the
// number of each point's quantity.
func tablesOf(m Map, gear float64, ids []int) (*[modbus.SpaceCount]table, error) {
	tables := new([modbus.SpaceCount]table)
	var counts [modbus.SpaceCount]int
	for i := range m.Points {
		counts[m.Points[i].Space]++
	}
	for s, count := range counts {
		tables[s].cells, tables[s].slots = make([]cell, 0, count), make([]slot, 0, count)
	}
	for _, i := range inOrder(m.Points) {
		p := &m.Points[i]
		t := &tables[p.Space]
		if err := t.add(p, slot{ids[i], p.Bit, p.Quantity, codingOf(p, gear)}); err != nil {
			return nil, fmt.Errorf("registers: map %s: %s: %w", m.Name, p.Quantity, err)
		}
	}
	for s := range tables {
		tables[s].zero = m.Gaps == GapsZero
		tables[s].measureRuns()
	}
	return tables, nil
}

// inOrder returns the indices of points by address and bit.
func inOrder(points []Point) []int {
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		p, q := &points[a], &points[b]
		return cmp.Or(cmp.Compare(p.Address, q.Address), cmp.Compare(p.Bit, q.Bit))
	})
	return order
}

// add puts the next point, in order of address, into the table.
func (t *table) add(p *Point, s slot) error {
	start, end := int(p.Address), int(p.Address)+p.Type.words()
	if n := len(t.cells); n > 0 && t.cells[n-1].end > start {
		c := &t.cells[n-1]
		last := &c.points[len(c.points)-1]
		shared := p.Type == Bit && !p.Space.Bits() && c.bitField()
		if !shared || last.bit == s.bit {
			return fmt.Errorf("overlaps %s in %v %d", last.name, p.Space, start)
		}
		if c.write != p.Write {
			return fmt.Errorf("is writable and %s is not, or the other way, in %v %d",
				last.name, p.Space, start)
		}
		t.slots = append(t.slots, s)
		c.points = t.slots[len(t.slots)-len(c.points)-1:]
		return nil
	}
	t.slots = append(t.slots, s)
	t.cells = append(t.cells,
		cell{start: start, end: end, write: p.Write, points: t.slots[len(t.slots)-1:]})
	return nil
}

// measureRuns sets how far one can read and write from each cell on.
func (t *table) measureRuns() {
	for i := len(t.cells) - 1; i >= 0; i-- {
		c := &t.cells[i]
		c.readEnd, c.writeEnd = c.end, c.start
		if c.write {
			c.writeEnd = c.end
		}
		if i+1 == len(t.cells) || t.cells[i+1].start != c.end {
			continue
		}
		next := &t.cells[i+1]
		c.readEnd = next.readEnd
		if c.write {
			c.writeEnd = next.writeEnd
		}
	}
}

// find returns the index of the first cell that ends after an address.
func (t *table) find(address int) int {
	if t.found < len(t.cells) && t.cells[t.found].start == address {
		return t.found
	}
	low, high := 0, len(t.cells)
	for low < high {
		middle := (low + high) / 2
		if t.cells[middle].end > address {
			high = middle
		} else {
			low = middle + 1
		}
	}
	t.found = low
	return low
}

// readable reports whether all addresses from start to end can be read.
func (t *table) readable(start, end int) bool {
	i := t.find(start)
	if i == len(t.cells) {
		return false
	}
	if t.zero {
		return start >= t.cells[0].start && end <= t.cells[len(t.cells)-1].end
	}
	return start >= t.cells[i].start && end <= t.cells[i].readEnd
}

// writable reports whether the addresses are whole cells that can be written.
func (t *table) writable(start, end int) bool {
	i := t.find(start)
	if i == len(t.cells) || start != t.cells[i].start || end > t.cells[i].writeEnd {
		return false
	}
	for t.cells[i].end < end {
		i++
	}
	return t.cells[i].end == end
}
