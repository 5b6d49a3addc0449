package evidence

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
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
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"haltmark/bench/config"
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
	name   string
	text   []byte
	meta   format.FileMetaData
	chunks map[string][]*format.ColumnMetaData // of the columns that were not read yet
	err    error
}

// rowsMax bounds the rows of a table: samples of a day.
const rowsMax = 24 * 3600 * 100

// tableLimit bounds the bytes of one file of a record.
const tableLimit = 1 << 29

// readTable opens a Parquet file and lets read take columns out of it, when its SHA-256
// is the one that was written down.
func readTable(name, sum string, read func(*table) error) error {
	text, err := config.ReadFile(name, tableLimit)
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	if got := sha256.Sum256(text); hex.EncodeToString(got[:]) != sum {
		return fmt.Errorf("evidence: %s is damaged: its SHA-256 is not that of %s",
			filepath.Base(name), checksumsFile)
	}
	return decode(filepath.Base(name), text, read)
}

// decode reads the bytes of a table. Whatever they say of their sizes, no more room is
// made than their own length can fill.
func decode(name string, text []byte, read func(*table) error) error {
	t := &table{name: name, text: text, chunks: map[string][]*format.ColumnMetaData{}}
	if err := t.open(); err != nil {
		return fmt.Errorf("evidence: %s cannot be read: %w", name, err)
	}
	if err := read(t); err != nil {
		return err
	}
	return t.err
}

const magic = "PAR1"

// open reads the foot of the file: where the pages of each column are.
func (t *table) open() error {
	foot := len(t.text) - 4 - len(magic)
	if foot < len(magic) || !bytes.HasPrefix(t.text, []byte(magic)) ||
		!bytes.HasSuffix(t.text, []byte(magic)) {
		return errForm
	}
	size := int64(binary.LittleEndian.Uint32(t.text[foot:]))
	if size > int64(foot-len(magic)) {
		return errSize
	}
	head := t.text[foot-int(size) : foot]
	if rest, err := skipStruct(head, structDepth); err != nil || len(rest) > 0 {
		return cmp.Or(err, errForm)
	}
	if err := thrift.Unmarshal(new(thrift.CompactProtocol), head, &t.meta); err != nil {
		return err
	}
	if t.meta.NumRows < 0 || t.meta.NumRows > rowsMax {
		return errSize
	}
	return t.place(int64(foot) - size)
}

// place finds the chunks of every column, which do not share their bytes.
func (t *table) place(end int64) error {
	left := end
	for i := range t.meta.RowGroups {
		for k := range t.meta.RowGroups[i].Columns {
			c := &t.meta.RowGroups[i].Columns[k].MetaData
			from := begin(c)
			if from < 0 || c.TotalCompressedSize < 0 || c.TotalCompressedSize > left ||
				from > end-c.TotalCompressedSize {
				return errSize
			}
			if len(c.PathInSchema) != 1 || c.Codec != format.Snappy {
				return errForm
			}
			left -= c.TotalCompressedSize
			t.chunks[c.PathInSchema[0]] = append(t.chunks[c.PathInSchema[0]], c)
		}
	}
	return nil
}

// begin is where the pages of a column begin.
func begin(c *format.ColumnMetaData) int64 {
	if c.DictionaryPageOffset != 0 {
		return c.DictionaryPageOffset
	}
	return c.DataPageOffset
}

// lookup finds a text beside the columns.
func (t *table) lookup(key string) (string, bool) {
	for _, one := range t.meta.KeyValueMetadata {
		if one.Key == key {
			return one.Value, true
		}
	}
	return "", false
}

// readColumn gives the values of a column, in order. A column is read once: however often
// a file names it, it costs its own bytes.
func readColumn[V any](
	t *table, name string, kind format.Type, values func(p page, most int) ([]V, error),
) []V {
	all := []V{}
	if t.err != nil {
		return nil
	}
	chunks, ok := t.chunks[name]
	delete(t.chunks, name)
	if !ok && t.meta.NumRows > 0 {
		t.err = fmt.Errorf("evidence: %s: no column %s, or it stands twice", t.name, name)
	}
	for _, c := range chunks {
		b := t.text[begin(c) : begin(c)+c.TotalCompressedSize]
		for len(b) > 0 && t.err == nil {
			var p page
			var some []V
			if p, b, t.err = nextPage(b); t.err == nil && c.Type != kind {
				t.err = errForm
			}
			if t.err == nil {
				some, t.err = values(p, int(t.meta.NumRows)-len(all))
			}
			all = append(all, some...)
		}
	}
	if t.err == nil && int64(len(all)) != t.meta.NumRows {
		t.err = fmt.Errorf("it has %d rows, want %d", len(all), t.meta.NumRows)
	}
	if t.err != nil {
		t.err = fmt.Errorf("evidence: %s: column %s: %w", t.name, name, t.err)
		return nil
	}
	return all
}

func (t *table) integers(name string) []int64 {
	return readColumn(t, name, format.Int64, page.integers)
}

func (t *table) instants(name string) []time.Duration { return durations(t.integers(name)) }

func (t *table) doubles(name string) []float64 {
	return readColumn(t, name, format.Double, page.doubles)
}

// textsMax bounds the bytes of a column of texts, each counted as often as it stands.
const textsMax = 256 << 20

func (t *table) texts(name string) []string {
	var words []string
	left := textsMax
	return readColumn(t, name, format.ByteArray, func(p page, most int) (all []string, err error) {
		if p.words {
			words, err = p.texts()
			return nil, err
		}
		if p.encoding == format.Plain {
			return p.texts()
		}
		at, err := p.indices(most)
		for _, i := range at {
			if i >= len(words) || left < len(words[i]) {
				return nil, errSize
			}
			left -= len(words[i])
			all = append(all, words[i])
		}
		return all, err
	})
}
