package evidence

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

const goldenDir = "../../testdata/golden"

// golden compares a text with testdata/golden/<test>/<name>.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join(goldenDir, t.Name(), name)
	if *update {
		check(t, os.MkdirAll(filepath.Dir(path), 0o755))
		check(t, os.WriteFile(path, got, 0o644))
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; write it with -update and look at it", err)
	}
	same(t, string(want), string(got))
}

// The golden files are what a person approved by looking at them.
func TestFinish_Golden(t *testing.T) {
	f, _ := stored(t)
	for _, name := range []string{manifestFile, summaryFile, junitFile, cucumberFile, reportFile} {
		text, err := os.ReadFile(filepath.Join(f.Path(), name))
		check(t, err)
		golden(t, name, text)
	}
}
