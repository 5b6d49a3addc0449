package evidence

import (
	"fmt"
	"time"

	"haltmark/bench/record"
)

// placed is a mark with its label's lane above the panels.
type placed struct {
	at           time.Duration
	name, axis   string
	class, label string
	lane         int
	left         bool // the label stands left of its line
}

// The most labels and lanes that a plot has room for; further marks are lines.
const (
	labelsMost = 12
	lanesMost  = 5
	letterWide = 6.3
)

// markWords says how the kinds of marks are drawn and worded; kinds that are not
// here are not drawn.
func markWords(kind string) (class, words string) {
	switch kind {
	case record.Cause:
		return "cause", "cause: "
	case record.Fault:
		return "fault", "fault: "
	case record.Release:
		return "release", "taken back: "
	case record.Report:
		return "told", "reported: "
	}
	return "", ""
}

// placeMarks chooses the marks in the window and gives their labels lanes in
// which they do not overlap.
func (p *plot) placeMarks() {
	var ends [lanesMost]float64
	for _, m := range p.rec.Marks {
		class, words := markWords(m.Kind)
		outside := m.At < p.spec.From || m.At > p.spec.Until
		if class == "" || outside || p.repeated(m, class) {
			continue
		}
		name := m.Name
		if m.Axis != "" && m.Axis != p.spec.Axis {
			name += ", " + m.Axis
		}
		mark := placed{at: m.At, name: m.Name, axis: m.Axis, class: class, lane: -1,
			label: fmt.Sprintf("%s%s, %.3f s", words, plain(name), m.At.Seconds())}
		wide := letterWide*float64(len(mark.label)) + 12
		x := p.x(m.At)
		start := x
		if x+wide > plotWidth {
			mark.left, start = true, x-wide
		}
		for lane := range ends {
			if len(p.marks) < labelsMost && start >= ends[lane] {
				mark.lane, ends[lane] = lane, start+wide
				p.lanes = max(p.lanes, lane+1)
				break
			}
		}
		p.marks = append(p.marks, mark)
	}
}

// repeated reports whether a mark says nothing new: a fault that is a cause at the
// same time, a like mark close by, or what was told already.
func (p *plot) repeated(m record.Mark, class string) bool {
	const near = 30 * time.Millisecond
	if m.Kind == record.Fault {
		for _, other := range p.rec.Marks {
			if other.Kind == record.Cause && (other.At-m.At).Abs() < near {
				return true
			}
		}
	}
	for _, other := range p.marks {
		if other.class == class && other.name == m.Name && other.axis == m.Axis &&
			(class == "told" || m.At-other.at < near) {
			return true
		}
	}
	return false
}

func (p *plot) drawMarks(top float64) {
	for _, m := range p.marks {
		x := p.x(m.at)
		if m.lane < 0 {
			p.line("mark "+m.class, x, top, x, p.bottom)
			continue
		}
		y := 8 + laneHeight*float64(m.lane) + 10
		p.line("mark "+m.class, x, y-8, x, p.bottom)
		if m.left {
			p.text("limit", "end", x-4, y, m.label)
		} else {
			p.text("limit", "start", x+4, y, m.label)
		}
	}
}
