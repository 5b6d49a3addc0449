package campaign

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/verdict"
)

// StandIn reports whether the controller is the embedded stand-in.
func (a *Assembly) StandIn() bool { return a.Controller.Launch == controller.LaunchStandin }

// Files lists every file that went into the campaign: station with what it names,
// controller, requirements, features.
func (a *Assembly) Files() []config.File {
	all := a.Station.Files()
	all = append(all, a.Controller.File)
	all = append(all, a.Requirements.Files...)
	all = append(all, a.Features...)
	if a.WaiverFile.Name != "" {
		all = append(all, a.WaiverFile)
	}
	return all
}

// The folders of copied files within a run folder.
const (
	copies            = "fixtures"
	stationCopies     = "fixtures/station"
	requirementCopies = "fixtures/requirements"
	featureCopies     = "fixtures/features"
	controllerCopy    = "fixtures/controller.yaml"
	waiverCopies      = "fixtures/waivers.yaml"
)

// CopyFiles copies all that went into a campaign into its run folder, as it was read, so that
// the folder alone is enough to judge it again. The station's files stand where its references
// find them.
func (a *Assembly) CopyFiles(dir string) error {
	for _, f := range a.Station.Files() {
		to := filepath.Join(dir, stationCopies, filepath.FromSlash(f.Place))
		if err := copyFile(f, to); err != nil {
			return err
		}
	}
	for folder, files := range map[string][]config.File{
		requirementCopies: a.Requirements.Files, featureCopies: a.Features,
	} {
		for i, f := range files {
			name := fmt.Sprintf("%02d-%s", i+1, filepath.Base(filepath.FromSlash(cmp.Or(f.Place, f.Name))))
			if err := copyFile(f, filepath.Join(dir, folder, name)); err != nil {
				return err
			}
		}
	}
	if err := copyFile(a.Controller.File, filepath.Join(dir, controllerCopy)); err != nil {
		return err
	}
	if a.WaiverFile.Name != "" {
		return copyFile(a.WaiverFile, filepath.Join(dir, waiverCopies))
	}
	return nil
}

// waiverCopy loads the waivers that CopyFiles left; none when there were none.
func waiverCopy(dir string) ([]verdict.Waiver, error) {
	all, _, err := config.LoadWaivers(filepath.Join(dir, waiverCopies))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return all, err
}

func copyFile(f config.File, to string) error {
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, []byte(f.Text), 0o644)
}

// checkCopies holds what lies among the copied files against what the manifest took down:
// every file of it is there, and no other.
func checkCopies(dir string, fixtures []evidence.Fixture) error {
	missing := map[string]string{}
	for _, f := range fixtures {
		missing[f.SHA256] = f.Name
	}
	listed := maps.Clone(missing)
	var bad BadInput
	err := filepath.WalkDir(filepath.Join(dir, copies),
		func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			text, err := config.ReadFile(name, config.JSONLimit)
			if err != nil {
				return err
			}
			sum := config.FileOf(name, text).SHA256
			if delete(missing, sum); listed[sum] == "" {
				bad = append(bad, name+": is not a file that the run used")
			}
			return nil
		})
	if err != nil {
		return BadInput{err.Error()}
	}
	for _, name := range slices.Sorted(maps.Values(missing)) {
		bad = append(bad, fmt.Sprintf("%s: its copy of %s is missing, or another than the run used",
			filepath.Join(dir, copies), name))
	}
	if bad != nil {
		return bad
	}
	return nil
}

// featuresIn parses the copied features, by the paths that the manifest has for them.
func featuresIn(
	dir string, fixtures []evidence.Fixture, tables []scenario.Table,
) ([]scenario.Example, error) {
	names, err := filesIn(filepath.Join(dir, featureCopies))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var all []scenario.Example
	for _, name := range names {
		text, err := config.ReadFile(name, config.FeatureLimit)
		if err != nil {
			return nil, err
		}
		sum := config.FileOf(name, text).SHA256
		for _, f := range fixtures {
			if f.SHA256 != sum {
				continue
			}
			examples, errs := scenario.Parse(f.Name, text, tables...)
			if errs != nil {
				return nil, errors.Join(errs...)
			}
			all = append(all, examples...)
		}
	}
	return all, nil
}

// loadCopies loads the station and the requirements that CopyFiles left.
func loadCopies(dir string) (*config.Station, *config.Requirements, error) {
	name, err := stationCopy(dir)
	if err != nil {
		return nil, nil, err
	}
	st, err := config.LoadStation(name)
	if err != nil {
		return nil, nil, BadInput(strings.Split(err.Error(), "\n"))
	}
	names, err := filesIn(filepath.Join(dir, requirementCopies))
	if err != nil || len(names) == 0 {
		return nil, nil, BadInput{dir + ": holds no requirements; it is no whole run"}
	}
	set, err := config.LoadRequirements(names...)
	if err != nil {
		return nil, nil, BadInput(strings.Split(err.Error(), "\n"))
	}
	return st, set, nil
}

// stationCopy finds the copied station file: the one copied first, which the
// manifest names first.
func stationCopy(dir string) (string, error) {
	names, err := filesIn(filepath.Join(dir, stationCopies))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	for _, name := range names {
		if kind, err := config.KindOf(name); err == nil && kind == config.KindStation {
			return name, nil
		}
	}
	return "", BadInput{dir + ": holds no station; it is no whole run"}
}

// filesIn lists the files in a folder, in order of their names.
func filesIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	var names []string
	for _, entry := range entries {
		if !entry.IsDir() {
			names = append(names, filepath.Join(dir, entry.Name()))
		}
	}
	return names, err
}
