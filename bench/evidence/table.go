package evidence

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding"
)

// column is one column to be written.
type column struct {
	name     string
	kind     parquet.Type
	encoding encoding.Encoding
	rows     int
	value    func(row int) parquet.Value
}

// batch is how many values go to a column at a time.
const batch = 512

// writeTable writes columns as one Parquet file, in order of their names, and
// returns the file's SHA-256. The file takes its name only when it is whole.
func writeTable(name string, columns []column, head string) (sum string, err error) {
	part := name + ".part"
	file, err := os.Create(part)
	if err != nil {
		return "", fmt.Errorf("evidence: %w", err)
	}
	hash := sha256.New()
	err = encodeTable(io.MultiWriter(file, hash), columns, head)
	if err = errors.Join(err, file.Close()); err == nil {
		err = os.Rename(part, name)
	}
	if err != nil {
		return "", fmt.Errorf("evidence: writing %s: %w", filepath.Base(name), err)
	}
	return hex.EncodeToString(hash.Sum(nil)), nil
}

func encodeTable(to io.Writer, columns []column, head string) error {
	slices.SortFunc(columns, func(a, b column) int { return cmp.Compare(a.name, b.name) })
	group := parquet.Group{}
	for _, c := range columns {
		if _, twice := group[c.name]; twice {
			return fmt.Errorf("two columns named %s", c.name)
		}
		group[c.name] = parquet.Encoded(parquet.Leaf(c.kind), c.encoding)
	}
	w := parquet.NewWriter(to, parquet.NewSchema("record", group),
		parquet.CreatedBy("haltmark", "", ""), parquet.Compression(&parquet.Snappy))
	if head != "" {
		w.SetKeyValueMetadata(headKey, head)
	}
	for i, to := range w.ColumnWriters() {
		if err := columns[i].writeTo(to); err != nil {
			return err
		}
	}
	return w.Close()
}

func (c column) writeTo(to *parquet.ColumnWriter) error {
	values := make([]parquet.Value, 0, batch)
	for row := 0; row < c.rows; {
		values = values[:0]
		for ; row < c.rows && len(values) < batch; row++ {
			values = append(values, c.value(row))
		}
		if _, err := to.WriteRowValues(values); err != nil {
			return fmt.Errorf("column %s: %w", c.name, err)
		}
	}
	return to.Close()
}

// table is a Parquet file being read. Its first error stays.
type table struct {
	name string
	file *parquet.File
	err  error
}

// readTable opens a Parquet file and lets read take columns out of it. The decoder
// trusts the sizes that a file tells, so the bytes are held against the file's
// SHA-256 before it sees them.
func readTable(name, sum string, read func(*table) error) error {
	text, err := os.ReadFile(name)
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	if got := sha256.Sum256(text); hex.EncodeToString(got[:]) != sum {
		return fmt.Errorf("evidence: %s is damaged: its SHA-256 is not that of %s",
			filepath.Base(name), checksumsFile)
	}
	return decode(filepath.Base(name), text, read)
}

// decode reads checked bytes; should the decoder fail all the same, it is an error.
func decode(name string, text []byte, read func(*table) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("evidence: %s cannot be read: %v", name, p)
		}
	}()
	parsed, err := parquet.OpenFile(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		return fmt.Errorf("evidence: %s cannot be read: %w", name, err)
	}
	t := &table{name: name, file: parsed}
	if err := read(t); err != nil {
		return err
	}
	return t.err
}

// each gives every value of a column, in order.
func (t *table) each(name string, kind parquet.Kind, take func(parquet.Value)) {
	if t.err != nil {
		return
	}
	leaf, ok := t.file.Schema().Lookup(name)
	if !ok || leaf.Node.Type().Kind() != kind {
		t.err = fmt.Errorf("evidence: %s: no column %s of kind %v", t.name, name, kind)
		return
	}
	rows := int64(0)
	count := func(v parquet.Value) {
		rows++
		take(v)
	}
	for _, group := range t.file.RowGroups() {
		if err := eachOf(group.ColumnChunks()[leaf.ColumnIndex], count); err != nil {
			t.err = fmt.Errorf("evidence: %s: column %s: %w", t.name, name, err)
			return
		}
	}
	if rows != t.file.NumRows() {
		t.err = fmt.Errorf("evidence: %s: column %s has %d rows, want %d",
			t.name, name, rows, t.file.NumRows())
	}
}

func eachOf(chunk parquet.ColumnChunk, take func(parquet.Value)) (err error) {
	pages := chunk.Pages()
	defer func() { err = errors.Join(err, pages.Close()) }()
	values := make([]parquet.Value, batch)
	for {
		page, err := pages.ReadPage()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		for from := page.Values(); ; {
			n, err := from.ReadValues(values)
			for _, v := range values[:n] {
				take(v)
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return err
			}
		}
		parquet.Release(page)
	}
}

func (t *table) integers(name string) []int64 {
	var all []int64
	t.each(name, parquet.Int64, func(v parquet.Value) { all = append(all, v.Int64()) })
	return all
}

func (t *table) instants(name string) []time.Duration { return durations(t.integers(name)) }

func (t *table) doubles(name string) []float64 {
	all := []float64{}
	t.each(name, parquet.Double, func(v parquet.Value) { all = append(all, v.Double()) })
	return all
}

func (t *table) texts(name string) []string {
	var all []string
	t.each(name, parquet.ByteArray, func(v parquet.Value) {
		all = append(all, string(v.ByteArray()))
	})
	return all
}
