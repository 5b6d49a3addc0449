package config

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
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

// File is one file that a load read, for the manifest of a run.
type File struct {
	Name   string // as messages name it
	SHA256 string
}

// file is what is being read.
type file struct {
	name string // for messages
	dir  string // where its references are looked for first; "" when embedded
	text []byte
}

func (f *file) summary() File {
	sum := sha256.Sum256(f.text)
	return File{f.name, hex.EncodeToString(sum[:])}
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

// openReference finds a file that another one names: beside it, then embedded.
func openReference(kind, name string, from *file) (*file, error) {
	if filepath.IsAbs(name) {
		return openPath(name)
	}
	if from.dir != "" {
		beside := filepath.Join(from.dir, filepath.FromSlash(name))
		if path.Ext(name) == "" {
			beside += extension
		}
		f, err := openPath(beside)
		if !errors.Is(err, fs.ErrNotExist) {
			return f, err
		}
	}
	return openEmbedded(kind, strings.TrimSuffix(name, extension))
}

func openPath(name string) (*file, error) {
	shown := filepath.ToSlash(name)
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, Problems{{shown, 0, "cannot be read; " + reason(err) +
			"; name a file that is there, or an embedded one without separator and extension"},
		}.because(err)
	}
	return &file{name: shown, dir: filepath.Dir(name), text: text}, nil
}

func openEmbedded(kind, name string) (*file, error) {
	at := path.Join(kind, name+extension)
	text, err := fixtures.Files.ReadFile(at)
	if err != nil {
		return nil, Problems{{name, 0, "no such embedded file among " + kind +
			"; use one of " + strings.Join(Embedded(kind), ", ") + " or a file's path"},
		}.because(fs.ErrNotExist)
	}
	return &file{name: "fixtures/" + at, text: text}, nil
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

// reason is the cause of a failed read, without the path that is named already.
func reason(err error) string {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err.Error()
	}
	return err.Error()
}
