package config

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"path"
	"path/filepath"
	"strings"

	"haltmark/fixtures"
)

// The kinds of files, which are the folders of the embedded ones.
const (
	kindStation     = "stations"
	kindSheet       = "drives"
	kindMap         = "maps"
	kindController  = "controllers"
	kindRequirement = "requirements"
)

// File is one file that a load read, for the manifest and the folder of a run.
type File struct {
	Name   string // as messages name it
	SHA256 string
	Text   string // what was read
	Place  string // where the file that names it finds it: a local path with slashes
}

// FileOf is a file that was read from a place of its own.
func FileOf(name string, text []byte) File {
	sum := sha256.Sum256(text)
	return File{name, hex.EncodeToString(sum[:]), string(text), path.Base(name)}
}

// file is what is being read.
type file struct {
	name  string // for messages
	dir   string // where its references are looked for first; "" when embedded
	place string // as in File
	text  []byte
}

func (f *file) summary() File {
	sum := FileOf(f.name, f.text)
	sum.Place = f.place
	return sum
}

const extension = ".yaml"

// isPath tells a file's name from an embedded one's.
func isPath(name string) bool {
	return strings.ContainsAny(name, `/\`) || path.Ext(name) != ""
}

// open finds a file of a kind by the name that a person gave.
func open(kind, name string) (*file, error) {
	if isPath(name) {
		return openPath(name)
	}
	return openEmbedded(kind, name)
}

// errOutside is why a reference is not followed: whoever is handed a station's folder
// is shown nothing beyond it. A link that leads out is refused by os.Root.
var errOutside = errors.New("it leads out of the folder of the file that names it")

// openReference finds a file that another one names: beside it or below, then embedded.
func openReference(kind, name string, from *file) (*file, error) {
	local := filepath.FromSlash(name)
	if !filepath.IsLocal(local) {
		return nil, errOutside
	}
	if from.dir == "" {
		return openEmbedded(kind, strings.TrimSuffix(name, extension))
	}
	if filepath.Ext(local) == "" {
		local += extension
	}
	text, err := readInside(from.dir, local, FixtureLimit)
	switch {
	case err == nil:
		beside := filepath.Join(from.dir, local)
		return &file{name: filepath.ToSlash(beside), dir: filepath.Dir(beside), text: text,
			place: filepath.ToSlash(filepath.Clean(local))}, nil
	case errors.Is(err, fs.ErrNotExist):
		return openEmbedded(kind, strings.TrimSuffix(name, extension))
	}
	return nil, err
}

func openPath(name string) (*file, error) {
	shown := filepath.ToSlash(name)
	text, err := ReadFile(name, FixtureLimit)
	if err != nil {
		return nil, Problems{{shown, 0, "cannot be read; " + Reason(err) +
			"; name a file that is there, or an embedded one without separator and extension"},
		}.because(err)
	}
	return &file{name: shown, dir: filepath.Dir(name), text: text, place: path.Base(shown)}, nil
}

func openEmbedded(kind, name string) (*file, error) {
	at := path.Join(kind, name+extension)
	text, err := fixtures.Files.ReadFile(at)
	if err != nil {
		return nil, Problems{{name, 0, "no such embedded file among " + kind +
			"; use one of " + strings.Join(Embedded(kind), ", ") + " or a file's path"},
		}.because(fs.ErrNotExist)
	}
	return &file{name: "fixtures/" + at, text: text, place: name + extension}, nil
}

// Embedded lists the names of the embedded files of a kind, such as "stations".
func Embedded(kind string) []string {
	entries, err := fixtures.Files.ReadDir(kind)
	if err != nil {
		return nil
	}
	var names []string
	for _, entry := range entries {
		names = append(names, strings.TrimSuffix(entry.Name(), extension))
	}
	return names
}

// because keeps the cause of problems, so that errors.Is finds it.
func (p Problems) because(err error) error { return missing{p, err} }

type missing struct {
	Problems
	cause error
}

func (m missing) Unwrap() []error { return []error{m.Problems, m.cause} }
