package evidence

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/record"
)

// recordFiles are those that WriteRecord leaves.
func recordFiles() []string {
	return []string{asksFile, edgesFile, marksFile, samplesFile, checksumsFile}
}

// ErrNoRecord is the error of ReadRecord for a folder without a record.
var ErrNoRecord = errors.New("evidence: no record in the folder")

// WriteRecord writes a record into a folder as Parquet, one file each for
// samples, edges, marks and asks, with their checksums beside them; reads it back
// and compares; and only then removes the raw form, if there is one.
func WriteRecord(dir string, rec *record.Record) error {
	sum := rec.Hash()
	written := hex.EncodeToString(sum[:])
	head, err := headOf(rec, written)
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	var sums strings.Builder
	for _, f := range []struct {
		name    string
		columns []column
		head    string
	}{
		{asksFile, askColumns(rec.Asks), ""},
		{edgesFile, edgeColumns(rec.Edges), ""},
		{marksFile, markColumns(rec.Marks), ""},
		{samplesFile, sampleColumns(rec), head},
	} {
		sum, err := writeTable(filepath.Join(dir, f.name), f.columns, f.head)
		if err != nil {
			return err
		}
		sums.WriteString(sum + "  " + f.name + "\n")
	}
	// Last: with it the record is whole.
	if err := replace(filepath.Join(dir, checksumsFile), []byte(sums.String())); err != nil {
		return err
	}
	switch _, back, err := readColumns(dir); {
	case err != nil:
		return fmt.Errorf("evidence: reading back; the raw file is kept: %w", err)
	case back != written:
		return errors.New("evidence: what was read back differs from the record; its raw file is kept")
	}
	err = os.Remove(filepath.Join(dir, rawFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}

// readChecksums reads SHA-256 by file, in the form of sha256sum.
func readChecksums(dir string) (map[string]string, error) {
	text, err := config.ReadFile(filepath.Join(dir, checksumsFile), config.FixtureLimit)
	if err != nil {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	sums := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		sums[name] = sum
	}
	return sums, nil
}

// ReadRecord reads the record in a folder: Parquet where it is whole, otherwise
// the raw form that a killed run left. It has the hash that it had when written.
func ReadRecord(dir string) (*record.Record, error) {
	rec, _, err := readColumns(dir)
	if err == nil {
		return rec, nil
	}
	raw, missing := config.OpenFile(filepath.Join(dir, rawFile), tableLimit)
	if missing != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%w %s", ErrNoRecord, dir)
		}
		return nil, err
	}
	rec, err = record.Read(raw)
	return rec, errors.Join(err, raw.Close())
}

// readColumns reads the Parquet form and returns the record's hash with it. The
// record has the hash that its samples file tells.
func readColumns(dir string) (*record.Record, string, error) {
	sums, err := readChecksums(dir)
	if err != nil {
		return nil, "", err
	}
	rec := &record.Record{}
	told := ""
	for _, f := range []struct {
		name string
		read func(*table)
	}{
		{samplesFile, func(t *table) { told, t.err = readSamples(t, rec) }},
		{edgesFile, func(t *table) { rec.Edges = readEdges(t) }},
		{marksFile, func(t *table) { rec.Marks = readMarks(t) }},
		{asksFile, func(t *table) { rec.Asks = readAsks(t) }},
	} {
		err := readTable(filepath.Join(dir, f.name), sums[f.name], func(t *table) error {
			f.read(t)
			return t.err
		})
		if err != nil {
			return nil, "", err
		}
	}
	sum := rec.Hash()
	hash := hex.EncodeToString(sum[:])
	if hash != told {
		return nil, "", fmt.Errorf("evidence: the record in %s is not the one that was written", dir)
	}
	return rec, hash, nil
}
