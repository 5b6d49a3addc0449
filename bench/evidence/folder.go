package evidence

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"haltmark/bench/config"
	"haltmark/bench/record"
)

// The files of a run folder.
const (
	manifestFile = "manifest.json"
	hostFile     = "host.json"
	summaryFile  = "summary.json"
	caseFile     = "case.json"
	junitFile    = "junit.xml"
	cucumberFile = "cucumber.json"
	reportFile   = "report.html"
	latestName   = "latest"
	scenariosDir = "scenarios"
)

// folderTime is the form of the time of day in a folder's name; it sorts.
const folderTime = "20060102T150405Z"

// ErrNotRun is the error of Open for a folder that holds no run.
var ErrNotRun = errors.New("evidence: not a run folder")

// Folder is a run folder. Different cases may be written from different
// goroutines.
type Folder struct {
	dir      string
	manifest Manifest
	planned  map[int]Planned // by number
	identity string          // of the manifest
}

// Create makes the folder of a run that started at host.Started below root, with
// its manifest, and points root's latest to it.
func Create(root string, m Manifest, host Host) (*Folder, error) {
	if err := os.MkdirAll(root, 0o755); err != nil {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	name := host.Started.UTC().Format(folderTime) + "-" + slug(m.Command)
	dir, err := unused(filepath.Join(root, name))
	if err != nil {
		return nil, err
	}
	text, err := encode(encodeManifest(m))
	if err != nil {
		return nil, fmt.Errorf("evidence: %s: %w", manifestFile, err)
	}
	f := &Folder{dir: dir, manifest: m, planned: m.byNumber()}
	if f.identity, err = identityOf(text); err != nil {
		return nil, fmt.Errorf("evidence: %s: %w", manifestFile, err)
	}
	if err := replace(filepath.Join(dir, manifestFile), text); err != nil {
		return nil, err
	}
	if err := f.write(hostFile, encodeHost(host)); err != nil {
		return nil, err
	}
	return f, pointTo(root, filepath.Base(dir))
}

// unused makes the folder, with a number behind its name when that is taken.
func unused(dir string) (string, error) {
	const attempts = 1000
	name := dir
	for n := 2; n < attempts; n++ {
		err := os.Mkdir(name, 0o755)
		if err == nil {
			return name, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", fmt.Errorf("evidence: %w", err)
		}
		name = fmt.Sprintf("%s-%d", dir, n)
	}
	return "", fmt.Errorf("evidence: no free name beside %s", dir)
}

// pointTo makes latest a link to the folder or, where links cannot be made, a
// text file with its name. Another's latest that is a folder is left alone.
func pointTo(root, name string) error {
	latest := filepath.Join(root, latestName)
	info, err := os.Lstat(latest)
	if err == nil && info.IsDir() {
		return nil
	}
	part := latest + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("evidence: %w", err)
	}
	if os.Symlink(name, part) != nil {
		return replace(latest, []byte(name+"\n"))
	}
	if err := os.Rename(part, latest); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}

// Open opens the folder of a run that ended or was killed. A text file that
// names a folder beside it, as latest may be, is followed.
func Open(dir string) (*Folder, error) {
	if name, err := config.ReadFile(dir, 256); err == nil {
		dir = filepath.Join(filepath.Dir(dir), filepath.Base(strings.TrimSpace(string(name))))
	}
	name := filepath.Join(dir, manifestFile)
	text, err := config.ReadFile(name, config.JSONLimit)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		return nil, fmt.Errorf("%w: %s has no %s", ErrNotRun, dir, manifestFile)
	} else if err != nil {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	f := &Folder{dir: dir}
	var form manifestJSON
	if err = config.DecodeJSON(text, &form); err == nil {
		f.manifest, err = form.manifest()
	}
	if err == nil {
		f.planned, err = f.manifest.byNumber(), f.manifest.check()
	}
	if err == nil {
		f.identity, err = identityOf(text)
	}
	if err != nil {
		return nil, fmt.Errorf("evidence: %s: %w", name, err)
	}
	return f, nil
}

// Path is where the folder is.
func (f *Folder) Path() string { return f.dir }

// Report is where the report of a finished run is.
func (f *Folder) Report() string { return filepath.Join(f.dir, reportFile) }

// Manifest is the manifest that the folder was made with.
func (f *Folder) Manifest() Manifest { return f.manifest }

// Cases reads every case that ended, in order of its number. A case that is not one
// of this run, as its manifest tells, is an error.
func (f *Folder) Cases() ([]Case, error) {
	entries, err := os.ReadDir(filepath.Join(f.dir, scenariosDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	own := map[string]bool{}
	for _, p := range f.manifest.Own() {
		own[filepath.Base(f.CaseDir(p.Number, p.Name))] = true
	}
	var all []Case
	for _, entry := range entries {
		name := filepath.Join(f.dir, scenariosDir, entry.Name(), caseFile)
		if !own[entry.Name()] {
			return nil, fmt.Errorf("evidence: %s: is not of this run: %s plans no such scenario",
				filepath.Dir(name), manifestFile)
		}
		var form caseJSON
		err := config.ReadJSON(name, config.JSONLimit, &form)
		if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
			continue // it did not end
		}
		var c Case
		if err == nil {
			c, err = form.toCase()
		}
		if err != nil {
			return nil, fmt.Errorf("evidence: %s: %w", name, err)
		}
		if err := f.ours(filepath.Dir(name), &form, &c); err != nil {
			return nil, err
		}
		if err := c.check(); err != nil {
			return nil, fmt.Errorf("evidence: %s: %w", name, err)
		}
		if err := f.strays(&c); err != nil {
			return nil, err
		}
		all = append(all, c)
	}
	slices.SortStableFunc(all, func(a, b Case) int { return a.Number - b.Number })
	return all, nil
}

// Finish writes the files about the whole run, and the seal over all. It may be called
// again, with the same run judged anew. A run that lacks a planned scenario stays
// incomplete.
func (f *Folder) Finish(r *Run, host Host) error {
	if err := f.unseal(); err != nil {
		return err
	}
	host.Complete = r.complete()
	summary := summaryOf(r)
	if err := f.write(summaryFile, summary); err != nil {
		return err
	}
	for _, part := range []struct {
		name  string
		write func(*bytes.Buffer) error
	}{
		{junitFile, func(b *bytes.Buffer) error { return WriteJUnit(b, r) }},
		{cucumberFile, func(b *bytes.Buffer) error { return WriteCucumber(b, r) }},
		{reportFile, func(b *bytes.Buffer) error { return WriteReport(b, r, f.WorstRecord) }},
	} {
		var b bytes.Buffer
		if err := part.write(&b); err != nil {
			return fmt.Errorf("evidence: %s: %w", part.name, err)
		}
		if err := replace(filepath.Join(f.dir, part.name), b.Bytes()); err != nil {
			return err
		}
	}
	if err := f.write(hostFile, encodeHost(host)); err != nil {
		return err
	}
	return f.seal()
}

// WorstRecord reads the record of a case's worst phase; nil when none was kept.
func (f *Folder) WorstRecord(c *Case) (*record.Record, error) {
	if c.Worst < 0 || c.Worst >= len(c.Phases) || !c.Phases[c.Worst].Kept {
		return nil, nil
	}
	return f.Record(c, c.Worst)
}

// Record reads the kept record of a case's phase, by its index. A record that is not
// the one of case.json is an error.
func (f *Folder) Record(c *Case, phase int) (*record.Record, error) {
	dir := f.PhaseDir(c.Number, c.Name, c.Phases[phase].Number)
	rec, err := ReadRecord(dir)
	if err != nil {
		return nil, err
	}
	if sum := rec.Hash(); hex.EncodeToString(sum[:]) != c.Phases[phase].Hash {
		return nil, fmt.Errorf("evidence: %s: its record is not the one of %s", dir, caseFile)
	}
	return rec, nil
}

func (f *Folder) write(name string, form any) error {
	return writeJSON(filepath.Join(f.dir, name), form)
}

// writeJSON writes a form, indented, with a newline at the end.
func writeJSON(name string, form any) error {
	text, err := encode(form)
	if err != nil {
		return fmt.Errorf("evidence: %s: %w", filepath.Base(name), err)
	}
	return replace(name, text)
}

func encode(form any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(form)
	return b.Bytes(), err
}

// replace writes a file that is either as before or whole.
func replace(name string, text []byte) error {
	part := name + ".part"
	if err := os.WriteFile(part, text, 0o644); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	if err := os.Rename(part, name); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}

// slug makes a text fit for a folder's name: letters and digits, and single
// hyphens for what is between them.
func slug(text string) string {
	const longest = 60
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= longest {
			break
		}
	}
	return strings.Trim(b.String(), "-")
}
