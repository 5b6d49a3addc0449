package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/mutant"
)

// subject is a part of the bench that is changed, and what is to notice it.
type subject struct {
	dir   string
	tests []suite
	gate  bool
}

// suite is a package's tests, or those that a pattern names.
type suite struct{ dir, run string }

// The judge's own suite, what judges a folder again, and the seeded defects.
var subjects = map[string]subject{
	"standin":   {"bench/standin", []suite{{dir: "bench/standin"}}, true},
	"drive":     {"emulators/drive", []suite{{dir: "emulators/drive"}}, true},
	"interlock": {"emulators/interlock", []suite{{dir: "emulators/interlock"}}, true},
	"station":   {"bench/station", []suite{{dir: "bench/station"}}, true},
	"verdict": {"bench/verdict", []suite{{dir: "bench/verdict"},
		{"bench/campaign", "Again|Told|Dropped|Total"},
		{"bench/campaign", "^Test(Defects|Obstinate|Healthy)_"}}, false},
}

func subjectNames() string { return strings.Join(slices.Sorted(maps.Keys(subjects)), ",") }

// inTree tells why mutants cannot be built here.
func inTree() error {
	if _, err := exec.LookPath("go"); err != nil {
		return fmt.Errorf("mutants are built from the sources, and there is no go: %w", err)
	}
	text, err := config.ReadFile("go.mod", config.FixtureLimit)
	if err != nil || !strings.HasPrefix(string(text), "module haltmark\n") {
		return errors.New("mutants are built from the sources; run it in the folder of the " +
			"project's go.mod")
	}
	return nil
}

// readMutants lists the mutants of a package's folder. What is a defect on purpose is not
// changed.
func readMutants(dir string) ([]mutant.Mutant, error) {
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, err
	}
	sources := map[string]string{}
	for _, name := range names {
		base := filepath.Base(name)
		if strings.HasSuffix(base, "_test.go") || strings.HasPrefix(base, "defect") {
			continue
		}
		text, err := config.ReadFile(name, config.FixtureLimit)
		if err != nil {
			return nil, err
		}
		sources[filepath.ToSlash(name)] = string(text)
	}
	return mutant.List(dir, sources)
}

// treeKey is a hash of what decides a result: sources, features, fixtures and settings.
func treeKey(settings ...string) (string, error) {
	h := sha256.New()
	_, _ = fmt.Fprintf(h, "%q\n", settings) // a hash takes everything
	err := filepath.WalkDir(".", func(name string, entry fs.DirEntry, err error) error {
		name = filepath.ToSlash(name)
		switch {
		case err != nil:
			return err
		case entry.IsDir() && name != "." && (strings.HasPrefix(entry.Name(), ".") || name == "runs"):
			return filepath.SkipDir
		case entry.IsDir() || !decides(name):
			return nil
		}
		f, err := config.OpenFile(name, config.JSONLimit)
		if err != nil {
			return err
		}
		_, _ = fmt.Fprintf(h, "%q\n", name)
		_, err = io.Copy(h, f)
		return errors.Join(err, f.Close())
	})
	return hex.EncodeToString(h.Sum(nil)), err
}

func decides(name string) bool {
	kinds := []string{".go", ".feature", ".mod", ".sum"}
	return slices.Contains(kinds, path.Ext(name)) || strings.HasPrefix(name, "fixtures/")
}

// writeOverlay puts a mutated file and the overlay that names it into a folder.
func writeOverlay(dir string, m *mutant.Mutant) (string, error) {
	changed := filepath.Join(dir, path.Base(m.File))
	if err := os.WriteFile(changed, []byte(m.Source()), 0o644); err != nil {
		return "", err
	}
	overlay := filepath.Join(dir, "overlay.json")
	text := fmt.Sprintf(`{"Replace": {%q: %q}}`, m.File, changed)
	return overlay, os.WriteFile(overlay, []byte(text), 0o644)
}
