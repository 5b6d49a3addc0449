package scenario

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	gherkin "github.com/cucumber/gherkin/go/v42"
	messages "github.com/cucumber/messages/go/v34"

	"haltmark/bench/config"
)

// Example is one runnable scenario: a scenario, or one row of its examples.
type Example struct {
	Path    string // embedded name or name as given, with forward slashes
	Feature string
	Rule    string
	Name    string // with the row's values in it
	Title   string // the name, and what tells it from others of that name in its feature
	Row     string // the row's values, empty for a plain scenario
	Line    int    // line of the scenario, or of its examples row
	Tags    []string
	Steps   []Sentence
}

// Sentence is one step, with the meaning its phrase gives it.
type Sentence struct {
	Text    string
	Line    int
	Keyword Keyword
	Phrase  *Phrase
	Words   Words
}

// Keyword tells what a sentence may do.
type Keyword int

// Given sets up, When acts, Then asks.
const (
	Given Keyword = iota
	When
	Then
)

func (k Keyword) String() string { return [...]string{"Given", "When", "Then"}[k] }

// Error is something wrong in a feature file, for the person who wrote it.
type Error struct {
	Path string
	Line int
	What string
}

func (e *Error) Error() string { return fmt.Sprintf("%s:%d: %s", e.Path, e.Line, e.What) }

// lineLimit bounds a line in bytes; the reader of features has room for twice as much.
const lineLimit = 1 << 15

// Parse reads a feature and matches every sentence. Examples that have a header alone and the
// name of a table get its rows. All errors are returned, in file order; the examples are
// good only when there are none.
func Parse(path string, source []byte, tables ...Table) ([]Example, []error) {
	source = config.WithoutMark(source)
	if errs := checkLines(path, source); errs != nil {
		return nil, errs
	}
	newID := (&messages.Incrementing{}).NewId
	doc, err := gherkin.ParseGherkinDocument(bytes.NewReader(source), newID)
	if err != nil {
		return nil, syntaxErrors(path, err)
	}
	if doc.Feature == nil {
		return nil, []error{&Error{path, 1, "the file holds no feature"}}
	}
	p := &parser{path: path, doc: doc, nodes: map[string]node{}, tables: tables, newID: newID,
		matched: map[said]meaning{}}
	p.walk()
	for _, pickle := range gherkin.Pickles(*doc, path, newID) {
		p.example(pickle)
	}
	slices.SortStableFunc(p.examples, func(a, b Example) int { return a.Line - b.Line })
	p.title()
	// A sentence of an outline is wrong in each of its rows and told once.
	return p.examples, inOrder(p.errs)
}

// checkLines finds what the reader of features falls over, or passes over in silence: long
// lines, what is no text, and on a line of tags what is none.
func checkLines(path string, source []byte) (errs []error) {
	number := 0
	for line := range bytes.Lines(source) {
		if number++; len(line) > lineLimit {
			errs = append(errs, &Error{path, number, fmt.Sprintf("the line has %d bytes; the longest "+
				"that is read has %d; say it in several", len(line), lineLimit)})
		} else if what := noText(line); what != "" {
			errs = append(errs, &Error{path, number, fmt.Sprintf("%q %s; write the file as plain UTF-8 "+
				"text", bytes.TrimRight(line, "\r\n"), what)})
		}
		if line = bytes.TrimSpace(line); len(line) == 0 || line[0] != '@' {
			continue
		}
		for _, word := range strings.Fields(string(line)) {
			if word[0] == '#' {
				break
			}
			if !tagsForm.MatchString(word) {
				errs = append(errs, &Error{path, number, fmt.Sprintf("%q is no tag; need @ and a name "+
					"without ~ , and &; name it or remove it", word)})
			}
		}
	}
	return errs
}

// noText says why a line is none that one could read.
func noText(line []byte) string {
	if !utf8.Valid(line) {
		return "is not UTF-8"
	}
	line = bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("\r"))
	if bytes.ContainsFunc(line, func(r rune) bool { return r != '\t' && unicode.IsControl(r) }) {
		return "holds a control character"
	}
	return ""
}

// tagsForm is what a selection can name.
var tagsForm = regexp.MustCompile(`^(@[^\s~@,&]+)+$`)

// title tells apart what is called the same: rows whose values are not in the name.
func (p *parser) title() {
	named, told := map[[2]string]int{}, map[[3]string]int{}
	for _, e := range p.examples {
		named[[2]string{e.Rule, e.Name}]++
		told[[3]string{e.Rule, e.Name, e.Row}]++
	}
	for i := range p.examples {
		e := &p.examples[i]
		switch e.Title = e.Name; {
		case told[[3]string{e.Rule, e.Name, e.Row}] > 1:
			e.Title += fmt.Sprintf(" (line %d)", e.Line)
		case named[[2]string{e.Rule, e.Name}] > 1 && e.Row != "":
			e.Title += " (" + e.Row + ")"
		}
	}
}

// syntaxErrors words gherkin's own errors as ours, one a line, in file order: gherkin finds
// a crooked table only at its end.
func syntaxErrors(path string, err error) []error {
	var errs []*Error
	for line := range strings.Lines(err.Error()) {
		line = strings.TrimSpace(line)
		var row, column int
		if n, _ := fmt.Sscanf(line, "(%d:%d):", &row, &column); n == 2 {
			_, what, _ := strings.Cut(line, "): ")
			errs = append(errs, &Error{path, row, plainly(what)})
		}
	}
	if errs == nil {
		errs = []*Error{{path, 1, err.Error()}}
	}
	return inOrder(errs)
}

// form is what a feature file looks like.
const form = "a file has a Feature with Rules, their Scenarios with Given, When, Then, and rows " +
	"of Examples between bars"

// plainly says without the grammar's own symbols what gherkin found out of place.
func plainly(what string) string {
	if strings.HasPrefix(what, "unexpected end of file") {
		return "the file ends in the middle: its last tags or Examples belong to nothing; " + form
	}
	if _, got, found := strings.Cut(what, ", got '"); found {
		return fmt.Sprintf("%q does not belong here; %s", strings.TrimSuffix(got, "'"), form)
	}
	return what
}

// inOrder are errors in file order, each once.
func inOrder(errs []*Error) []error {
	slices.SortStableFunc(errs, func(a, b *Error) int { return a.Line - b.Line })
	var all []error
	told := map[Error]bool{}
	for _, err := range errs {
		if !told[*err] {
			told[*err] = true
			all = append(all, err)
		}
	}
	return all
}

// node is what an AST id stands for.
type node struct {
	line int
	rule *messages.Rule
	row  *messages.TableRow
	tags []string // of a row of a table
}

type parser struct {
	path     string
	tables   []Table
	newID    func() string
	matched  map[said]meaning
	doc      *messages.GherkinDocument
	nodes    map[string]node
	examples []Example
	errs     []*Error
}

func (p *parser) fail(line int, format string, args ...any) {
	p.errs = append(p.errs, &Error{p.path, line, fmt.Sprintf(format, args...)})
}

// walk notes every scenario with its rule, rows and lines.
func (p *parser) walk() {
	feature := p.doc.Feature
	p.description(feature.Location, fmt.Sprintf("feature %q", feature.Name), feature.Description)
	for _, child := range feature.Children {
		switch {
		case child.Scenario != nil:
			p.scenario(nil, child.Scenario)
			p.fail(int(child.Scenario.Location.Line),
				"scenario %q stands outside a Rule; put it under the Rule it shows", child.Scenario.Name)
		case child.Background != nil:
			p.background(child.Background)
		case child.Rule != nil:
			p.rule(child.Rule)
		}
	}
}

// description holds that no tag is lost in one.
func (p *parser) description(at *messages.Location, what, text string) {
	for _, word := range strings.Fields(text) {
		if word[0] == '@' {
			p.fail(int(at.Line), "the description of %s names %q; tags stand on a line of their own "+
				"above what they are for", what, word)
		}
	}
}

func (p *parser) rule(r *messages.Rule) {
	p.description(r.Location, fmt.Sprintf("rule %q", r.Name), r.Description)
	scenarios := 0
	for _, child := range r.Children {
		if child.Scenario == nil {
			p.background(child.Background)
			continue
		}
		scenarios++
		p.scenario(r, child.Scenario)
	}
	if scenarios == 0 {
		p.fail(int(r.Location.Line), "rule %q has no scenario that shows it", r.Name)
	}
}

func (p *parser) background(b *messages.Background) {
	p.fail(int(b.Location.Line),
		"a Background hides set-up from the reader; say it in each scenario")
	p.steps(b.Steps)
}

// steps notes where each sentence stands, and that it is a sentence alone.
func (p *parser) steps(steps []*messages.Step) {
	for _, step := range steps {
		line := int(step.Location.Line)
		p.nodes[step.Id] = node{line: line}
		if step.DataTable != nil || step.DocString != nil {
			p.fail(line, "%q carries a table or a text; a sentence says all in one line", step.Text)
		}
	}
}

func (p *parser) scenario(rule *messages.Rule, s *messages.Scenario) {
	line := int(s.Location.Line)
	if strings.TrimSpace(s.Description) != "" {
		p.fail(line, "scenario %q has a description; say it in its sentences or in its Rule; sentences "+
			"begin with Given, When, Then, And or But, spelled so", s.Name)
	}
	if len(s.Steps) == 0 {
		p.fail(line, "scenario %q is empty; give it a Given, a When and a Then", s.Name)
	}
	p.nodes[s.Id] = node{line: line, rule: rule}
	p.steps(s.Steps)
	rows := 0
	for _, table := range s.Examples {
		p.fill(table)
		for _, row := range table.TableBody {
			p.row(row)
			rows++
		}
	}
	if len(s.Examples) > 0 && rows == 0 {
		p.fail(line, "scenario %q has Examples without a row; it would never run", s.Name)
	}
}

func (p *parser) row(row *messages.TableRow) {
	line := int(row.Location.Line)
	p.nodes[row.Id] = node{line: line, row: row, tags: p.nodes[row.Id].tags}
	if strings.Contains(rowText(row), "\n") {
		p.fail(line, "a value holds a line break; a sentence is one line; write it without")
	}
}

// example matches the sentences of one pickle.
func (p *parser) example(pickle *messages.Pickle) {
	owner := p.nodes[pickle.AstNodeIds[0]]
	e := Example{Path: p.path, Feature: p.doc.Feature.Name, Name: pickle.Name, Line: owner.line}
	if owner.rule != nil {
		e.Rule = owner.rule.Name
	}
	if len(pickle.AstNodeIds) > 1 {
		row := p.nodes[pickle.AstNodeIds[1]]
		e.Line = row.line
		e.Row = rowText(row.row)
		e.Tags = slices.Clone(row.tags)
	}
	for _, tag := range pickle.Tags {
		e.Tags = append(e.Tags, tag.Name)
	}
	for _, step := range pickle.Steps {
		e.Steps = append(e.Steps, p.sentence(step))
	}
	p.checkOrder(&e)
	p.examples = append(p.examples, e)
}

func rowText(row *messages.TableRow) string {
	cells := make([]string, len(row.Cells))
	for i, c := range row.Cells {
		cells[i] = c.Value
	}
	return strings.Join(cells, ", ")
}

func (p *parser) sentence(step *messages.PickleStep) Sentence {
	s := Sentence{Text: step.Text, Line: p.nodes[step.AstNodeIds[0]].line}
	switch step.Type {
	case messages.PickleStepType_CONTEXT:
	case messages.PickleStepType_ACTION:
		s.Keyword = When
	case messages.PickleStepType_OUTCOME:
		s.Keyword = Then
	default:
		p.fail(s.Line, "%q is neither Given nor When nor Then; begin it with one of them", s.Text)
		return s
	}
	phrase, words, err := p.match(s.Keyword, s.Text)
	if err != nil {
		p.fail(s.Line, "%v", err)
	}
	s.Phrase, s.Words = phrase, words
	return s
}

// checkOrder holds a scenario to Given, When, Then.
func (p *parser) checkOrder(e *Example) {
	if len(e.Steps) == 0 {
		return
	}
	acted, asked := false, false
	for _, s := range e.Steps {
		switch s.Keyword {
		case Given:
			if acted {
				p.fail(s.Line, "a Given after a When: set-up comes first, "+
					"since time passes from the first When on")
			}
		case When:
			acted = true
		case Then:
			asked = true
			if !acted {
				p.fail(s.Line, "a Then before any When: nothing has happened yet that could be measured")
			}
		}
	}
	if !asked {
		p.fail(e.Line, "scenario %q asks for nothing; end it with a Then", e.Name)
	}
}
