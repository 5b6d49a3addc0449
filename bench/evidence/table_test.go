package evidence

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"haltmark/bench/record"
	"haltmark/bench/seed"
)

// drawn has columns of every kind, with what is hard to pack: great and small differences,
// runs and changes of texts, and as many rows as fill several blocks and pages.
func drawn(rows int) []column {
	draw := seed.Seed(3).Stream("columns")
	whole, numbers, words := make([]int64, rows), make([]float64, rows), make([]string, rows)
	for i := range rows {
		whole[i] = int64(draw.IntN(math.MaxInt64)) >> (draw.IntN(63))
		if i%7 == 0 {
			whole[i] = -whole[i]
		}
		numbers[i] = math.Float64frombits(uint64(draw.IntN(math.MaxInt64)))
		words[i] = strings.Repeat("w", draw.IntN(1+i%50)) + fmt.Sprint(i/100)
	}
	return []column{
		integers("whole", rows, func(i int) int64 { return whole[i] }),
		integers("steady", rows, func(i int) int64 { return int64(i) * 10_000_000 }),
		integers("extreme", rows, func(i int) int64 { return math.MinInt64 * int64(i%2) }),
		doubles("numbers", numbers), texts("words", rows, func(i int) string { return words[i] }),
		texts("same", rows, func(int) string { return "one" }),
	}
}

// What is read is what parquet-go, with which it was written, reads from it.
func TestTable_ReadsAsTheLibraryDoes(t *testing.T) {
	for _, rows := range []int{0, 1, 2, 127, 128, 129, 1000, 70_000} {
		var file bytes.Buffer
		check(t, encodeTable(&file, drawn(rows), ""))
		check(t, decode("a", file.Bytes(), func(mine *table) error {
			for _, name := range []string{"whole", "steady", "extreme"} {
				compare(t, file.Bytes(), name, mine.integers(name), parquet.Value.Int64)
			}
			compare(t, file.Bytes(), "numbers", mine.doubles("numbers"), parquet.Value.Double)
			for _, name := range []string{"words", "same"} {
				compare(t, file.Bytes(), name, mine.texts(name),
					func(v parquet.Value) string { return string(v.ByteArray()) })
			}
			return nil
		}))
	}
}

// compare holds values of a column against those that the library reads.
func compare[V comparable](
	t *testing.T, file []byte, name string, mine []V, of func(parquet.Value) V,
) {
	t.Helper()
	parsed, err := parquet.OpenFile(bytes.NewReader(file), int64(len(file)))
	check(t, err)
	leaf, _ := parsed.Schema().Lookup(name)
	i := 0
	for _, group := range parsed.RowGroups() {
		pages := group.ColumnChunks()[leaf.ColumnIndex].Pages()
		for {
			page, err := pages.ReadPage()
			if err == io.EOF {
				break
			}
			check(t, err)
			values := make([]parquet.Value, page.NumValues())
			if n, err := page.Values().ReadValues(values); n != len(values) {
				t.Fatal(n, err)
			}
			for _, v := range values {
				want := of(v)
				if i >= len(mine) || mine[i] != want && want == want {
					t.Fatalf("%s, row %d: not %v", name, i, want)
				}
				i++
			}
		}
		check(t, pages.Close())
	}
	if i != len(mine) {
		t.Fatalf("%s: %d rows, want %d", name, len(mine), i)
	}
}

// forged is a file of one column at_ns with one page, of which everything can be a lie.
type forged struct {
	meta format.FileMetaData
	head format.PageHeader
	data []byte // unpacked
}

func forge(change func(*forged)) []byte {
	f := forged{data: []byte{128, 1, 4, 1, 0}, // blocks of 128 in 4 parts, one value: 0
		meta: format.FileMetaData{NumRows: 1, Schema: []format.SchemaElement{{Name: "record"}},
			RowGroups: []format.RowGroup{{NumRows: 1, Columns: []format.ColumnChunk{{
				MetaData: format.ColumnMetaData{Type: format.Int64, Codec: format.Snappy,
					PathInSchema: []string{"at_ns"}, DataPageOffset: 4, NumValues: 1}}}}}}}
	f.head.Type = format.DataPageV2
	f.head.DataPageHeaderV2.Valid = true
	f.head.DataPageHeaderV2.V = format.DataPageHeaderV2{NumValues: 1, NumRows: 1,
		Encoding: format.DeltaBinaryPacked}
	f.head.UncompressedPageSize = -1
	change(&f)
	packed, _ := parquet.Snappy.Encode(nil, f.data)
	if f.head.UncompressedPageSize < 0 {
		f.head.UncompressedPageSize = int32(len(f.data))
	} else { // the packed form tells its size too
		_, n := binary.Uvarint(packed)
		packed = append(binary.AppendUvarint(nil, uint64(f.head.UncompressedPageSize)), packed[n:]...)
	}
	f.head.CompressedPageSize = int32(len(packed))
	page := append(structOf(&f.head), packed...)
	chunk := &f.meta.RowGroups[0].Columns[0].MetaData
	if chunk.TotalCompressedSize == 0 {
		chunk.TotalCompressedSize = int64(len(page))
	}
	for range max(0, int(chunk.IndexPageOffset)) { // columns on top of each other
		f.meta.RowGroups[0].Columns = append(f.meta.RowGroups[0].Columns,
			f.meta.RowGroups[0].Columns[0])
	}
	return framed(page, structOf(&f.meta))
}

func structOf(v any) []byte {
	b, err := thrift.Marshal(new(thrift.CompactProtocol), v)
	if err != nil {
		panic(err)
	}
	return b
}

func framed(pages, foot []byte) []byte {
	b := append([]byte(magic), pages...)
	b = binary.LittleEndian.AppendUint32(append(b, foot...), uint32(len(foot)))
	return append(b, magic...)
}

func times(text []byte) (all []int64, err error) {
	err = decode("forged", text, func(t *table) error {
		all = t.integers(instantColumn)
		return t.err
	})
	return all, err
}

// A few bytes that tell of many are refused before room is made for them.
func TestTable_ForgedSizes(t *testing.T) {
	if all, err := times(forge(func(*forged) {})); err != nil || len(all) != 1 {
		t.Fatalf("an honest file: %v, %v", all, err)
	}
	const many = 1 << 30
	number := func(n uint64) []byte { return binary.AppendUvarint([]byte{128, 1, 4}, n) }
	forgeries := map[string][]byte{
		"unpacked size": forge(func(f *forged) { f.head.UncompressedPageSize = many }),
		"values of a page": forge(func(f *forged) {
			f.head.DataPageHeaderV2.V.NumValues, f.meta.NumRows = many, many
			f.data = append(number(many), 0, 0, 0, 0, 0, 0)
		}),
		"values in the data": forge(func(f *forged) { f.data = append(number(many), 0) }),
		"rows":               forge(func(f *forged) { f.meta.NumRows = 1 << 62 }),
		"fewer rows":         forge(func(f *forged) { f.meta.NumRows = 0 }),
		"size of a column": forge(func(f *forged) {
			f.meta.RowGroups[0].Columns[0].MetaData.TotalCompressedSize = many
		}),
		"place of a column": forge(func(f *forged) {
			f.meta.RowGroups[0].Columns[0].MetaData.DataPageOffset = math.MaxInt64
		}),
		"columns over each other": forge(func(f *forged) {
			f.meta.RowGroups[0].Columns[0].MetaData.IndexPageOffset = 999
		}),
		"another type": forge(func(f *forged) {
			f.meta.RowGroups[0].Columns[0].MetaData.Type = format.Double
		}),
		"items of a list": framed(nil, append([]byte{0x29, 0xfc}, binary.AppendUvarint(nil, many)...)),
		"length of a text": framed(nil,
			append([]byte{0x68}, binary.AppendUvarint(nil, math.MaxInt32)...)),
		"depth": framed(nil, bytes.Repeat([]byte{0x1c}, 1<<20)),
		"foot":  append([]byte("PAR1\xff\xff\xff\x7f"), magic...),
	}
	for name, text := range forgeries {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		all, err := times(text)
		runtime.ReadMemStats(&after)
		if err == nil {
			t.Errorf("%s: %d values", name, len(all))
		}
		if grown := after.TotalAlloc - before.TotalAlloc; grown > 4<<20 {
			t.Errorf("%s: %d bytes for a file of %d", name, grown, len(text))
		}
	}
}

// Runs of a text longer than the table, and words that the dictionary lacks.
func TestPage_Indices(t *testing.T) {
	run := func(width byte, count uint64, value ...byte) []byte {
		return append(binary.AppendUvarint([]byte{width}, count<<1), value...)
	}
	for name, row := range map[string]struct {
		data  []byte
		count int
		want  []int
	}{
		"a run":           {run(8, 3, 5), 3, []int{5, 5, 5}},
		"a packed run":    {[]byte{3, 3, 0x88, 0xc6, 0xfa}, 8, []int{0, 1, 2, 3, 4, 5, 6, 7}},
		"a longer run":    {run(1, 1<<40, 1), 2, []int{1, 1}},
		"of no bits":      {run(0, 2), 2, []int{0, 0}},
		"a shorter run":   {run(8, 1, 5), 3, nil},
		"an empty run":    {run(8, 0, 5), 3, nil},
		"too wide":        {run(33, 1, 1, 1, 1, 1, 1), 1, nil},
		"no width":        {nil, 1, nil},
		"more than rows":  {run(8, 99, 5), 99, nil},
		"packed, cut":     {[]byte{3, 3, 0x88, 0xc6}, 8, nil},
		"packed, endless": {append([]byte{32}, binary.AppendUvarint(nil, math.MaxUint64)...), 8, nil},
	} {
		p := page{encoding: format.RLEDictionary, count: row.count, data: row.data}
		got, err := p.indices(50)
		if (err != nil) != (row.want == nil) || err == nil && fmt.Sprint(got) != fmt.Sprint(row.want) {
			t.Errorf("%s: %v, %v; want %v", name, got, err, row.want)
		}
	}
}

// A column that a head names twice is read once.
func TestReadSamples_ColumnsOnce(t *testing.T) {
	dir := t.TempDir()
	check(t, WriteRecord(dir, sampleRecord()))
	text, err := os.ReadFile(filepath.Join(dir, samplesFile))
	check(t, err)
	check(t, decode(samplesFile, text, func(mine *table) error {
		mine.doubles("azimuth.buffer_depth")
		if mine.doubles("azimuth.buffer_depth"); mine.err == nil {
			t.Error("a column was read twice")
		}
		mine.err = nil
		return nil
	}))
}

func readAll(t *table) error {
	rec := &record.Record{}
	switch t.name {
	case samplesFile:
		_, t.err = readSamples(t, rec)
	case edgesFile:
		readEdges(t)
	case marksFile:
		readMarks(t)
	case asksFile:
		readAsks(t)
	}
	return t.err
}

// FuzzTable gives the bytes to the decoder itself: no check sum stands before it.
func FuzzTable(f *testing.F) {
	dir := f.TempDir()
	check(f, WriteRecord(dir, awkwardRecord()))
	names := []string{samplesFile, edgesFile, marksFile, asksFile}
	for i, name := range names {
		text, err := os.ReadFile(filepath.Join(dir, name))
		check(f, err)
		f.Add(i, text)
	}
	f.Add(0, forge(func(*forged) {}))
	f.Fuzz(func(t *testing.T, which int, text []byte) {
		name := names[uint(which)%uint(len(names))]
		if decode(name, text, readAll) == nil && len(text) < 12 {
			t.Error("a table of no bytes")
		}
	})
}

// FuzzPage gives the bytes of a page to what unpacks its values.
func FuzzPage(f *testing.F) {
	f.Add([]byte{128, 1, 4, 3, 2, 4, 0, 0, 0, 0}, 3)
	f.Add([]byte{3, 3, 0x88, 0xc6, 0xfa}, 8)
	f.Add([]byte{3, 0, 0, 0, 'a', 'b', 'c', 0, 0, 0, 0}, 2)
	f.Fuzz(func(t *testing.T, data []byte, count int) {
		const most = 1000
		count &= math.MaxInt32
		for _, encoding := range []format.Encoding{format.Plain, format.RLEDictionary,
			format.DeltaBinaryPacked} {
			p := page{encoding: encoding, count: count, data: data}
			whole, err := p.integers(most)
			if err == nil && len(whole) != count {
				t.Errorf("%d numbers, want %d", len(whole), count)
			}
			at, err := p.indices(most)
			if err == nil && len(at) != count {
				t.Errorf("%d indices, want %d", len(at), count)
			}
			words, err := p.texts()
			if err == nil && len(words) != count {
				t.Errorf("%d texts, want %d", len(words), count)
			}
			numbers, err := p.doubles(most)
			if err == nil && len(numbers) != count {
				t.Errorf("%d doubles, want %d", len(numbers), count)
			}
		}
	})
}
