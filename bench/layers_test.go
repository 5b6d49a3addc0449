package bench

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "haltmark/"

// layers is the table of the house: a package imports lower layers only. Below emulators
// what is no codec is a device.
var layers = map[string]int{
	"bench": 0, "bench/channel": 0, "bench/nearest": 0, "bench/quantity": 0, "bench/seed": 0,
	"features": 0, "fixtures": 0,
	"bench/plant": 1, "bench/sky": 1, "bench/beam": 1, "bench/mutant": 1,
	"emulators/modbus": 1, "emulators/scpi": 1, "emulators/nmea": 1, "emulators/snmp": 1,
	"emulators/ntp": 1, "emulators/syslog": 1, "emulators/cia402": 1, "emulators/registers": 1,
	"bench/record": 2, "bench/verdict": 2,
	"bench/clock": 3, "bench/link": 3,
	"bench/station": 4, "bench/fault": 4, "bench/standin": 4, "bench/controller": 4,
	"bench/config": 5, "bench/scenario": 5, "bench/evidence": 5, "bench/live": 5,
	"bench/campaign": 6,
	"cmd/haltmark":   7,
}

// sameLayer lists the imports allowed within a layer.
var sameLayer = map[string]string{
	"emulators/registers": "emulators/modbus",
	"bench/link":          "bench/clock",
	"bench/station":       "bench/fault",
	"bench/controller":    "bench/standin",
	"bench/scenario":      "bench/config",
	"bench/evidence":      "bench/config",
}

// narrow lists packages that may import less than their layer would allow. The
// stand-in knows the station by wire alone.
var narrow = map[string][]string{
	"bench/standin": {"bench/quantity", "bench/seed", "emulators/modbus", "emulators/scpi",
		"emulators/nmea", "emulators/snmp", "emulators/ntp", "emulators/syslog",
		"emulators/cia402", "emulators/registers", "bench/sky", "bench/clock", "bench/link"},
	"features": {},
	"fixtures": {},
}

// source is one parsed file; name is its path from the module's root.
type source struct {
	name string
	text []byte
	file *ast.File
	set  *token.FileSet
}

func (s source) dir() string  { return path.Dir(s.name) }
func (s source) test() bool   { return strings.HasSuffix(s.name, "_test.go") }
func (s source) outer() bool  { return strings.HasSuffix(s.file.Name.Name, "_test") }
func (s source) base() string { return path.Base(s.name) }

// at words a finding with file and line.
func (s source) at(pos token.Pos, format string, args ...any) string {
	return fmt.Sprintf("%s:%d: %s", s.name, s.set.Position(pos).Line, fmt.Sprintf(format, args...))
}

// imports lists the import paths of the file.
func (s source) imports() map[string]token.Pos {
	found := map[string]token.Pos{}
	for _, spec := range s.file.Imports {
		if name, err := strconv.Unquote(spec.Path.Value); err == nil {
			found[name] = spec.Pos()
		}
	}
	return found
}

func parse(name string, text []byte) (source, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, text, parser.ParseComments)
	return source{name: name, text: text, file: file, set: set}, err
}

// tree parses every Go file of the module.
func tree(t *testing.T) []source {
	t.Helper()
	root := ".."
	var found []source
	err := filepath.WalkDir(root, func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		short := filepath.ToSlash(strings.TrimPrefix(name, root+string(filepath.Separator)))
		if entry.IsDir() && name != root && skipped(short) {
			return filepath.SkipDir
		}
		if entry.IsDir() || path.Ext(short) != ".go" {
			return nil
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		s, err := parse(short, text)
		found = append(found, s)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func skipped(dir string) bool {
	return strings.HasPrefix(path.Base(dir), ".") || path.Base(dir) == "testdata" || dir == "runs"
}

// findings are all that the house has against a set of files, sorted.
func findings(files []source) []string {
	var found []string
	for _, s := range files {
		found = append(found, layering(s)...)
		found = append(found, bans(s)...)
		found = append(found, house(s)...)
	}
	found = append(found, packages(files)...)
	slices.Sort(found)
	return found
}

// layering checks the imports of one file against the table. A test that
// stands outside its package may look up as well as down.
func layering(s source) []string {
	if s.outer() {
		return nil
	}
	own, known := layerOf(s.dir())
	if !known {
		return []string{s.at(s.file.Package, "package %s stands in no layer", s.dir())}
	}
	var found []string
	for name, pos := range s.imports() {
		target, inside := strings.CutPrefix(name, module)
		allowed, limited := narrow[s.dir()]
		layer, known := layerOf(target)
		switch {
		case !inside:
		case limited && !slices.Contains(allowed, target) && !s.test():
			found = append(found, s.at(pos, "%s may not import %s", s.dir(), target))
		case known && layer < own, sameLayer[s.dir()] == target:
		default:
			found = append(found, s.at(pos, "layer %d of %s may not import %s", own, s.dir(), target))
		}
	}
	return found
}

const layerOfDevices = 2

func layerOf(dir string) (layer int, known bool) {
	if layer, known = layers[dir]; !known && strings.HasPrefix(dir, "emulators/") {
		return layerOfDevices, true
	}
	return layer, known
}

func TestHouse(t *testing.T) {
	files := tree(t)
	if len(files) < 20 {
		t.Fatalf("only %d files found; the walk starts at the wrong place", len(files))
	}
	for _, finding := range findings(files) {
		t.Error(finding)
	}
	for _, stale := range staleExemptions(files) {
		t.Error(stale)
	}
}
