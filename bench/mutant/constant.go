package mutant

import (
	"go/ast"
	"go/token"
	"slices"
	"strconv"
)

// constant doubles, halves and zeroes a number; a zero becomes one.
func (f *finder) constant(n *ast.BasicLit) {
	if f.skip[n] || n.Kind != token.INT && n.Kind != token.FLOAT {
		return
	}
	value, err := strconv.ParseFloat(n.Value, 64)
	if i, bad := strconv.ParseInt(n.Value, 0, 64); bad == nil {
		value, err = float64(i), nil
	}
	switch {
	case err != nil:
		return
	case value == 0:
		f.replace("zero made one", n, "1")
		return
	case n.Kind == token.FLOAT || value > 1:
		f.replace("constant halved", n, "("+n.Value+" / 2)")
	}
	f.replace("constant doubled", n, "(2 * "+n.Value+")")
	f.replace("constant zeroed", n, "0")
}

var units = []string{"Nanosecond", "Microsecond", "Millisecond", "Second", "Minute", "Hour"}

// unit does the same to a bare span such as time.Second.
func (f *finder) unit(n *ast.SelectorExpr) {
	if f.skip[n] || !isUnit(n) {
		return
	}
	text := f.text(n)
	f.replace("constant doubled", n, "(2 * "+text+")")
	f.replace("constant halved", n, "("+text+" / 2)")
	f.replace("constant zeroed", n, "(0 * "+text+")")
}

func isUnit(e ast.Expr) bool {
	s, ok := e.(*ast.SelectorExpr)
	return ok && isName(s.X, "time") && slices.Contains(units, s.Sel.Name)
}

// skipUnits leaves the unit of a product alone: its number is changed already.
func (f *finder) skipUnits(n *ast.BinaryExpr) {
	for _, e := range []ast.Expr{n.X, n.Y} {
		if isUnit(e) {
			f.skip[e] = true
		}
	}
}

func isName(e ast.Expr, name string) bool {
	id, ok := e.(*ast.Ident)
	return ok && id.Name == name
}

// truth exchanges true and false.
func (f *finder) truth(n *ast.Ident) {
	switch n.Name {
	case "true":
		f.replace("truth exchanged", n, "false")
	case "false":
		f.replace("truth exchanged", n, "true")
	}
}

// index exchanges the first and the second of a pair.
func (f *finder) index(n *ast.IndexExpr) {
	f.skip[n.Index] = true
	lit, ok := n.Index.(*ast.BasicLit)
	if !ok {
		return
	}
	switch lit.Value {
	case "0":
		f.replace("index exchanged", n, f.text(n.X)+"[1]")
	case "1":
		f.replace("index exchanged", n, f.text(n.X)+"[0]")
	}
}

// unary drops a sign or a negation.
func (f *finder) unary(n *ast.UnaryExpr) {
	switch n.Op {
	case token.NOT:
		f.replace("condition negated", n, f.text(n.X))
	case token.SUB:
		f.replace("sign exchanged", n, "("+f.text(n.X)+")")
	}
}

// call drops math.Abs and exchanges the smaller and the larger.
func (f *finder) call(n *ast.CallExpr) {
	name := f.text(n.Fun)
	if name == "math.Abs" && len(n.Args) == 1 {
		m := f.edit("absolute value dropped", n.Pos(), n.End(), "("+f.text(n.Args[0])+")")
		m.tail = "\nvar _ = math.Abs\n" // the import may have no other use
	}
	other, ok := map[string]string{"min": "max", "max": "min", "math.Min": "math.Max",
		"math.Max": "math.Min"}[name]
	if ok {
		rest := f.source[f.offset(n.Fun.End()):f.offset(n.End())]
		f.replace("minimum and maximum exchanged", n, other+rest)
	}
}

// table drops an element of a table, or a field that a value is made with.
func (f *finder) table(n *ast.CompositeLit) {
	_, list := n.Type.(*ast.ArrayType)
	for i, e := range n.Elts {
		if _, keyed := e.(*ast.KeyValueExpr); !keyed && !list {
			continue // a struct by position needs all of its fields
		}
		from, to := e.Pos(), e.End()
		switch {
		case i+1 < len(n.Elts):
			to = n.Elts[i+1].Pos()
		case i > 0:
			from = n.Elts[i-1].End()
		default:
			from, to = n.Lbrace+1, n.Rbrace
		}
		m := f.edit("element dropped", from, to, "")
		m.Before, m.Line = narrow(f.text(e)), f.set.Position(e.Pos()).Line
	}
}
