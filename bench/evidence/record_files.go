package evidence

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"haltmark/bench/record"
)

// ErrNoRecord is the error of ReadRecord for a folder without a record.
var ErrNoRecord = errors.New("evidence: no record in the folder")

// WriteRecord writes a record into a folder as Parquet, one file each for
// samples, edges, marks and asks; reads it back and compares; and only then
// removes the raw form, if there is one.
func WriteRecord(dir string, rec *record.Record) error {
	head, err := headOf(rec)
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	for _, f := range []struct {
		name    string
		columns []column
		head    string
	}{
		{edgesFile, edgeColumns(rec.Edges), ""},
		{marksFile, markColumns(rec.Marks), ""},
		{asksFile, askColumns(rec.Asks), ""},
		{samplesFile, sampleColumns(rec), head}, // last: with it the record is whole
	} {
		if err := writeTable(filepath.Join(dir, f.name), f.columns, f.head); err != nil {
			return err
		}
	}
	back, err := readColumns(dir)
	if err != nil {
		return fmt.Errorf("evidence: reading back: %w", err)
	}
	if back.Hash() != rec.Hash() {
		return errors.New("evidence: what was read back is not the record; its raw form stays")
	}
	err = os.Remove(filepath.Join(dir, rawFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}

// ReadRecord reads the record in a folder: Parquet where it is whole, otherwise
// the raw form that a killed run left. It has the hash that it had when written.
func ReadRecord(dir string) (*record.Record, error) {
	rec, err := readColumns(dir)
	if err == nil {
		return rec, nil
	}
	raw, missing := os.Open(filepath.Join(dir, rawFile))
	if missing != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%w %s", ErrNoRecord, dir)
		}
		return nil, err
	}
	rec, err = record.Read(raw)
	return rec, errors.Join(err, raw.Close())
}

// readColumns reads the Parquet form.
func readColumns(dir string) (*record.Record, error) {
	rec := &record.Record{}
	hash := ""
	for _, f := range []struct {
		name string
		read func(*table)
	}{
		{samplesFile, func(t *table) { hash, t.err = readSamples(t, rec) }},
		{edgesFile, func(t *table) { rec.Edges = readEdges(t) }},
		{marksFile, func(t *table) { rec.Marks = readMarks(t) }},
		{asksFile, func(t *table) { rec.Asks = readAsks(t) }},
	} {
		err := readTable(filepath.Join(dir, f.name), func(t *table) error {
			f.read(t)
			return t.err
		})
		if err != nil {
			return nil, err
		}
	}
	if sum := rec.Hash(); hash != hex.EncodeToString(sum[:]) {
		return nil, fmt.Errorf("evidence: the record in %s is not the one that was written", dir)
	}
	return rec, nil
}
