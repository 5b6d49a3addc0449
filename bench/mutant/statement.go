package mutant

import (
	"go/ast"
	"go/token"
	"strings"
)

const dropped = "statement dropped"

// assignment loses what is assigned, which is still computed: a latch that is not set, a
// timer that is not begun.
func (f *finder) assignment(n *ast.AssignStmt) {
	if after, ok := map[token.Token]string{token.ADD_ASSIGN: "-=", token.SUB_ASSIGN: "+="}[n.Tok]; ok {
		f.replace("sum exchanged", n,
			f.text(n.Lhs[0])+" "+after+" "+f.source[f.offset(n.Rhs[0].Pos()):f.offset(n.End())])
	}
	if n.Tok == token.DEFINE || f.skip[n] {
		return
	}
	after := strings.Repeat(", _", len(n.Lhs))[2:] + " = " +
		f.source[f.offset(n.Rhs[0].Pos()):f.offset(n.End())]
	if len(n.Rhs) == 1 && isName(n.Rhs[0], "nil") {
		after = ""
	}
	f.replace(dropped, n, after)
}

func (f *finder) count(n *ast.IncDecStmt) {
	if !f.skip[n] {
		f.replace(dropped, n, "")
	}
}

// action drops a call that is made for its effect.
func (f *finder) action(n *ast.ExprStmt) { f.replace(dropped, n, "") }

// result turns the sign of a computed result.
func (f *finder) result(n *ast.ReturnStmt) {
	if len(n.Results) != 1 {
		return
	}
	switch e := n.Results[0].(type) {
	case *ast.BinaryExpr:
		switch e.Op {
		case token.ADD, token.SUB, token.MUL, token.QUO:
			f.replace("sign exchanged", e, "-("+f.text(e)+")")
		}
	case *ast.CallExpr:
		if name := f.text(e.Fun); name == "float64" || strings.HasPrefix(name, "math.") {
			f.replace("sign exchanged", e, "-("+f.text(e)+")")
		}
	}
}

// cases drops each case of a switch, and each value of a case that has several. A
// condition stays in the text, so that what it uses is used.
func (f *finder) cases(body *ast.BlockStmt, conditions bool) {
	for _, s := range body.List {
		clause := s.(*ast.CaseClause)
		if conditions && clause.List != nil {
			from, to := clause.List[0].Pos(), clause.List[len(clause.List)-1].End()
			parts := make([]string, len(clause.List))
			for i, e := range clause.List {
				parts[i] = "(" + f.text(e) + ")"
				f.negate(e)
				f.exchangeField(e)
			}
			f.edit("case dropped", from, to, "false && ("+strings.Join(parts, " || ")+")")
			continue
		}
		f.edit("case dropped", clause.Pos(), clause.End(), "")
		for i, e := range clause.List {
			f.caseValue(clause, i, e)
		}
	}
}

func (f *finder) caseValue(clause *ast.CaseClause, i int, e ast.Expr) {
	from, to := e.Pos(), e.End()
	switch {
	case len(clause.List) == 1:
		return
	case i == 0:
		to = clause.List[1].Pos()
	default:
		from = clause.List[i-1].End()
	}
	m := f.edit("case dropped", from, to, "")
	m.Before, m.Line = narrow(f.text(e)), f.set.Position(e.Pos()).Line
}

const (
	late  = "loop begins late"
	early = "loop ends early"
)

// loop leaves out the first or the last turn of a counting loop.
func (f *finder) loop(n *ast.ForStmt) {
	f.skip[n.Post] = true
	if begin, ok := n.Init.(*ast.AssignStmt); ok && len(begin.Rhs) == 1 {
		if lit, ok := begin.Rhs[0].(*ast.BasicLit); ok && lit.Value == "0" {
			f.skip[lit] = true
			f.replace(late, begin, f.text(begin.Lhs[0])+" "+begin.Tok.String()+" 1")
		}
	}
	if cond, ok := n.Cond.(*ast.BinaryExpr); ok && (cond.Op == token.LSS || cond.Op == token.LEQ) {
		f.replace(early, cond, f.text(cond)+"-1")
	}
}

// over does the same to a range. Without types a range over a number and one over a list
// look alike; the one that is wrong does not compile.
func (f *finder) over(n *ast.RangeStmt) {
	x := f.text(n.X)
	lit, number := n.X.(*ast.BasicLit)
	if number {
		f.skip[lit] = true
	}
	if n.Value == nil {
		f.replace(early, n.X, "("+x+") - 1")
	}
	if !number {
		f.replace(early, n.X, "("+x+")[:max(0, len("+x+")-1)]")
	}
	key, ok := n.Key.(*ast.Ident)
	switch {
	case ok && key.Name != "_":
		m := f.edit(late, n.Body.Lbrace, n.Body.Lbrace+1, "{ if "+key.Name+" == 0 { continue }; ")
		m.Before, m.Line = "range "+narrow(x), f.set.Position(n.Pos()).Line
	case n.Value != nil:
		f.replace(late, n.X, "("+x+")[min(1, len("+x+")):]")
	}
}
