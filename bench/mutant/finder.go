package mutant

import (
	"go/ast"
	"go/token"
	"strings"
)

// finder goes through one file. An operator that has dealt with a node marks it, so that a
// more general one leaves it alone.
type finder struct {
	set      *token.FileSet
	name     string
	source   string
	function string
	like     map[string]string // a field, and another one of its struct and type
	skip     map[ast.Node]bool
	found    []Mutant
}

// file looks at every function, and at every value of the package.
func (f *finder) file(file *ast.File) {
	for _, decl := range file.Decls {
		switch d := decl.(type) {
		case *ast.FuncDecl:
			f.function = functionName(d)
			ast.Inspect(d, f.look)
		case *ast.GenDecl:
			f.values(d)
		}
	}
}

func (f *finder) values(d *ast.GenDecl) {
	for _, spec := range d.Specs {
		if value, ok := spec.(*ast.ValueSpec); ok {
			f.function = value.Names[0].Name
			ast.Inspect(value, f.look)
		}
	}
}

func functionName(d *ast.FuncDecl) string {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return d.Name.Name
	}
	of := d.Recv.List[0].Type
	if star, ok := of.(*ast.StarExpr); ok {
		of = star.X
	}
	if generic, ok := of.(*ast.IndexExpr); ok {
		of = generic.X
	}
	if name, ok := of.(*ast.Ident); ok {
		return name.Name + "." + d.Name.Name
	}
	return d.Name.Name
}

// look tries the operators on a node. It comes to a node before its children.
func (f *finder) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.IfStmt:
		f.branch(n)
	case *ast.BinaryExpr:
		f.binary(n)
	case *ast.UnaryExpr:
		f.unary(n)
	case *ast.BasicLit:
		f.constant(n)
	case *ast.Ident:
		f.truth(n)
	case *ast.SelectorExpr:
		f.unit(n)
	case *ast.IndexExpr:
		f.index(n)
	case *ast.ArrayType:
		f.skip[n.Len] = true
	case *ast.CallExpr:
		f.call(n)
	case *ast.CompositeLit:
		f.table(n)
	default:
		f.statement(n)
	}
	return true
}

func (f *finder) statement(n ast.Node) {
	switch n := n.(type) {
	case *ast.AssignStmt:
		f.assignment(n)
	case *ast.IncDecStmt:
		f.count(n)
	case *ast.ExprStmt:
		f.action(n)
	case *ast.ReturnStmt:
		f.result(n)
	case *ast.SwitchStmt:
		f.cases(n.Body, n.Tag == nil)
	case *ast.TypeSwitchStmt:
		f.skip[n.Assign] = true
		f.cases(n.Body, false)
	case *ast.ForStmt:
		f.loop(n)
	case *ast.RangeStmt:
		f.over(n)
	}
}

func (f *finder) offset(pos token.Pos) int { return f.set.Position(pos).Offset }

func (f *finder) text(n ast.Node) string {
	return f.source[f.offset(n.Pos()):f.offset(n.End())]
}

// replace notes a mutant that has another text in a node's place.
func (f *finder) replace(operator string, n ast.Node, after string) {
	f.edit(operator, n.Pos(), n.End(), after)
}

// edit notes a mutant that has another text between two places.
func (f *finder) edit(operator string, from, to token.Pos, after string) *Mutant {
	before := f.source[f.offset(from):f.offset(to)]
	f.found = append(f.found, Mutant{File: f.name, Line: f.set.Position(from).Line,
		Function: f.function, Operator: operator, Before: narrow(before), After: narrow(after),
		source: f.source, from: f.offset(from), to: f.offset(to), with: after})
	return &f.found[len(f.found)-1]
}

func narrow(text string) string { return strings.Join(strings.Fields(text), " ") }
