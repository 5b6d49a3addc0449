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

// part is a file that is good by itself and that a bad one names.
const part = "rule10_watchdog_sheet.bad.yaml"

// Each bad file breaks one rule or one form, and says so in exactly these lines,
// after the path of the folder. The figures in the messages of the rules were
// worked by hand from STATIONS.md's table for the demo station's azimuth.
func TestBadFiles_ExactMessages(t *testing.T) {
	entries, err := os.ReadDir(badFiles)
	if err != nil {
		t.Fatal(err)
	}
	tried, owed, figures := 0, maps.Clone(badMessages), badFigures()
	maps.Copy(owed, badFeatureMessages)
	for _, entry := range entries {
		name := entry.Name()
		_, figure := figures[name]
		if name == part || figure || strings.HasPrefix(name, "contradict_") {
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

// What keeps this bad file from being good is only what names it.
func TestBadFiles_PartIsGood(t *testing.T) {
	if err := CheckSheet(filepath.Join(badFiles, part)); err != nil {
		t.Error(err)
	}
}
