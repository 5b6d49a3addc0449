package config

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// Bounds of what is read: far above anything that a person writes by hand.
const (
	FixtureLimit = 4 << 20  // bytes of a fixture or a device sheet
	FeatureLimit = 16 << 20 // bytes of a feature
	JSONLimit    = 64 << 20 // bytes of a file of a run's folder in JSON
)

// errNotRegular is why a folder, a pipe, a socket or a device is not read: it may
// never end.
var errNotRegular = errors.New("it is no regular file")

// ReadFile reads a regular file of at most limit bytes; every file that somebody names
// is read by it. Its error is an fs.PathError.
func ReadFile(name string, limit int64) ([]byte, error) {
	f, err := OpenFile(name, limit)
	if err != nil {
		return nil, err
	}
	return readAll(f, limit)
}

// OpenFile opens a regular file of at most limit bytes.
func OpenFile(name string, limit int64) (*os.File, error) {
	info, err := os.Stat(name) // first: opening a pipe would wait for its writer
	if err == nil {
		err = readable(name, info, limit)
	}
	if err != nil {
		return nil, err
	}
	return os.Open(name)
}

// readInside reads a file below a folder, which no symbolic link may lead out of.
func readInside(dir, name string, limit int64) ([]byte, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	info, err := root.Stat(name)
	if err == nil {
		err = readable(name, info, limit)
	}
	var f *os.File
	if err == nil {
		f, err = root.Open(name)
	}
	if err = errors.Join(err, root.Close()); err != nil {
		return nil, err
	}
	return readAll(f, limit)
}

func readable(name string, info fs.FileInfo, limit int64) error {
	switch {
	case !info.Mode().IsRegular():
		return &fs.PathError{Op: "open", Path: name, Err: errNotRegular}
	case info.Size() > limit:
		return tooLong(name, limit)
	}
	return nil
}

func tooLong(name string, limit int64) error {
	return &fs.PathError{Op: "read", Path: name,
		Err: fmt.Errorf("it has more than %d bytes", limit)}
}

// readAll reads and closes a file, which may have grown since it was looked at.
func readAll(f *os.File, limit int64) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, err
	}
	if int64(len(text)) > limit {
		return nil, tooLong(f.Name(), limit)
	}
	return text, nil
}

// Reason is why a file is not read, without its name, which whoever tells of it has.
func Reason(err error) string {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err.Error()
	}
	return err.Error()
}

// ReadJSON reads a file that the bench wrote, by DecodeJSON.
func ReadJSON(name string, limit int64, form any) error {
	text, err := ReadFile(name, limit)
	if err != nil {
		return err
	}
	return DecodeJSON(text, form)
}

// DecodeJSON reads what the bench wrote. A key that it does not know, or something behind
// the end, is an error.
func DecodeJSON(text []byte, form any) error {
	d := json.NewDecoder(bytes.NewReader(WithoutMark(text)))
	d.DisallowUnknownFields()
	if err := d.Decode(form); err != nil {
		return fmt.Errorf("%w, at byte %d", err, d.InputOffset())
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("something stands behind its end, at byte %d", d.InputOffset())
	}
	return nil
}

// WithoutMark is a text without the byte-order mark that some editors put before it.
func WithoutMark(text []byte) []byte { return bytes.TrimPrefix(text, []byte("\ufeff")) }
