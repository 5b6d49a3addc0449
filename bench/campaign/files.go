package campaign

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/verdict"
	"haltmark/fixtures"
)

// StandIn tells whether the controller is the embedded stand-in.
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

const embeddedFixtures = "fixtures/"

// The folders of copied files within a run folder.
const (
	stationCopies     = "fixtures/station"
	requirementCopies = "fixtures/requirements"
	waiverCopies      = "fixtures/waivers.yaml"
)

// CopyFiles copies the station's files, requirements and waivers into a run folder, so
// that the folder alone is enough to judge it again. The station's files stay
// beside each other, since that is where its references are looked for.
func (a *Assembly) CopyFiles(dir string) error {
	files := a.Station.Files()
	root := filepath.Dir(filepath.FromSlash(files[0].Name))
	for _, f := range files {
		name := path.Base(f.Name)
		if !strings.HasPrefix(f.Name, embeddedFixtures) {
			within, err := filepath.Rel(root, filepath.FromSlash(f.Name))
			if err == nil && filepath.IsLocal(within) {
				name = filepath.ToSlash(within)
			}
		}
		if err := copyFile(f, filepath.Join(dir, stationCopies, filepath.FromSlash(name))); err != nil {
			return err
		}
	}
	for i, f := range a.Requirements.Files {
		name := fmt.Sprintf("%02d-%s", i+1, path.Base(f.Name))
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
	text, err := fixtures.Files.ReadFile(strings.TrimPrefix(f.Name, embeddedFixtures))
	if err != nil || !strings.HasPrefix(f.Name, embeddedFixtures) {
		if text, err = os.ReadFile(filepath.FromSlash(f.Name)); err != nil {
			return err
		}
	}
	sum := sha256.Sum256(text)
	if hex.EncodeToString(sum[:]) != f.SHA256 {
		return fmt.Errorf("%s has changed since it was loaded", f.Name)
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, text, 0o644)
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
	names, err := filepath.Glob(filepath.Join(dir, requirementCopies, "*.yaml"))
	if err != nil || len(names) == 0 {
		return nil, nil, BadInput{dir + ": holds no requirements; it is no whole run"}
	}
	slices.Sort(names)
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
	names, err := filepath.Glob(filepath.Join(dir, stationCopies, "*"))
	if err != nil {
		return "", err
	}
	for _, name := range names {
		if kind, err := config.KindOf(name); err == nil && kind == config.KindStation {
			return name, nil
		}
	}
	return "", BadInput{dir + ": holds no station; it is no whole run"}
}
