package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// Each snippet breaks one rule of the house; without the checker's eye for it
// the row fails.
var badSnippets = []struct {
	name, text string
	want       string // the one finding
}{
	{"bench/evidence/a.go",
		"package evidence\n\nimport \"os\"\n\nfunc f() any { f, _ := os.Open(\"a\"); return f }\n",
		"bench/evidence/a.go:5: os.Open: use config.OpenFile or ReadFile"},
	{"bench/config/read.go",
		"package config\n\nimport \"os\"\n\nfunc f() any { f, _ := os.Open(\"a\"); return f }\n", ""},
	{"bench/plant/a.go", "package plant\n\nimport _ \"haltmark/bench/clock\"\n",
		"bench/plant/a.go:3: layer 1 of bench/plant may not import bench/clock"},
	{"bench/plant/a.go", "package plant\n\nimport _ \"haltmark/emulators/modbus\"\n",
		"bench/plant/a.go:3: layer 1 of bench/plant may not import emulators/modbus"},
	{"emulators/registers/a.go", "package registers\n\nimport _ \"haltmark/emulators/modbus\"\n", ""},
	{"bench/link/a.go", "package link\n\nimport _ \"haltmark/bench/clock\"\n", ""},
	{"bench/clock/a.go", "package clock\n\nimport _ \"haltmark/bench/link\"\n",
		"bench/clock/a.go:3: layer 3 of bench/clock may not import bench/link"},
	{"bench/standin/a.go", "package standin\n\nimport _ \"haltmark/bench/plant\"\n",
		"bench/standin/a.go:3: bench/standin may not import bench/plant"},
	{"bench/standin/a.go", "package standin\n\nimport _ \"haltmark/emulators/drive\"\n",
		"bench/standin/a.go:3: bench/standin may not import emulators/drive"},
	{"bench/standin/a.go", "package standin\n\nimport _ \"haltmark/emulators/registers\"\n", ""},
	{"bench/scenario/a.go", "package scenario\n\nimport _ \"haltmark/bench/config\"\n", ""},
	{"bench/scenario/a.go", "package scenario\n\nimport _ \"haltmark/bench/evidence\"\n",
		"bench/scenario/a.go:3: layer 5 of bench/scenario may not import bench/evidence"},
	{"bench/scenario/a.go", "package scenario\n\nimport _ \"haltmark/bench/unheard\"\n",
		"bench/scenario/a.go:3: layer 5 of bench/scenario may not import bench/unheard"},
	{"emulators/unheard/a.go", "package unheard\n\nimport _ \"haltmark/emulators/drive\"\n",
		"emulators/unheard/a.go:3: layer 2 of emulators/unheard may not import emulators/drive"},
	{"emulators/unheard/a.go", "package unheard\n\nimport _ \"haltmark/emulators/modbus\"\n", ""},
	{"bench/unheard/a.go", "package unheard\n",
		"bench/unheard/a.go:1: package bench/unheard stands in no layer"},
	{"fixtures/a.go", "package fixtures\n\nimport _ \"haltmark/bench/quantity\"\n",
		"fixtures/a.go:3: fixtures may not import bench/quantity"},
	{"bench/station/a.go",
		"package station\n\nimport \"time\"\n\nfunc f() any { return time.Now() }\n",
		"bench/station/a.go:5: time.Now outside clock and link"},
	{"bench/station/a_test.go",
		"package station\n\nimport t \"time\"\n\nfunc f() { t.Sleep(1) }\n",
		"bench/station/a_test.go:5: t.Sleep outside clock and link"},
	{"bench/link/a_test.go", "package link\n\nimport \"time\"\n\nfunc f() { time.Sleep(1) }\n",
		"bench/link/a_test.go:5: time.Sleep outside clock and link"},
	{"bench/clock/a.go", "package clock\n\nimport \"time\"\n\nfunc f() { time.Sleep(1) }\n", ""},
	{"bench/station/a.go",
		"package station\n\nimport \"time\"\n\nfunc f() any { return time.NewTicker(1) }\n",
		"bench/station/a.go:5: time.NewTicker outside clock and link"},
	{"bench/station/a.go", "package station\n\nimport \"context\"\n\nvar _ = context.WithTimeout\n",
		"bench/station/a.go:5: context.WithTimeout outside clock and link"},
	{"cmd/haltmark/calendar.go",
		"package main\n\nimport \"time\"\n\nfunc f() any { return time.Now() }\n", ""},
	{"cmd/haltmark/gate.go",
		"package main\n\nimport \"time\"\n\nfunc f() any { return time.Now() }\n",
		"cmd/haltmark/gate.go:5: time.Now outside clock and link"},
	{"bench/plant/a_test.go", "package plant\n\nimport _ \"math/rand/v2\"\n",
		"bench/plant/a_test.go:3: imports math/rand/v2: only bench/seed makes random generators"},
	{"bench/seed/a.go", "package seed\n\nimport _ \"math/rand/v2\"\n", ""},
	{"bench/station/a.go", "package station\n\nimport _ \"go.yaml.in/yaml/v3\"\n",
		"bench/station/a.go:3: imports go.yaml.in/yaml/v3: only bench/config knows YAML"},
	{"emulators/drive/a.go", "package drive\n\nimport _ \"net\"\n",
		"emulators/drive/a.go:3: imports net below layer 3"},
	{"bench/plant/a.go", "package plant\n\nfunc init() {}\n", "bench/plant/a.go:3: declares init()"},
	{"bench/plant/a.go", "package plant\n\nvar count int\n",
		"bench/plant/a.go:3: package variable count may hold state"},
	{"bench/plant/a.go", "package plant\n\nvar cache = make(map[int]int)\n",
		"bench/plant/a.go:3: package variable cache may hold state"},
	{"bench/plant/a.go", "package plant\n\nvar one = &struct{}{}\n",
		"bench/plant/a.go:3: package variable one may hold state"},
	{"bench/plant/a.go", "package plant\n\nvar table = []int{1}\n", ""},
	{"bench/plant/a.go", "package plant\n\nvar table = []int{1}\n\nfunc f() { table[0] = 2 }\n",
		"bench/plant/a.go:5: writes to package variable table"},
	{"bench/plant/a.go", "package plant\n\nvar n = 1\n\nfunc f() { n++ }\n",
		"bench/plant/a.go:5: writes to package variable n"},
	{"bench/plant/a.go", "package plant\n\nvar m = map[int]int{}\n\nfunc f() { delete(m, 1) }\n",
		"bench/plant/a.go:5: writes to package variable m"},
	{"bench/plant/a.go", "package plant\n\n" + strings.Repeat("// x\n", 399),
		"bench/plant/a.go:1: 401 lines in the file, 400 allowed"},
	{"bench/plant/a.go", "package plant\n\nfunc f() {\n" + strings.Repeat("\tf()\n", 59) + "}\n",
		"bench/plant/a.go:3: function f has 61 lines, 60 allowed"},
	{"bench/plant/a.go", "package plant\n\n// " + strings.Repeat("x", 98) + "\n",
		"bench/plant/a.go:3: 101 columns in the line, 100 allowed"},
	{"bench/plant/a.go", "package plant\n\nfunc f(a, b, c int, d, e, g int) {}\n",
		"bench/plant/a.go:3: 6 parameters, 5 allowed"},
	{"bench/plant/a.go",
		"package plant\n\ntype i interface {\n\ta()\n\tb()\n\tc()\n\td()\n\te()\n\tf()\n}\n",
		"bench/plant/a.go:3: 6 methods in an interface, 5 allowed"},
	{"bench/plant/a.go", "package plant\n\nconst \u03b1 = 1\n",
		"bench/plant/a.go:3: identifier \"\u03b1\" is not ASCII"},
	{"bench/plant/a.go", "package plant\nconst  a = 1\n",
		"bench/plant/a.go:1: not in the form of gofmt"},
}

func TestHouse_BadSnippets(t *testing.T) {
	for i, row := range badSnippets {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			s, err := parse(row.name, []byte(row.text))
			if err != nil {
				t.Fatal(err)
			}
			doc, err := parse(s.dir()+"/doc.go",
				[]byte("// Package "+s.file.Name.Name+" is a snippet.\npackage "+s.file.Name.Name+"\n"))
			if err != nil {
				t.Fatal(err)
			}
			got := findings([]source{doc, s})
			got = slices.DeleteFunc(got, func(f string) bool { return strings.HasPrefix(f, doc.name) })
			if strings.Join(got, "\n") != row.want {
				t.Errorf("found %q; want %q", got, row.want)
			}
		})
	}
}

func TestHouse_PackageOwesItsComment(t *testing.T) {
	for text, want := range map[string]string{
		"package plant\n":                           "bench/plant: no doc.go with a package comment",
		"// About plants.\npackage plant\n":         "bench/plant: no doc.go with a package comment",
		"// Package plant is one.\npackage plant\n": "",
	} {
		s, err := parse("bench/plant/doc.go", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(packages([]source{s}), "\n"); got != want {
			t.Errorf("%q: found %q; want %q", text, got, want)
		}
	}
	s, err := parse("bench/util/doc.go", []byte("// Package util is one.\npackage util\n"))
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Join(packages([]source{s}), "\n")
	if got != "bench/util: a drawer's name, not a room's" {
		t.Errorf("a drawer: found %q", got)
	}
}
