package config

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const badFiles = "../../testdata/config"

// load reads a bad file by what its name begins with.
func load(name string) error {
	path := filepath.Join(badFiles, name)
	kind, _, _ := strings.Cut(name, "_")
	switch {
	case strings.HasSuffix(name, "_sheet.bad.yaml"):
		return CheckSheet(path)
	case kind == "sheet":
		return CheckSheet(path)
	case kind == "map":
		_, err := LoadMap(path)
		return err
	case kind == "controller":
		_, err := LoadController(path)
		return err
	case kind == "requirement":
		set, err := LoadRequirements(path)
		if err != nil {
			return err
		}
		demo, err := LoadStation("demo")
		if err != nil {
			return err
		}
		return set.Against(demo)
	}
	_, err := LoadStation(path)
	return err
}

func TestPrint(t *testing.T) {
	entries, _ := os.ReadDir(badFiles)
	for _, e := range entries {
		err := load(e.Name())
		var p Problems
		t.Logf("%s %v\n%v", e.Name(), errors.As(err, &p), err)
	}
	_ = slices.Sort[[]string]
}
