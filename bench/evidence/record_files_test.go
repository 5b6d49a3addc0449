package evidence

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"

	"haltmark/bench/quantity"
	"haltmark/bench/record"
)

func same(t *testing.T, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateEmpty(),
		cmpopts.IgnoreUnexported(record.Record{})); diff != "" {
		t.Error(diff)
	}
}

// awkwardRecord has what is hard to keep: NaN, infinities, negative zero, an
// empty interval, negative instants of edges, texts of all kinds.
func awkwardRecord() *record.Record {
	r := record.NewRecorder([]record.Channel{
		{Name: "z", Dimension: quantity.DimRatio, Extremes: true}, {Name: "a.b"},
		{Name: "a", Dimension: quantity.DimTorque}}, nil)
	r.Sample(0, []float64{math.NaN(), math.Inf(-1), math.Copysign(0, -1)},
		[]float64{math.Inf(1)}, []float64{math.Inf(-1)})
	r.Sample(0, []float64{5e-324, math.MaxFloat64, 0}, []float64{0}, []float64{math.NaN()})
	r.Edge(-1, "late", math.MinInt64)
	r.Edge(5, "early", math.MaxInt64)
	r.Edge(5, "late", 0)
	r.Mark(3, "cause", "", "azimuth", "\x00\xff<&>\n")
	return r.Record()
}

func TestWriteRecord_RoundTrip(t *testing.T) {
	cut := sampleRecord()
	cut.Truncated = true
	for name, rec := range map[string]*record.Record{
		"sample": sampleRecord(), "awkward": awkwardRecord(), "truncated": cut,
		"empty": record.NewRecorder(nil, nil).Record()} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			check(t, os.WriteFile(filepath.Join(dir, rawFile), []byte("raw"), 0o644))
			check(t, WriteRecord(dir, rec))
			back, err := ReadRecord(dir)
			check(t, err)
			same(t, rec, back)
			if back.Hash() != rec.Hash() {
				t.Error("the hash is another")
			}
			if _, err := os.Stat(filepath.Join(dir, rawFile)); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("raw form: %v, want it gone", err)
			}
		})
	}
}

// The unit stands in the column's name and columns are in order of their names.
func TestWriteRecord_Columns(t *testing.T) {
	dir := t.TempDir()
	check(t, WriteRecord(dir, sampleRecord()))
	file, err := os.Open(filepath.Join(dir, samplesFile))
	check(t, err)
	defer file.Close()
	info, err := file.Stat()
	check(t, err)
	parsed, err := parquet.OpenFile(file, info.Size())
	check(t, err)
	var names []string
	for _, f := range parsed.Schema().Fields() {
		names = append(names, f.Name())
	}
	same(t, []string{"at_ns", "azimuth.1.torque_Nm", "azimuth.1.torque_max_Nm",
		"azimuth.1.torque_min_Nm", "azimuth.2.torque_Nm", "azimuth.2.torque_max_Nm",
		"azimuth.2.torque_min_Nm", "azimuth.buffer_depth", "azimuth.encoder_rad",
		"azimuth.position_max_rad", "azimuth.position_min_rad", "azimuth.position_rad",
		"azimuth.rate_max_rad_per_s", "azimuth.rate_min_rad_per_s",
		"azimuth.rate_rad_per_s"}, names)
}

func TestWriteRecord_SameBytes(t *testing.T) {
	first, second := t.TempDir(), t.TempDir()
	check(t, WriteRecord(first, sampleRecord()))
	check(t, WriteRecord(second, sampleRecord()))
	for _, name := range []string{samplesFile, edgesFile, marksFile, asksFile, checksumsFile} {
		a, err := os.ReadFile(filepath.Join(first, name))
		check(t, err)
		b, err := os.ReadFile(filepath.Join(second, name))
		check(t, err)
		if !bytes.Equal(a, b) {
			t.Errorf("%s differs", name)
		}
	}
}

// Two channels that would share a column are refused, and the raw form stays.
func TestWriteRecord_KeepsRawOnFailure(t *testing.T) {
	dir := t.TempDir()
	raw := filepath.Join(dir, rawFile)
	check(t, os.WriteFile(raw, []byte("raw"), 0o644))
	rec := record.NewRecorder([]record.Channel{{Name: "twin"}, {Name: "twin"}}, nil).Record()
	if err := WriteRecord(dir, rec); err == nil || !strings.Contains(err.Error(), "twin") {
		t.Errorf("error %v, want one that names the column", err)
	}
	if _, err := os.Stat(raw); err != nil {
		t.Error(err)
	}
	left, err := filepath.Glob(filepath.Join(dir, "samples*"))
	check(t, err)
	if len(left) > 1 || (len(left) == 1 && !strings.HasSuffix(left[0], ".part")) {
		t.Errorf("left %v, want no whole samples file", left)
	}
}

func TestReadRecord_Refuses(t *testing.T) {
	if _, err := ReadRecord(t.TempDir()); !errors.Is(err, ErrNoRecord) {
		t.Errorf("empty folder: %v, want ErrNoRecord", err)
	}
	dir := t.TempDir()
	check(t, WriteRecord(dir, sampleRecord()))
	other := t.TempDir()
	check(t, WriteRecord(other, awkwardRecord()))
	check(t, os.Rename(filepath.Join(other, edgesFile), filepath.Join(dir, edgesFile)))
	if _, err := ReadRecord(dir); err == nil || !strings.Contains(err.Error(), "is damaged") {
		t.Errorf("edges of another record: %v, want an error", err)
	}
	sums, err := readChecksums(other)
	check(t, err)
	mine, err := readChecksums(dir)
	check(t, err)
	text, err := os.ReadFile(filepath.Join(dir, checksumsFile))
	check(t, err)
	forged := strings.Replace(string(text), mine[edgesFile], sums[edgesFile], 1)
	check(t, os.WriteFile(filepath.Join(dir, checksumsFile), []byte(forged), 0o644))
	_, err = ReadRecord(dir)
	if err == nil || !strings.Contains(err.Error(), "not the one that was written") {
		t.Errorf("edges of another record with their checksum: %v, want an error", err)
	}
}

// Damage of any file is noticed.
func TestReadRecord_Damage(t *testing.T) {
	dir := t.TempDir()
	check(t, WriteRecord(dir, awkwardRecord()))
	for _, name := range []string{samplesFile, edgesFile, marksFile, asksFile, checksumsFile} {
		path := filepath.Join(dir, name)
		whole, err := os.ReadFile(path)
		check(t, err)
		for i := 0; i < len(whole); i += 3 {
			damaged := bytes.Clone(whole)
			damaged[i] ^= 0x55
			check(t, os.WriteFile(path, damaged, 0o644))
			if _, err := ReadRecord(dir); err == nil {
				t.Fatalf("%s, byte %d: damaged without an error", name, i)
			}
		}
		check(t, os.WriteFile(path, whole, 0o644))
	}
}

// The raw form of a run that was killed is read as far as it goes.
func TestReadRecord_FallsBackOnRaw(t *testing.T) {
	dir := t.TempDir()
	file, err := os.Create(filepath.Join(dir, rawFile))
	check(t, err)
	r := record.NewRecorder([]record.Channel{{Name: "azimuth.position"}}, file)
	r.Sample(time.Second, []float64{3}, nil, nil)
	check(t, r.Flush())
	_, err = file.Write([]byte{200, 0, 0})
	check(t, errors.Join(err, file.Close()))
	rec, err := ReadRecord(dir)
	check(t, err)
	if len(rec.At) != 1 || rec.Values(0)[0] != 3 || !rec.Truncated {
		t.Errorf("got %+v, want the one row, truncated", rec)
	}
}

func BenchmarkWriteRecord(b *testing.B) {
	rec := sampleRecord()
	dir := b.TempDir()
	for b.Loop() {
		check(b, WriteRecord(dir, rec))
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(rec.At)), "ns/row")
}

var _ io.Writer = (*PhaseFolder)(nil)
