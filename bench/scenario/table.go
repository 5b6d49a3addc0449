package scenario

import (
	"slices"

	messages "github.com/cucumber/messages/go/v34"
)

// fill gives Examples that have a header alone the rows of the table of their name.
func (p *parser) fill(examples *messages.Examples) {
	i := slices.IndexFunc(p.tables, func(t Table) bool { return t.Name == examples.Name })
	if i < 0 || examples.TableHeader == nil || len(examples.TableBody) > 0 {
		return
	}
	line := int(examples.TableHeader.Location.Line)
	for _, values := range p.tables[i].Rows {
		row := &messages.TableRow{Id: p.newID(), Location: examples.TableHeader.Location}
		for _, cell := range examples.TableHeader.Cells {
			value, known := values.Values[cell.Value]
			if !known {
				p.fail(line, "%s has no column %q; it has %v", examples.Name, cell.Value, values.columns())
				return
			}
			row.Cells = append(row.Cells, &messages.TableCell{Location: cell.Location, Value: value})
		}
		p.nodes[row.Id] = node{tags: values.Tags}
		examples.TableBody = append(examples.TableBody, row)
	}
}

// columns are the words that a header may have, in order.
func (r *Row) columns() []string {
	var all []string
	for name := range r.Values {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

// said is a sentence, and meaning what its phrase makes of it.
type said struct {
	keyword Keyword
	text    string
}

type meaning struct {
	phrase *Phrase
	words  Words
	err    error
}

// match finds the phrase of a sentence; the rows of a table say most of theirs again.
func (p *parser) match(keyword Keyword, text string) (*Phrase, Words, error) {
	m, known := p.matched[said{keyword, text}]
	if !known {
		m.phrase, m.words, m.err = match(keyword, text)
		p.matched[said{keyword, text}] = m
	}
	return m.phrase, m.words, m.err
}
