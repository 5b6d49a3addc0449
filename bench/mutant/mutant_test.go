package mutant

import (
	"fmt"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Each row is one body of a function and what every operator makes of it.
var rows = []struct {
	body string
	want []string
}{
	{"if a < b { c() }", []string{"condition negated: a < b -> !(a < b)",
		"comparison turned: a < b -> a > b", "boundary moved: a < b -> a <= b",
		"statement dropped: c() -> "}},
	{"if !ok { return }", []string{"condition negated: !ok -> ok",
		"guard dropped: !ok -> false && (!ok)"}},
	{"g(x && y)", []string{"statement dropped: g(x && y) -> ", "operand dropped: x && y -> x",
		"operand dropped: x && y -> y"}},
	{"v := a == b", []string{"comparison turned: a == b -> a != b"}},
	{"v := 4", []string{"constant halved: 4 -> (4 / 2)", "constant doubled: 4 -> (2 * 4)",
		"constant zeroed: 4 -> 0"}},
	{"v := 1", []string{"constant doubled: 1 -> (2 * 1)", "constant zeroed: 1 -> 0"}},
	{"v := 0", []string{"zero made one: 0 -> 1"}},
	{"v := time.Second", []string{"constant doubled: time.Second -> (2 * time.Second)",
		"constant zeroed: time.Second -> (0 * time.Second)",
		"constant halved: time.Second -> (time.Second / 2)"}},
	{"v := 8 * time.Second", []string{"constant halved: 8 -> (8 / 2)",
		"constant doubled: 8 -> (2 * 8)", "constant zeroed: 8 -> 0"}},
	{"v := a - b", []string{"sum exchanged: a - b -> a + b"}},
	{`v := "a" + b`, nil},
	{"a += b", []string{"statement dropped: a += b -> _ = b", "sum exchanged: a += b -> a -= b"}},
	{"a, b = f()", []string{"statement dropped: a, b = f() -> _, _ = f()"}},
	{"a = nil", []string{"statement dropped: a = nil -> "}},
	{"a++", []string{"statement dropped: a++ -> "}},
	{"return -a", []string{"sign exchanged: -a -> (a)"}},
	{"return a * b", []string{"sign exchanged: a * b -> -(a * b)"}},
	{"v := true", []string{"truth exchanged: true -> false"}},
	{"switch { case a: c() }", []string{"condition negated: a -> !(a)",
		"case dropped: a -> false && ((a))", "statement dropped: c() -> "}},
	{"switch a { case b, d: return }", []string{"case dropped: case b, d: return -> ",
		"case dropped: b -> ", "case dropped: d -> "}},
	{"for i := 0; i < n; i++ { }", []string{"loop begins late: i := 0 -> i := 1",
		"loop ends early: i < n -> i < n-1", "comparison turned: i < n -> i > n",
		"boundary moved: i < n -> i <= n"}},
	{"for i := range 2 { }", []string{"loop ends early: 2 -> (2) - 1",
		"loop begins late: range 2 -> { if i == 0 { continue };"}},
	{"for _, v := range all { }", []string{
		"loop ends early: all -> (all)[:max(0, len(all)-1)]",
		"loop begins late: all -> (all)[min(1, len(all)):]"}},
	{"v := a[0]", []string{"index exchanged: a[0] -> a[1]"}},
	{"v := a[i+1]", []string{"sum exchanged: i+1 -> i-1", "constant doubled: 1 -> (2 * 1)",
		"constant zeroed: 1 -> 0"}},
	{"v := []T{a, b}", []string{"element dropped: a -> ", "element dropped: b -> "}},
	{"v := T{X: a}", []string{"element dropped: X: a -> "}},
	{"v := T{a, b}", nil},
	{"v := math.Abs(a)", []string{"absolute value dropped: math.Abs(a) -> (a)"}},
	{"v := min(a, b)", []string{"minimum and maximum exchanged: min(a, b) -> max(a, b)"}},
	{"v := d.on && d.other", []string{"field exchanged: d.on -> d.off",
		"operand dropped: d.on && d.other -> d.on", "operand dropped: d.on && d.other -> d.other"}},
}

const head = "package p\n\ntype flags struct {\n\ton, off bool\n\trate float64\n}\n\n"

func TestList_EveryOperator(t *testing.T) {
	for _, row := range rows {
		all, err := List("p", map[string]string{"a.go": head + "func (d *D) f() {\n" + row.body +
			"\n}\n"})
		if err != nil {
			t.Fatalf("%s: %v", row.body, err)
		}
		var got []string
		for _, m := range all {
			got = append(got, fmt.Sprintf("%s: %s -> %s", m.Operator, m.Before, m.After))
			if m.Line != 9 || m.File != "a.go" || m.Function != "D.f" {
				t.Errorf("%s: at %s:%d in %s, want a.go:9 in D.f", row.body, m.File, m.Line, m.Function)
			}
		}
		slices.Sort(got)
		want := slices.Sorted(slices.Values(row.want))
		if g, w := strings.Join(got, "\n"), strings.Join(want, "\n"); g != w {
			t.Errorf("%s\n got %s\nwant %s", row.body, g, w)
		}
	}
}

func list(t *testing.T, text string) []Mutant {
	t.Helper()
	all, err := List("p", map[string]string{"a.go": text})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func ids(all []Mutant) string {
	var found []string
	for _, m := range all {
		found = append(found, m.ID)
	}
	return strings.Join(found, " ")
}

// An explanation is kept by id: lines that move and functions that are added change none.
func TestList_IDsOutliveOtherEdits(t *testing.T) {
	const f = "func f() bool { return a < b && c }\n"
	first := list(t, "package p\n\n"+f)
	later := list(t, "package p\n\n// More.\nfunc e(){ x = 3 }\n\n"+
		"func f() bool {\n\treturn a <\n\t\tb && c\n}\n")
	if len(first) != 4 || !strings.HasSuffix(ids(later), ids(first)) {
		t.Errorf("ids %q, later %q", ids(first), ids(later))
	}
	other := list(t, "package p\n\nfunc g() bool { return a < b && c }\n")
	if other[0].ID == first[0].ID {
		t.Error("the same id in another function")
	}
}

func TestList_EqualChangesAreTwoMutants(t *testing.T) {
	all := list(t, "package p\n\nfunc f() {\n\tg()\n\tg()\n}\n")
	if len(all) != 2 || all[0].ID == all[1].ID {
		t.Fatalf("%d mutants, ids %s", len(all), ids(all))
	}
	if before, after := all[1].Lines(); before != "\tg()" || after != "\t" {
		t.Errorf("its lines are %q and %q", before, after)
	}
	if want := "package p\n\nfunc f() {\n\tg()\n\t\n}\n"; all[1].Source() != want {
		t.Errorf("the second is %q, want %q", all[1].Source(), want)
	}
}

func TestList_AbsKeepsItsImport(t *testing.T) {
	all := list(t, "package p\n\nimport \"math\"\n\nfunc f() { x := math.Abs(a) }\n")
	want := "package p\n\nimport \"math\"\n\nfunc f() { x := (a) }\n\nvar _ = math.Abs\n"
	if len(all) != 1 || all[0].Source() != want {
		t.Errorf("%d mutants, %q", len(all), all[0].Source())
	}
}

func TestSample_BySeedAndID(t *testing.T) {
	var text strings.Builder
	text.WriteString("package p\n\nfunc f() {\n")
	for i := range 100 {
		fmt.Fprintf(&text, "\tg(a%d)\n", i)
	}
	all := list(t, text.String()+"}\n")
	one := Sample(all, 20, "1")
	if len(one) != 20 || ids(one) != ids(Sample(all, 20, "1")) {
		t.Errorf("%d taken, or others with the same seed", len(one))
	}
	if ids(one) == ids(Sample(all, 20, "2")) {
		t.Error("another seed takes the same")
	}
	if fewer := ids(Sample(all, 10, "1")); !strings.HasPrefix(ids(one), fewer) {
		t.Error("a smaller sample is not the beginning of a larger one")
	}
	if len(Sample(all, 0, "1")) != 100 || len(Sample(all, 200, "1")) != 100 {
		t.Error("not all of them where the sample is no smaller")
	}
}

// On the sources of the house every mutant parses, differs from its source, and no two
// share an id.
func TestList_OnTheHouse(t *testing.T) {
	for _, dir := range []string{"standin"} {
		names, _ := filepath.Glob(filepath.Join("..", dir, "*.go"))
		sources := map[string]string{}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasSuffix(name, "_test.go") {
				sources[filepath.Base(name)] = string(text)
			}
		}
		all, err := List(dir, sources)
		if err != nil || len(all) < 500 {
			t.Fatalf("%s: %d mutants, %v", dir, len(all), err)
		}
		seen := map[string]bool{}
		for _, m := range all {
			text := m.Source()
			if seen[m.ID] || text == sources[m.File] {
				t.Errorf("%s %s:%d: its id is another's, or it changes nothing", m.ID, m.File, m.Line)
			}
			seen[m.ID] = true
			if _, err := parser.ParseFile(token.NewFileSet(), m.File, text, 0); err != nil {
				t.Errorf("%s: %v", m.ID, err)
			}
		}
	}
}

func TestList_RefusesWhatIsNoGo(t *testing.T) {
	if _, err := List("p", map[string]string{"a.go": "package"}); err == nil {
		t.Error("no error")
	}
}
