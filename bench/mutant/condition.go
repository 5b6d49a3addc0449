package mutant

import (
	"go/ast"
	"go/token"
	"maps"
	"slices"
)

// branch takes a condition for its contrary, and a guard as never met. A guard keeps its
// condition, which may have the only use of a variable.
func (f *finder) branch(n *ast.IfStmt) {
	f.negate(n.Cond)
	if n.Else == nil && leaves(n.Body) {
		f.replace("guard dropped", n.Cond, "false && ("+f.text(n.Cond)+")")
	}
	f.exchangeField(n.Cond)
}

func (f *finder) negate(cond ast.Expr) {
	if not, ok := cond.(*ast.UnaryExpr); ok && not.Op == token.NOT {
		return // unary drops the negation itself
	}
	f.replace("condition negated", cond, "!("+f.text(cond)+")")
}

// leaves tells a block that ends by going elsewhere.
func leaves(body *ast.BlockStmt) bool {
	if len(body.List) == 0 {
		return false
	}
	switch body.List[len(body.List)-1].(type) {
	case *ast.ReturnStmt, *ast.BranchStmt:
		return true
	}
	return false
}

// binary changes an operator or drops an operand.
func (f *finder) binary(n *ast.BinaryExpr) {
	switch n.Op {
	case token.LAND, token.LOR:
		f.replace("operand dropped", n, f.text(n.X))
		f.replace("operand dropped", n, f.text(n.Y))
		f.exchangeField(n.X)
		f.exchangeField(n.Y)
	case token.ADD, token.SUB:
		if !textual(n.X) && !textual(n.Y) {
			f.operator("sum exchanged", n, map[token.Token]string{token.ADD: "-", token.SUB: "+"}[n.Op])
		}
	case token.MUL:
		f.skipUnits(n)
	}
	if after, ok := boundary[n.Op]; ok {
		f.operator("boundary moved", n, after)
	}
	if after, ok := turned[n.Op]; ok {
		f.operator("comparison turned", n, after)
		f.exchangeField(n.X)
		f.exchangeField(n.Y)
	}
}

var boundary = map[token.Token]string{token.LSS: "<=", token.LEQ: "<", token.GTR: ">=",
	token.GEQ: ">"}

var turned = map[token.Token]string{token.LSS: ">", token.LEQ: ">=", token.GTR: "<",
	token.GEQ: "<=", token.EQL: "!=", token.NEQ: "=="}

func textual(e ast.Expr) bool {
	lit, ok := e.(*ast.BasicLit)
	return ok && lit.Kind == token.STRING
}

// operator puts another operator between the operands.
func (f *finder) operator(name string, n *ast.BinaryExpr, after string) {
	start, end := f.offset(n.OpPos), f.offset(n.OpPos)+len(n.Op.String())
	f.replace(name, n, f.source[f.offset(n.Pos()):start]+after+f.source[end:f.offset(n.End())])
}

// exchangeField asks another field of the same struct and type, as in a pair of flags.
func (f *finder) exchangeField(e ast.Expr) {
	if not, ok := e.(*ast.UnaryExpr); ok && not.Op == token.NOT {
		e = not.X
	}
	field, ok := e.(*ast.SelectorExpr)
	if !ok {
		return
	}
	if other, ok := f.like[field.Sel.Name]; ok {
		f.replace("field exchanged", field, f.text(field.X)+"."+other)
	}
}

// likeFields maps a field to the next one of its struct that has the same type. A name
// that several structs have is left out: without types nobody knows which is meant.
func likeFields(
	files map[string]*ast.File, set *token.FileSet, sources map[string]string,
) map[string]string {
	like, structs := map[string]string{}, map[string]int{}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f := &finder{set: set, source: sources[name]}
		ast.Inspect(files[name], func(n ast.Node) bool {
			if s, ok := n.(*ast.StructType); ok {
				f.pairFields(s, like, structs)
			}
			return true
		})
	}
	maps.DeleteFunc(like, func(name, _ string) bool { return structs[name] > 1 })
	return like
}

func (f *finder) pairFields(s *ast.StructType, like map[string]string, structs map[string]int) {
	byType := map[string][]string{}
	for _, field := range s.Fields.List {
		for _, name := range field.Names {
			structs[name.Name]++
			of := f.text(field.Type)
			byType[of] = append(byType[of], name.Name)
		}
	}
	for _, names := range byType {
		for i, name := range names {
			if len(names) > 1 {
				like[name] = names[(i+1)%len(names)]
			}
		}
	}
}
