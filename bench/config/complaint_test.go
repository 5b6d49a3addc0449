package config

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// complaintFormats are the messages of package config, by the line of their call: what
// its functions that report a problem are given as a format.
func complaintFormats(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	formats, files := map[string]string{}, token.NewFileSet()
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(files, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok && reports(call.Fun) {
				for _, arg := range call.Args[1:] { // the first says where
					if text, ok := literal(arg); ok && strings.Contains(text, " ") {
						formats[files.Position(call.Pos()).String()] = text
						break
					}
				}
			}
			return true
		})
	}
	return formats
}

// reports tells the functions that report a problem, or word one for the decoder.
func reports(f ast.Expr) bool {
	name := ""
	switch f := f.(type) {
	case *ast.Ident:
		name = f.Name
	case *ast.SelectorExpr:
		name = f.Sel.Name
	}
	switch name {
	case "add", "broken", "refuse", "complain", "contradiction", "fault":
		return true
	}
	return false
}

// literal is the text of a string, or of several that are added; what is no string
// stands as a verb.
func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		text, err := strconv.Unquote(e.Value)
		return text, err == nil && e.Kind == token.STRING
	case *ast.BinaryExpr:
		left, one := literal(e.X)
		right, two := literal(e.Y)
		if !one {
			left = "%s"
		}
		if !two {
			right = "%s"
		}
		return left + right, one || two
	}
	return "", false
}

// showEvery fails for each message of this package that is not among what was said: a
// rule that nothing breaks may be broken itself.
func showEvery(t *testing.T, said string) {
	verb := regexp.MustCompile(`%[-+.0-9]*[a-z]`)
	for at, format := range complaintFormats(t) {
		pattern := "(?m)"
		for i, part := range verb.Split(strings.ReplaceAll(format, "%%", "%"), -1) {
			if i > 0 {
				pattern += ".*"
			}
			pattern += regexp.QuoteMeta(part)
		}
		if shown, err := regexp.MatchString(pattern, said); err != nil || !shown {
			t.Errorf("%s: no bad file shows %q (%v)", at, format, err)
		}
	}
}
