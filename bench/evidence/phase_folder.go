package evidence

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"haltmark/bench/record"
)

// CaseDir is the folder of a scenario, such as scenarios/003-azimuth-moves.
func (f *Folder) CaseDir(number int, name string) string {
	return filepath.Join(f.dir, scenariosDir, fmt.Sprintf("%03d-%s", number, slug(name)))
}

// PhaseDir is the folder of one of its phases.
func (f *Folder) PhaseDir(number int, name string, phase int) string {
	return filepath.Join(f.CaseDir(number, name), fmt.Sprintf("phase-%02d", phase))
}

// FinishCase writes case.json. From then on the case is there for Cases.
func (f *Folder) FinishCase(c *Case) error {
	dir := f.CaseDir(c.Number, c.Name)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	form := encodeCase(c)
	form.Run = f.identity
	return writeJSON(filepath.Join(dir, caseFile), form)
}

// PhaseFolder is the folder of one phase while it runs. It takes the raw record as it
// comes, ends with Keep or Drop, and is used by one goroutine.
type PhaseFolder struct {
	dir  string
	file *os.File
	err  error
}

// StartPhase makes the folder of a phase and opens its raw record.
func (f *Folder) StartPhase(number int, name string, phase int) (*PhaseFolder, error) {
	dir := f.PhaseDir(number, name, phase)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	file, err := os.Create(filepath.Join(dir, rawFile))
	if err != nil {
		return nil, fmt.Errorf("evidence: %w", err)
	}
	return &PhaseFolder{dir: dir, file: file}, nil
}

// Write takes the raw record. A frame that was written outlives a kill.
func (p *PhaseFolder) Write(raw []byte) (int, error) { return p.file.Write(raw) }

// Close ends the raw record and leaves it where it is.
func (p *PhaseFolder) Close() error {
	if p.file == nil {
		return p.err
	}
	p.err = p.file.Close()
	p.file = nil
	return p.err
}

// Keep turns the raw record into Parquet.
func (p *PhaseFolder) Keep(rec *record.Record) error {
	if err := p.Close(); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	return WriteRecord(p.dir, rec)
}

// Drop removes the phase's record and its folder.
func (p *PhaseFolder) Drop() error {
	if err := errors.Join(p.Close(), os.RemoveAll(p.dir)); err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}
