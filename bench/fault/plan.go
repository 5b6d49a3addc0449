package fault

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/plant"
)

// never is later than every instant.
const never = time.Duration(math.MaxInt64)

// Measure is what a condition looks at.
type Measure int

// Measures of an axis.
const (
	None     Measure = iota // the condition always holds
	Position                // rad
	Rate                    // rad/s
)

// Condition holds while a measure of an axis is above (or, when Below, below) a
// value. The zero value always holds.
type Condition struct {
	Measure Measure
	Axis    int
	Below   bool
	Value   float64 // rad or rad/s
}

// Motion is the true state of the axes at one plant step.
type Motion struct {
	Position, Rate *[plant.AxisCount]float64 // rad, rad/s
}

func (c Condition) holds(m Motion) bool {
	var x float64
	switch c.Measure {
	case Position:
		x = m.Position[c.Axis]
	case Rate:
		x = m.Rate[c.Axis]
	default:
		return true
	}
	if c.Below {
		return x < c.Value
	}
	return x > c.Value
}

// Moment is the first plant step not before At at which When holds.
type Moment struct {
	At   time.Duration
	When Condition
}

// Entry is a fault and when it stands. It ends at End, or when it has Lasted, or
// with both zero not at all.
type Entry struct {
	Fault Fault
	Start Moment
	End   Moment
	Lasts time.Duration
}

func (e Entry) validate() error {
	switch {
	case e.Fault.Name() == "":
		return fmt.Errorf("fault: plan has a fault of no kind")
	case e.Lasts < 0 || e.Start.At < 0 || e.End.At < 0:
		return fmt.Errorf("fault: %s: times before the world's start", e.Fault.Name())
	case e.Lasts > 0 && e.End != Moment{}:
		return fmt.Errorf("fault: %s: has an end and a length; need one", e.Fault.Name())
	case e.End != Moment{} && e.End.At < e.Start.At && e.End.When == Condition{}:
		return fmt.Errorf("fault: %s: ends at %v before it starts at %v",
			e.Fault.Name(), e.End.At, e.Start.At)
	}
	for _, c := range []Condition{e.Start.When, e.End.When} {
		if c.Axis < 0 || c.Axis >= plant.AxisCount || c.Measure < None || c.Measure > Rate ||
			math.IsNaN(c.Value) {
			return fmt.Errorf("fault: %s: condition on nothing there is", e.Fault.Name())
		}
	}
	return nil
}

// Edge is a fault that began or ended at a plant step.
type Edge struct {
	Fault
	ID    ID
	Began bool
	Due   time.Duration // asked for; with a condition, when it was seen to hold
	At    time.Duration // the step it acted in
}

// ID tells one entry of a plan from the others.
type ID int

// Plan is the list of entries and which of them stand; the zero value is empty.
// It belongs to the station's one lock.
type Plan struct {
	entries []planned
	edges   []Edge
	next    time.Duration // nothing can happen before
}

type planned struct {
	Entry
	phase phase
	end   Moment // as it stands once begun
	ends  bool
}

type phase int

const (
	waiting phase = iota
	standing
	over
)

// Add plans one more entry. One whose start has passed begins at the next step.
func (p *Plan) Add(e Entry) (ID, error) {
	if err := e.validate(); err != nil {
		return 0, err
	}
	p.entries = append(p.entries, planned{Entry: e})
	p.next = min(p.next, e.Start.At)
	return ID(len(p.entries) - 1), nil
}

// Remove ends an entry at the next step, or keeps it from ever starting. It
// waits for nobody; an entry that is over stays so.
func (p *Plan) Remove(id ID) {
	e := &p.entries[id]
	switch e.phase {
	case waiting:
		e.phase = over
	case standing:
		e.end, e.ends, p.next = Moment{}, true, 0
	}
}

// Active brings the plan to now, which never goes back, and returns what began
// and ended since the last call, in order of entry. The slice is good until the
// next call. A step at which nothing can happen costs one comparison.
func (p *Plan) Active(now time.Duration, m Motion) []Edge {
	p.edges = p.edges[:0]
	if now < p.next {
		return nil
	}
	p.next = never
	for i := range p.entries {
		e := &p.entries[i]
		if e.phase == waiting {
			p.begin(ID(i), now, m)
		}
		if e.phase == standing && e.ends {
			p.finish(ID(i), now, m)
		}
	}
	return p.edges
}

// Due is the first instant at which a plan that nobody touches may do anything. It
// has passed already where a condition is being waited for.
func (p *Plan) Due() time.Duration { return p.next }

func (p *Plan) begin(id ID, now time.Duration, m Motion) {
	e := &p.entries[id]
	if now < e.Start.At || !e.Start.When.holds(m) {
		p.next = min(p.next, e.Start.At)
		return
	}
	e.phase, e.end, e.ends = standing, e.End, e.End != Moment{}
	if e.Lasts > 0 {
		e.end, e.ends = Moment{At: now + e.Lasts}, true
	}
	p.tell(id, true, now)
}

func (p *Plan) finish(id ID, now time.Duration, m Motion) {
	e := &p.entries[id]
	if now < e.end.At || !e.end.When.holds(m) {
		p.next = min(p.next, e.end.At)
		return
	}
	e.phase = over
	p.tell(id, false, now)
}

// tell records an edge. A moment without a condition was due at its own time, any
// other one when it was seen to hold.
func (p *Plan) tell(id ID, began bool, now time.Duration) {
	e := &p.entries[id]
	moment := e.end
	if began {
		moment = e.Start
	}
	due := now
	if (began || moment.At > 0) && moment.When == (Condition{}) {
		due = moment.At
	}
	p.edges = append(p.edges, Edge{ID: id, Fault: e.Fault, Began: began, Due: due, At: now})
}

// Standing appends the beginning of each fault that stands to list, in order of entry,
// as if it were now.
func (p *Plan) Standing(list []Edge, now time.Duration) []Edge {
	for i := range p.entries {
		if p.entries[i].phase == standing {
			list = append(list, Edge{p.entries[i].Fault, ID(i), true, now, now})
		}
	}
	return list
}
