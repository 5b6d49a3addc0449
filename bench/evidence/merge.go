package evidence

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"haltmark/bench/config"
)

// fixturesDir holds the copies of what went into a run.
const fixturesDir = "fixtures"

// SameRun reports whether two folders are of one run, or of slices of one.
func (f *Folder) SameRun(other *Folder) bool { return f.identity == other.identity }

// TakeFixtures copies what went into a run from another folder of it.
func (f *Folder) TakeFixtures(from *Folder) error {
	return copyTree(filepath.Join(from.dir, fixturesDir), filepath.Join(f.dir, fixturesDir))
}

// TakeCase copies a case with its records from another folder of the same run.
func (f *Folder) TakeCase(from *Folder, c *Case) error {
	return copyTree(from.CaseDir(c.Number, c.Name), f.CaseDir(c.Number, c.Name))
}

// ErrNotRegular is what is neither a folder nor a regular file, where a run leaves
// nothing else.
var ErrNotRegular = errors.New("evidence: neither a folder nor a regular file")

// copyTree copies a folder of folders and regular files; anything else is an error.
func copyTree(from, to string) error {
	return filepath.WalkDir(from, func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return fmt.Errorf("evidence: %w", err)
		}
		within, err := filepath.Rel(from, name)
		if err != nil {
			return fmt.Errorf("evidence: %w", err)
		}
		target := filepath.Join(to, within)
		switch {
		case entry.IsDir():
			err = os.MkdirAll(target, 0o755)
		case !entry.Type().IsRegular():
			return fmt.Errorf("%w: %s", ErrNotRegular, name)
		default:
			err = copyFile(name, target)
		}
		if err != nil {
			return fmt.Errorf("evidence: %w", err)
		}
		return nil
	})
}

// copyFile copies a file piece by piece, since a record may be long.
func copyFile(from, to string) error {
	in, err := config.OpenFile(from, tableLimit)
	if err != nil {
		return err
	}
	out, err := os.Create(to)
	if err != nil {
		return errors.Join(err, in.Close())
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close(), in.Close())
}
