package bench

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/format"
	"go/token"
	"path"
	"slices"
	"strings"
	"unicode/utf8"
)

// The caps of the house. A tab is one column.
const (
	fileLines        = 400
	functionLines    = 60
	lineColumns      = 100
	parameterCount   = 5
	interfaceMethods = 5
)

// exemptions name what may exceed a cap, as "file: lines", "file: parameters",
// "file: methods" or "file: function: name".
// The list may only shrink.
var exemptions = []string{}

// drawers are names that say nothing about what a package owns.
var drawers = []string{"util", "utils", "common", "base", "helper", "helpers", "lib", "types",
	"misc", "shared", "tools"}

// excess is a finding that an exemption of the same key would allow.
type excess struct{ key, finding string }

// house checks the size and the form of one file.
func house(s source) []string {
	var found []string
	for _, e := range excesses(s) {
		if !slices.Contains(exemptions, e.key) {
			found = append(found, e.finding)
		}
	}
	for i, line := range lines(s) {
		if columns := utf8.RuneCountInString(line); columns > lineColumns {
			found = append(found, fmt.Sprintf("%s:%d: %d columns in the line, %d allowed",
				s.name, i+1, columns, lineColumns))
		}
	}
	if tidy, err := format.Source(s.text); err != nil || !bytes.Equal(tidy, s.text) {
		found = append(found, s.at(s.file.Package, "not in the form of gofmt"))
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		if name, ok := n.(*ast.Ident); ok && !ascii(name.Name) {
			found = append(found, s.at(n.Pos(), "identifier %q is not ASCII", name.Name))
		}
		return true
	})
	return found
}

func lines(s source) []string {
	return strings.Split(strings.TrimSuffix(string(s.text), "\n"), "\n")
}

// excesses are the file, functions and signatures beyond a cap.
func excesses(s source) []excess {
	var found []excess
	over := func(pos token.Pos, key, what string, size, allowed int) {
		if size > allowed {
			found = append(found, excess{s.name + ": " + key,
				s.at(pos, "%s, %d allowed", fmt.Sprintf(what, size), allowed)})
		}
	}
	over(s.file.Package, "lines", "%d lines in the file", len(lines(s)), fileLines)
	ast.Inspect(s.file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.FuncDecl:
			name := n.Name.Name
			over(n.Pos(), "function: "+name, "function "+name+" has %d lines", span(s, n),
				functionLines)
		case *ast.FuncType:
			over(n.Pos(), "parameters", "%d parameters", fields(n.Params), parameterCount)
		case *ast.InterfaceType:
			over(n.Pos(), "methods", "%d methods in an interface", fields(n.Methods),
				interfaceMethods)
		}
		return true
	})
	return found
}

// staleExemptions are those that nothing needs any more.
func staleExemptions(files []source) []string {
	needed := map[string]bool{}
	for _, s := range files {
		for _, e := range excesses(s) {
			needed[e.key] = true
		}
	}
	var stale []string
	for _, e := range exemptions {
		if !needed[e] {
			stale = append(stale, "exemption is not needed any more: "+e)
		}
	}
	return stale
}

func span(s source, n ast.Node) int {
	return s.set.Position(n.End()).Line - s.set.Position(n.Pos()).Line + 1
}

// fields counts names, or one where a field has none.
func fields(list *ast.FieldList) int {
	count := 0
	for _, field := range list.List {
		count += max(1, len(field.Names))
	}
	return count
}

func ascii(name string) bool {
	return !strings.ContainsFunc(name, func(r rune) bool { return r >= utf8.RuneSelf })
}

// packages checks what a package owes as a whole.
func packages(files []source) []string {
	byDir := map[string][]source{}
	for _, s := range files {
		if !s.test() {
			byDir[s.dir()] = append(byDir[s.dir()], s)
		}
	}
	var found []string
	for dir, members := range byDir {
		if slices.Contains(drawers, path.Base(dir)) {
			found = append(found, dir+": a drawer's name, not a room's")
		}
		if !documented(members) {
			found = append(found, dir+": no doc.go with a package comment")
		}
		found = append(found, written(members)...)
	}
	return found
}

func documented(members []source) bool {
	for _, s := range members {
		if s.base() != "doc.go" || s.file.Doc == nil {
			continue
		}
		text := s.file.Doc.Text()
		return strings.HasPrefix(text, "Package "+s.file.Name.Name+" ") ||
			strings.HasPrefix(text, "Command "+path.Base(s.dir())+" ")
	}
	return false
}
