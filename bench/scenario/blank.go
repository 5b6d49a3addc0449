package scenario

import (
	"bytes"

	messages "github.com/cucumber/messages/go/v34"
)

// span is the lines that belong to one scenario, and those of its rows.
type span struct {
	id          string
	first, last int
	rows        []int
}

func spanOf(s *messages.Scenario) span {
	out := span{id: s.Id, first: int(s.Location.Line), last: int(s.Location.Line)}
	for _, tag := range s.Tags {
		out.first = min(out.first, int(tag.Location.Line))
	}
	for _, step := range s.Steps {
		out.last = max(out.last, int(step.Location.Line))
	}
	for _, table := range s.Examples {
		out.last = max(out.last, int(table.Location.Line))
		for _, row := range table.TableBody {
			out.rows = append(out.rows, int(row.Location.Line))
			out.last = max(out.last, int(row.Location.Line))
		}
	}
	return out
}

// only returns the feature with every line of the other scenarios, and of the
// other rows of this one, made empty: line numbers stay, one example is left.
func only(source []byte, spans []span, keep *messages.Scenario, line int) []byte {
	lines := bytes.Split(source, []byte("\n"))
	blank := func(n int) { lines[n-1] = nil }
	for _, s := range spans {
		if s.id != keep.Id {
			for n := s.first; n <= s.last; n++ {
				blank(n)
			}
			continue
		}
		for _, n := range s.rows {
			if n != line {
				blank(n)
			}
		}
	}
	return bytes.Join(lines, []byte("\n"))
}
