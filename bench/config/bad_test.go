package config

import (
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const badFiles = "../../testdata/config"

// load reads a bad file as what its name begins with: a station unless it says
// otherwise.
func load(name string) error {
	path := filepath.Join(badFiles, name)
	kind, _, _ := strings.Cut(name, "_")
	var err error
	switch kind {
	case "sheet":
		return CheckSheet(path)
	case "map":
		_, err = LoadMap(path)
	case "controller":
		_, err = LoadController(path)
	case "requirement":
		return loadRequirements(path)
	default:
		_, err = LoadStation(path)
	}
	return err
}

func loadRequirements(path string) error {
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

// parts are files that are good by themselves and that a bad one names.
var parts = []string{"rule10_watchdog_sheet.bad.yaml", "map_quantity_none.bad.yaml"}

// Each bad file breaks one rule or one form, and says so in exactly these lines,
// after the path of the folder. The figures in the messages of the rules were
// worked by hand from STATIONS.md's table for the demo station's azimuth.
func TestBadFiles_ExactMessages(t *testing.T) {
	entries, err := os.ReadDir(badFiles)
	if err != nil {
		t.Fatal(err)
	}
	tried, owed := 0, maps.Clone(badMessages)
	maps.Copy(owed, badFeatureMessages)
	for _, entry := range entries {
		name := entry.Name()
		if name == parts[0] || name == parts[1] {
			continue
		}
		want, ok := owed[name]
		if !ok {
			t.Errorf("%s has no expected message", name)
			continue
		}
		tried++
		t.Run(name, func(t *testing.T) {
			err := load(name)
			var problems Problems
			if !errors.As(err, &problems) {
				t.Fatalf("accepted, or refused as no problem of the file: %v", err)
			}
			got := strings.ReplaceAll(problems.Error(), badFiles+"/", "")
			if got != strings.Join(want, "\n") {
				t.Errorf("says\n%s\nwant\n%s", got, strings.Join(want, "\n"))
			}
		})
	}
	if tried != len(owed) {
		t.Errorf("%d of %d bad files are there", tried, len(owed))
	}
}

// What keeps two of the bad files from being good is only what names them.
func TestBadFiles_PartsAreGood(t *testing.T) {
	if err := CheckSheet(filepath.Join(badFiles, parts[0])); err != nil {
		t.Error(err)
	}
	if _, err := LoadMap(filepath.Join(badFiles, parts[1])); err != nil {
		t.Error(err)
	}
}
