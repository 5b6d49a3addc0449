package config

import (
	"errors"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// load reads a file as what the folder of the shipped one says.
func load(kind, name string) error {
	switch kind {
	case kindSheet:
		return CheckSheet(name)
	case kindMap:
		return errorOf(LoadMap(name))
	case kindController:
		return errorOf(LoadController(name))
	case kindRequirement, ".": // the cause table stands beside the folders
		return loadRequirements(name)
	case string(KindWaiver):
		_, _, err := LoadWaivers(name)
		return err
	}
	return errorOf(LoadStation(name))
}

func errorOf[T any](_ T, err error) error { return err }

func loadRequirements(name string) error {
	set, err := LoadRequirements(name)
	if err != nil {
		return err
	}
	demo, err := LoadStation("demo")
	if err != nil {
		return err
	}
	return set.Against(demo)
}

// patches reads all files of patches of testdata/config.
func patches(t *testing.T) map[string][]patch {
	t.Helper()
	names, err := filepath.Glob("../../testdata/config/*.patches.yaml")
	if err != nil || len(names) == 0 {
		t.Fatalf("%d files of patches, %v", len(names), err)
	}
	all := map[string][]patch{}
	for _, name := range names {
		f, err := readPatches(name)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		family, _, _ := strings.Cut(filepath.Base(name), ".")
		all[family] = f.Patches
	}
	return all
}

// try loads the bad file of a patch; the problems it returns are all that was reported.
func (p *patch) try(t *testing.T) (Problems, *edited) {
	t.Helper()
	e, err := p.apply()
	if err != nil {
		t.Fatalf("does not fit what ships: %v", err)
	}
	name, err := p.lay(e, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	err = load(path.Dir(p.Load), name)
	var problems Problems
	if !errors.As(err, &problems) {
		t.Fatalf("accepted, or refused as no problem of the file: %v", err)
	}
	return problems, e
}

// patched loads a station that ships with a good patch on it.
func patched(t *testing.T, p patch) (*Station, error) {
	t.Helper()
	e, err := p.apply()
	if err != nil {
		t.Fatal(err)
	}
	p.Load = p.On
	name, err := p.lay(e, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return LoadStation(name)
}

// Each bad file is refused in the line that is wrong, with its own words, and for
// nothing else; and each message of the package has one. The figures of the rules were
// worked by hand from the demo station's azimuth.
func TestBadFiles_AreRefusedInTheirLine(t *testing.T) {
	var said strings.Builder
	for family, all := range patches(t) {
		t.Run(family, func(t *testing.T) {
			seen := map[string]bool{}
			for _, p := range all {
				if seen[p.Name] {
					t.Errorf("%s stands twice", p.Name)
				}
				seen[p.Name] = true
				t.Run(p.Name, func(t *testing.T) { said.WriteString(p.check(t)) })
			}
		})
	}
	t.Run("every complaint", func(t *testing.T) { showEvery(t, said.String()) })
}

// check tries a patch, and returns what was said.
func (p *patch) check(t *testing.T) string {
	problems, e := p.try(t)
	text, left, said := e.text, slices.Clone(problems), ""
	if p.In != p.On {
		var err error
		if text, err = shipped(p.In); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range append([]complaint{p.complaint}, p.Also...) {
		if c.At == "" && c.Line == "" {
			c.At, c.Line = p.At, p.complaint.Line
		}
		line, err := e.place(c, text)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(left, func(one Problem) bool {
			return path.Base(one.File) == path.Base(p.In) && one.Line == line &&
				strings.Contains(one.Text, c.Says)
		})
		if i < 0 {
			t.Errorf("nothing says in line %d of %s\n%s", line, p.In, c.Says)
			continue
		}
		said += left[i].Text + "\n"
		left = slices.Delete(left, i, i+1)
	}
	if t.Failed() || len(left) > 0 {
		t.Errorf("says\n%v\nwhere nothing expected\n%v", problems, left)
	}
	return said
}

// A patch that no longer fits what ships is no bad file, and neither is one whose
// message has moved.
func TestPatch_FitsWhatShipsOrFails(t *testing.T) {
	const on = demoFile
	for want, p := range map[string]patch{
		"there is no azimuth.fullrate": {Set: map[string]string{"azimuth.fullrate": "1 deg/s"}},
		"is 2.4 deg/s already":         {Set: map[string]string{"azimuth.full_rate": "2.4 deg/s"}},
		"stands there 0 times":         {Replace: map[string]string{"no such text": "x"}},
		"stands there 2 times":         {Replace: map[string]string{"travel: [-96 deg": "x"}},
		"has no lines of its own":      {Remove: []string{"encoders.azimuth.bits"}},
		"edits nothing":                {},
	} {
		p.On = on
		if _, err := p.apply(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("says %v; want %s", err, want)
		}
	}
	p := patch{On: on, Set: map[string]string{"azimuth.gear": "7201"},
		Insert: map[string]string{"azimuth.gear": "pinion: 12\nteeth: 7"},
		Remove: []string{"stop"}, Append: "more: 1\n"}
	e, err := p.apply()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(e.text, "    gear: 7201 # motor turns per axis turn\n    pinion: 12\n"+
		"    teeth: 7\n    backlash:") || strings.Contains(e.text, "report: 1 s") ||
		!strings.HasSuffix(e.text, "\nmore: 1\n") {
		t.Error(e.text)
	}
	_, err = e.place(complaint{}, e.text)
	line, err2 := e.place(complaint{At: "azimuth.teeth"}, e.text)
	if err == nil || err2 != nil || !strings.Contains(strings.Split(e.text, "\n")[line-1], "teeth") {
		t.Errorf("%v; line %d, %v", err, line, err2)
	}
}
