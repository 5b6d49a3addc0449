package scenario

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/plant"
	"haltmark/emulators/interlock"
)

// Cell is one place of the stop matrix: a stop cause by one of its sentences, while an axis
// is doing something towards one of its ends.
type Cell struct {
	Strike   *config.Strike
	Activity *Activity
	Axis     plant.Axis
	End      int
	Lacks    string // why that cannot be; "" where it can
	Chosen   bool   // tried without --full too
	Number   int    // of the motor, where the sentence names one
}

// StopMatrix is every stop cause in every activity on every axis in both directions. Chosen
// are so many cells that each pair of cause, activity, and axis with direction is among them.
func StopMatrix(strikes []config.Strike) []Cell {
	activities := Activities()
	var cells []Cell
	for i := range strikes {
		for k := range activities {
			for axis := range plant.Axis(plant.AxisCount) {
				for end := range plant.EndNames {
					c := Cell{Strike: &strikes[i], Activity: &activities[k], Axis: axis, End: end}
					c.Lacks = c.lacks()
					c.number(len(cells))
					cells = append(cells, c)
				}
			}
		}
	}
	choosePairs(cells)
	return cells
}

// number lets the motors of an axis take turns.
func (c *Cell) number(place int) {
	_, motors := c.Axis.Motors()
	c.Number = 1 + (place/2)%motors
}

// lacks tells why a cell cannot be.
func (c *Cell) lacks() string {
	s, a := c.Strike, c.Activity
	if why := a.lacks(c.Axis, c.End); why != "" {
		return why
	}
	modes := interlock.ModeNames
	for _, one := range []struct {
		missing bool
		why     string
	}{
		{slices.Contains(s.Except, a.Words), s.Why},
		{s.Main && !c.Axis.Main(), "a polarization axis has no such part"},
		{s.Mode != "" && s.Mode != modes[a.Mode], "the mode selector is not at " + s.Mode + " then"},
		{s.In == config.WithTorque && !a.Torque, "it is a stop cause for an axis with torque"},
		{s.In == config.InMotion && !a.Moving, "it is a stop cause in motion"},
		{s.In == config.FastMotion && !a.Fast, "it cannot be told from what is sound at a low rate"},
		{s.In == config.ByHand && !a.Hand, "it is a stop cause under hand control"},
		{s.In == config.ByCommand && (a.Hand || !a.Moving), "it is a stop cause in commanded motion"},
	} {
		if one.missing {
			return one.why
		}
	}
	return ""
}

// choosePairs marks cells until every pair that can be is among the marked ones: again and
// again the cell that brings most that is new.
func choosePairs(cells []Cell) {
	pairs, count := pairsOf(cells)
	seen := make([]bool, count)
	for {
		best, most := -1, 0
		for i := range cells {
			if c := &cells[i]; c.Lacks != "" || c.Chosen {
				continue
			}
			fresh := 0
			for _, p := range pairs[i] {
				if !seen[p] {
					fresh++
				}
			}
			if fresh > most {
				best, most = i, fresh
			}
		}
		if best < 0 {
			return
		}
		cells[best].Chosen = true
		for _, p := range pairs[best] {
			seen[p] = true
		}
	}
}

// pairsOf numbers the pairs of cause, activity, and axis with direction in each cell.
func pairsOf(cells []Cell) (pairs [][3]int, count int) {
	numbers := map[[2]string]int{}
	number := func(a, b string) int {
		n, known := numbers[[2]string{a, b}]
		if !known {
			n = len(numbers)
			numbers[[2]string{a, b}] = n
		}
		return n
	}
	for i := range cells {
		c := &cells[i]
		place := plant.AxisNames[c.Axis] + plant.EndNames[c.End]
		pairs = append(pairs, [3]int{number(c.Strike.Say, c.Activity.Words),
			number(c.Strike.Say, place), number(c.Activity.Words, place)})
	}
	return pairs, len(numbers)
}

// Table has the rows of an outline whose Examples give a header alone, by the name of those
// Examples.
type Table struct {
	Name string
	Rows []Row
}

// Row is one of them: its values by the header's words, and tags of its own.
type Row struct {
	Values map[string]string
	Tags   []string
}

// The tables of the stop matrix: causes that must be reset and come again, those that are
// reset and no more, and those after which nothing has to be reset, or nobody is there to.
const (
	AgainTable = "the stop matrix, causes that come again"
	ResetTable = "the stop matrix, causes that are reset"
	OtherTable = "the stop matrix, other causes"
)

// MatrixTag is on every row of the stop matrix.
const MatrixTag = "@matrix"

// OfMatrix reports whether an example is a cell of the stop matrix.
func (e *Example) OfMatrix() bool { return slices.Contains(e.Tags, MatrixTag) }

// Tables are the rows of the stop matrix, all of them or those that are chosen, and of what
// must be refused.
func Tables(strikes []config.Strike, full bool) []Table {
	all := []Table{{Name: AgainTable}, {Name: ResetTable}, {Name: OtherTable}}
	for _, c := range StopMatrix(strikes) {
		if c.Lacks == "" && (full || c.Chosen) {
			t := &all[c.table()]
			t.Rows = append(t.Rows, c.row())
		}
	}
	return append(all, refusedTable(), stayingTable(strikes), pairTable(strikes))
}

// table is the place of the table that a cell belongs to.
func (c *Cell) table() int {
	switch s := c.Strike; {
	case !s.Latching || s.Stows || s.Deaf || c.Activity.Latched:
		return 2
	case s.Strained:
		return 1
	}
	return 0
}

func (c *Cell) row() Row {
	fill := strings.NewReplacer("{axis}", c.Axis.Words(), "{end}", plant.EndNames[c.End],
		"{number}", strconv.Itoa(c.Number))
	row := Row{Values: map[string]string{"axis": c.Axis.Words(), "end": plant.EndNames[c.End],
		"activity": c.Activity.Words, "stop cause": fill.Replace(c.Strike.Say),
		"second cause": fill.Replace(c.Strike.Again)}, Tags: []string{MatrixTag}}
	for _, id := range c.Strike.Answered {
		row.Tags = append(row.Tags, "@"+id)
	}
	return row
}

// Name is what a cell is called, as its scenario.
func (c *Cell) Name() string {
	return fmt.Sprintf("%s, with %s %s towards its %s end", c.row().Values["stop cause"],
		c.Axis.Words(), c.Activity.Words, plant.EndNames[c.End])
}
