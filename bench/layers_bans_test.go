package bench

import (
	"go/ast"
	"go/token"
	"slices"
	"strings"
)

// bannedImport is an import that only some packages may use.
type bannedImport struct {
	path    string
	why     string
	allowed []string // packages
}

var bannedImports = []bannedImport{
	{"math/rand", "only bench/seed makes random generators", []string{"bench/seed"}},
	{"math/rand/v2", "only bench/seed makes random generators", []string{"bench/seed"}},
	{"crypto/rand", "only bench/seed makes random generators", []string{"bench/seed"}},
	{"go.yaml.in/yaml/v3", "only bench/config knows YAML", []string{"bench/config"}},
	{"gopkg.in/yaml.v3", "only bench/config knows YAML", nil},
}

// lowBans are kept out of layers 0 to 2, which know neither socket nor file.
var lowBans = []string{"net", "os", "io/ioutil", "os/exec", "syscall", "golang.org/x/sys/unix"}

// timeCalls read a clock or make a timer.
var timeCalls = map[string][]string{
	"time": {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "NewTimer", "NewTicker",
		"Tick"},
	"context": {"WithTimeout", "WithDeadline", "WithTimeoutCause", "WithDeadlineCause"},
}

// timeOwners are the packages that may use them.
var timeOwners = []string{"bench/clock", "bench/link"}

// fileReads open what a user names, which may be a pipe, a device or longer than memory.
var fileReads = []string{"Open", "OpenFile", "OpenRoot", "ReadFile", "DirFS"}

// fileReaders may do so: the one that looks first, and the one that reads this program.
var fileReaders = []string{"bench/config/read.go", "cmd/haltmark/build.go"}

// timeOfDay is the one file elsewhere that may read the time of day, for
// host.json, the name of the run folder and the date of waivers.
const timeOfDay = "cmd/haltmark/calendar.go"

// bans checks one file for what only some packages may do.
func bans(s source) []string {
	var found []string
	imports := s.imports()
	for _, ban := range bannedImports {
		if pos, ok := imports[ban.path]; ok && !slices.Contains(ban.allowed, s.dir()) {
			found = append(found, s.at(pos, "imports %s: %s", ban.path, ban.why))
		}
	}
	if layer, _ := layerOf(s.dir()); layer <= layerOfDevices && !s.test() {
		for _, low := range lowBans {
			if pos, ok := imports[low]; ok {
				found = append(found, s.at(pos, "imports %s below layer 3", low))
			}
		}
	}
	found = append(found, clockReads(s)...)
	found = append(found, opens(s)...)
	for _, decl := range s.file.Decls {
		if f, ok := decl.(*ast.FuncDecl); ok && f.Recv == nil && f.Name.Name == "init" {
			found = append(found, s.at(f.Pos(), "declares init()"))
		}
	}
	if !s.test() {
		found = append(found, state(s)...)
	}
	return found
}

// clockReads finds calls and mentions of what reads a clock. In tests only
// sleeping and timers are left to find where the package owns time.
func clockReads(s source) []string {
	if slices.Contains(timeOwners, s.dir()) && !s.test() || s.name == timeOfDay {
		return nil
	}
	var found []string
	for _, m := range s.mentions(timeCalls) {
		if slices.Contains(timeOwners, s.dir()) && m.Sel.Name != "Sleep" {
			continue // the tests of the clocks may look at one
		}
		found = append(found,
			s.at(m.Pos(), "%s.%s outside clock and link", m.X.(*ast.Ident).Name, m.Sel.Name))
	}
	return found
}

// opens finds files that are read past config.OpenFile.
func opens(s source) []string {
	if s.test() || slices.Contains(fileReaders, s.name) {
		return nil
	}
	var found []string
	for _, m := range s.mentions(map[string][]string{"os": fileReads}) {
		found = append(found,
			s.at(m.Pos(), "%s.%s: use config.OpenFile or ReadFile", m.X.(*ast.Ident).Name, m.Sel.Name))
	}
	return found
}

// mentions finds what a file uses of some packages.
func (s source) mentions(of map[string][]string) []*ast.SelectorExpr {
	names := map[string]string{} // local name to package
	for _, spec := range s.file.Imports {
		name := strings.Trim(spec.Path.Value, `"`)
		local := name
		if spec.Name != nil {
			local = spec.Name.Name
		}
		names[local] = name
	}
	var found []*ast.SelectorExpr
	ast.Inspect(s.file, func(n ast.Node) bool {
		selector, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		x, ok := selector.X.(*ast.Ident)
		if ok && slices.Contains(of[names[x.Name]], selector.Sel.Name) {
			found = append(found, selector)
		}
		return true
	})
	return found
}

// fixedCalls make values that may stand at package level: each is a constant
// in all but name.
var fixedCalls = []string{"errors.New", "fmt.Errorf", "regexp.MustCompile"}

// madeOnce names variables made by a call and never changed, as "file: name".
// The list may only shrink.
var madeOnce = []string{"bench/scenario/phrases.go: table"}

// state finds package variables that could hold state: those without a value
// (unless embedded), made by a call, pointers, and those written to later.
func state(s source) []string {
	var found []string
	for _, decl := range s.file.Decls {
		group, ok := decl.(*ast.GenDecl)
		if !ok || group.Tok != token.VAR {
			continue
		}
		for _, spec := range group.Specs {
			value := spec.(*ast.ValueSpec)
			once := slices.Contains(madeOnce, s.name+": "+value.Names[0].Name)
			if !once && !embedded(group, value) && !fixed(value) {
				found = append(found, s.at(value.Pos(), "package variable %s may hold state",
					value.Names[0].Name))
			}
		}
	}
	return found
}

func embedded(group *ast.GenDecl, spec *ast.ValueSpec) bool {
	for _, comments := range []*ast.CommentGroup{group.Doc, spec.Doc} {
		if comments == nil {
			continue
		}
		for _, comment := range comments.List {
			if strings.HasPrefix(comment.Text, "//go:embed ") {
				return true
			}
		}
	}
	return false
}

// fixed reports whether every value of a declaration is a literal or a fixed call.
func fixed(spec *ast.ValueSpec) bool {
	if len(spec.Names) == 1 && spec.Names[0].Name == "_" {
		return true
	}
	if len(spec.Values) == 0 {
		return false
	}
	for _, value := range spec.Values {
		switch v := value.(type) {
		case *ast.CompositeLit, *ast.BasicLit, *ast.FuncLit:
		case *ast.CallExpr:
			if name, ok := called(v); !ok || !slices.Contains(fixedCalls, name) {
				return false
			}
		default:
			return false
		}
	}
	return true
}

func called(call *ast.CallExpr) (string, bool) {
	selector, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return "", false
	}
	x, ok := selector.X.(*ast.Ident)
	if !ok {
		return "", false
	}
	return x.Name + "." + selector.Sel.Name, true
}

// written finds writes to the package variables of a package, by name: an
// assignment, an increment, a deletion or an address taken. A local of the same
// name would be found too; package variables deserve names of their own.
func written(files []source) []string {
	names := map[string]bool{}
	for _, s := range files {
		for _, decl := range s.file.Decls {
			group, ok := decl.(*ast.GenDecl)
			if !ok || group.Tok != token.VAR {
				continue
			}
			for _, spec := range group.Specs {
				for _, name := range spec.(*ast.ValueSpec).Names {
					names[name.Name] = name.Name != "_"
				}
			}
		}
	}
	var found []string
	for _, s := range files {
		ast.Inspect(s.file, func(n ast.Node) bool {
			for _, target := range targets(n) {
				if name := root(target); names[name] {
					found = append(found, s.at(n.Pos(), "writes to package variable %s", name))
				}
			}
			return true
		})
	}
	return found
}

// targets are the expressions that a node writes to or lets others write to.
func targets(n ast.Node) []ast.Expr {
	switch n := n.(type) {
	case *ast.AssignStmt:
		if n.Tok != token.DEFINE {
			return n.Lhs
		}
	case *ast.IncDecStmt:
		return []ast.Expr{n.X}
	case *ast.UnaryExpr:
		if n.Op == token.AND {
			return []ast.Expr{n.X}
		}
	case *ast.CallExpr:
		if f, ok := n.Fun.(*ast.Ident); ok && slices.Contains([]string{"delete", "clear"}, f.Name) {
			return n.Args[:1]
		}
	}
	return nil
}

// root is the name at the bottom of x, x[i], x.f and *x.
func root(e ast.Expr) string {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x.Name
		case *ast.IndexExpr:
			e = x.X
		case *ast.SelectorExpr:
			e = x.X
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return ""
		}
	}
}
