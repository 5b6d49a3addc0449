package mutant

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"slices"
	"strings"
)

// Mutant is one changed place of a package.
type Mutant struct {
	ID       string // of package, function and texts, not of lines: it outlives other edits
	File     string
	Line     int
	Function string
	Operator string
	Before   string // what is replaced, its white space narrowed
	After    string // empty where it is dropped

	source   string
	from, to int    // bytes of the source that are replaced
	with     string // the text in their place
	tail     string // added to the end of the file, such as to keep an import in use
}

// Source is the text of the mutated file.
func (m *Mutant) Source() string {
	return m.source[:m.from] + m.with + m.source[m.to:] + m.tail
}

// Lines are the changed lines whole, as they were and as they are: of a single number the
// texts alone tell little.
func (m *Mutant) Lines() (before, after string) {
	begin := strings.LastIndexByte(m.source[:m.from], '\n') + 1
	end := len(m.source)
	if i := strings.IndexByte(m.source[m.to:], '\n'); i >= 0 {
		end = m.to + i
	}
	return m.source[begin:end], m.source[begin:m.from] + m.with + m.source[m.to:end]
}

// List finds every mutant of a package in a stable order. The sources are texts by file
// name, without tests and without what is a defect on purpose.
func List(pkg string, sources map[string]string) ([]Mutant, error) {
	set := token.NewFileSet()
	files := map[string]*ast.File{}
	for name, text := range sources {
		file, err := parser.ParseFile(set, name, text, parser.SkipObjectResolution)
		if err != nil {
			return nil, fmt.Errorf("mutant: %w", err)
		}
		files[name] = file
	}
	like := likeFields(files, set, sources)
	var found []Mutant
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f := &finder{set: set, name: name, source: sources[name], like: like,
			skip: map[ast.Node]bool{}}
		f.file(files[name])
		slices.SortStableFunc(f.found, inOrder)
		found = append(found, slices.CompactFunc(f.found, same)...)
	}
	found = slices.DeleteFunc(found, func(m Mutant) bool { return !m.whole() })
	identify(pkg, found)
	return found, nil
}

// whole tells a change that is one, and that parses.
func (m *Mutant) whole() bool {
	_, err := parser.ParseFile(token.NewFileSet(), m.File, m.Source(), parser.SkipObjectResolution)
	return err == nil && m.Before != m.After
}

func inOrder(a, b Mutant) int {
	return cmp.Or(a.from-b.from, a.to-b.to, strings.Compare(a.with, b.with))
}

// same tells two operators that make the same change.
func same(a, b Mutant) bool { return inOrder(a, b) == 0 }

// idDigits keep ids short; of ten thousand mutants two share one once in six million times.
const idDigits = 12

// identify gives every mutant its id. Equal ones in a function are told apart by their
// count.
func identify(pkg string, found []Mutant) {
	equals := map[string]int{}
	for i := range found {
		m := &found[i]
		key := strings.Join([]string{pkg, m.Function, m.Operator, m.Before, m.After}, "\x00")
		equals[key]++
		sum := sha256.Sum256(fmt.Appendf(nil, "%s\x00%d", key, equals[key]))
		m.ID = hex.EncodeToString(sum[:])[:idDigits]
	}
}

// Sample takes count mutants by a seed, all of them in order where count is 0. It ranks them
// by their ids, so that a sample changes little when the package does, and leaves them in
// that rank: one that is broken off is a smaller sample.
func Sample(all []Mutant, count int, seed string) []Mutant {
	if count <= 0 {
		return all
	}
	rank := func(m Mutant) string {
		sum := sha256.Sum256([]byte(seed + "\x00" + m.ID))
		return string(sum[:])
	}
	ranked := slices.Clone(all)
	slices.SortFunc(ranked, func(a, b Mutant) int { return strings.Compare(rank(a), rank(b)) })
	return ranked[:min(count, len(ranked))]
}
