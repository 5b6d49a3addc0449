package evidence

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/record"
)

// What a run that is killed has written so far can be opened and judged.
func TestFolder_KilledRun(t *testing.T) {
	r, _ := sampleRun()
	root := t.TempDir()
	f, err := Create(root, r.Manifest, Host{Started: time.Date(2026, 3, 1, 9, 5, 7, 0, time.UTC)})
	check(t, err)
	if want := filepath.Join(root, "20260301T090507Z-gate"); f.Path() != want {
		t.Errorf("folder %s, want %s", f.Path(), want)
	}
	check(t, f.FinishCase(&r.Cases[3]))
	check(t, f.FinishCase(&r.Cases[1]))
	phase, err := f.StartPhase(1, r.Cases[0].Name, 1)
	check(t, err)
	recorder := record.NewRecorder([]record.Channel{{Name: "azimuth.position"}}, phase)
	recorder.Sample(0, []float64{1}, nil, nil)
	recorder.Mark(5, record.Cause, "emergency_stop", "", "") // sends on what there is

	again, err := Open(filepath.Join(root, latestName)) // without Close, Keep or Finish
	check(t, err)
	same(t, r.Manifest, again.Manifest())
	cases, err := again.Cases()
	check(t, err)
	if len(cases) != 2 || cases[0].Number != 2 || cases[1].Number != 4 {
		t.Errorf("cases %v, want those that ended, in order of number", cases)
	}
	rec, err := ReadRecord(again.PhaseDir(1, r.Cases[0].Name, 1))
	check(t, err)
	if len(rec.At) != 1 || len(rec.Marks) != 1 {
		t.Errorf("record %+v, want its row and its mark", rec)
	}
	host, err := os.ReadFile(filepath.Join(f.Path(), hostFile))
	check(t, err)
	if !bytes.Contains(host, []byte(`"complete": false`)) {
		t.Errorf("host.json says that the run is complete:\n%s", host)
	}
	check(t, phase.Drop())
	if _, err := os.Stat(f.PhaseDir(1, r.Cases[0].Name, 1)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("dropped phase: %v, want it gone", err)
	}
}

func TestFolder_NamesAndLatest(t *testing.T) {
	root := t.TempDir()
	host := Host{Started: time.Date(2026, 3, 1, 9, 5, 7, 0, time.UTC)}
	m := sampleManifest()
	m.Command = "run"
	var paths []string
	for range 3 {
		f, err := Create(root, m, host)
		check(t, err)
		paths = append(paths, filepath.Base(f.Path()))
	}
	same(t, []string{"20260301T090507Z-run", "20260301T090507Z-run-2", "20260301T090507Z-run-3"},
		paths)
	latest := filepath.Join(root, latestName)
	f, err := Open(latest)
	check(t, err)
	if real, _ := filepath.EvalSymlinks(f.Path()); filepath.Base(real) != paths[2] {
		t.Errorf("latest is %s, want %s", real, paths[2])
	}
	check(t, os.Remove(latest))
	check(t, os.WriteFile(latest, []byte(paths[1]+"\n"), 0o644)) // where links cannot be made
	f, err = Open(latest)
	check(t, err)
	if filepath.Base(f.Path()) != paths[1] {
		t.Errorf("latest is %s, want %s", f.Path(), paths[1])
	}
	if _, err := Open(t.TempDir()); !errors.Is(err, ErrNotRun) {
		t.Errorf("a folder without a run: %v, want ErrNotRun", err)
	}
}

func TestFolder_CasesRoundTrip(t *testing.T) {
	f, r := stored(t)
	cases, err := f.Cases()
	check(t, err)
	same(t, r.Cases, cases)
	if !math.IsInf(cases[0].Phases[1].Figures[1].Value, 1) {
		t.Error("an infinite figure is lost")
	}
	rec, err := f.WorstRecord(&cases[0])
	check(t, err)
	if rec == nil || len(rec.Marks) != 4 {
		t.Error("the worst phase's record is lost")
	}
}

// Host, time of day, wall time and the way the command was typed change nothing
// but host.json and manifest.json, and their lines of the seal.
func TestFolder_SameBytes(t *testing.T) {
	trees := [2]map[string]string{}
	for i, host := range [2]Host{
		{Name: "alpha", GOARCH: "amd64", Jobs: 1, Started: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)},
		{Name: "omega", GOARCH: "arm64", Jobs: 2, Started: time.Date(2031, 7, 9, 1, 2, 3, 4, time.UTC)},
	} {
		r, rec := sampleRun()
		r.Manifest.CommandLine = append(r.Manifest.CommandLine, "--jobs", host.Name)
		f, err := Create(t.TempDir(), r.Manifest, host)
		check(t, err)
		order := []int{0, 1, 2, 3}
		if i == 1 {
			order = []int{3, 1, 0, 2}
		}
		for _, k := range order {
			if k == 0 {
				phase, err := f.StartPhase(1, r.Cases[0].Name, 2)
				check(t, err)
				check(t, phase.Keep(rec))
			}
			check(t, f.FinishCase(&r.Cases[k]))
		}
		host.Wall = time.Duration(i+1) * time.Second
		check(t, f.Finish(r, host))
		trees[i] = tree(t, f.Path())
	}
	if len(trees[0]) < 11 {
		t.Fatalf("only %d files", len(trees[0]))
	}
	for _, name := range []string{hostFile, manifestFile} {
		if trees[0][name] == trees[1][name] {
			t.Errorf("%s is the same; the test shows nothing", name)
		}
		for _, files := range trees {
			delete(files, name)
			before, after, _ := strings.Cut(files[sealFile], "  "+name+"\n")
			files[sealFile] = before[:strings.LastIndexByte(before, '\n')+1] + after
		}
	}
	same(t, trees[0], trees[1])
	for name, text := range trees[0] {
		if strings.Contains(text, "alpha") || strings.Contains(text, "amd64") {
			t.Errorf("%s names the host", name)
		}
	}
}

// tree is every file below a folder.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	check(t, filepath.WalkDir(dir, func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		text, err := os.ReadFile(name)
		short, _ := filepath.Rel(dir, name)
		files[filepath.ToSlash(short)] = string(text)
		return err
	}))
	return files
}

func FuzzCase(f *testing.F) {
	r, _ := sampleRun()
	text, err := encode(encodeCase(&r.Cases[0]))
	check(f, err)
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		var form caseJSON
		if json.Unmarshal(text, &form) != nil {
			return
		}
		c, err := form.toCase()
		if err != nil {
			return
		}
		if _, err := encode(encodeCase(&c)); err != nil {
			t.Error(err)
		}
	})
}

// A manifest that is accepted can be written again.
func FuzzManifest(f *testing.F) {
	text, err := encode(encodeManifest(sampleManifest()))
	check(f, err)
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		var form manifestJSON
		if config.DecodeJSON(text, &form) != nil {
			return
		}
		m, err := form.manifest()
		if err != nil || m.check() != nil {
			return
		}
		if _, err := encode(encodeManifest(m)); err != nil {
			t.Error(err)
		}
		if _, err := identityOf(text); err != nil {
			t.Error(err)
		}
	})
}

func TestSlug(t *testing.T) {
	for text, want := range map[string]string{
		"Azimuth's final limit (upper)": "azimuth-s-final-limit-upper",
		"../../etc":                     "etc",
		"":                              "",
		"é--ü":                          "",
	} {
		if got := slug(text); got != want {
			t.Errorf("slug(%q) = %q, want %q", text, got, want)
		}
	}
	if long := slug(strings.Repeat("ab ", 99)); len(long) > 60 {
		t.Errorf("%d letters", len(long))
	}
}
