package campaign

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/controller"
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
	stationCopies     = "fixtures/station"
	requirementCopies = "fixtures/requirements"
	waiverCopies      = "fixtures/waivers.yaml"
)

// CopyFiles copies the station's files, requirements and waivers into a run folder, as
// they were read, so that the folder alone is enough to judge it again. The station's
// files stand where its references find them.
func (a *Assembly) CopyFiles(dir string) error {
	for _, f := range a.Station.Files() {
		to := filepath.Join(dir, stationCopies, filepath.FromSlash(f.Place))
		if err := copyFile(f, to); err != nil {
			return err
		}
	}
	for i, f := range a.Requirements.Files {
		name := fmt.Sprintf("%02d-%s", i+1, f.Place)
		if err := copyFile(f, filepath.Join(dir, requirementCopies, name)); err != nil {
			return err
		}
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

// loadCopies loads what CopyFiles left, and holds it against the hashes that the
// manifest took down.
func loadCopies(dir string, hashes map[string]bool) (*config.Station, *config.Requirements, error) {
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
	for _, f := range append(st.Files(), set.Files...) {
		if !hashes[f.SHA256] {
			return nil, nil, BadInput{f.Name + ": is not the file that the run used"}
		}
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
