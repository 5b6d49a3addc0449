package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"haltmark/bench/quantity"
)

const ms = time.Millisecond

func twoChannels() []Channel {
	return []Channel{
		{"azimuth.position", quantity.DimAngle, true},
		{"azimuth.encoder", quantity.DimAngle, false},
	}
}

// fill takes down a small run: a position that goes 0, 1, 2 ... with a peak
// between samples, a switch, marks and an ask.
func fill(r *Recorder) {
	r.Edge(0, "azimuth.final_limit.upper", 0)
	r.Edge(0, "bench.step", 250_000)
	for i := range 20 {
		at, v := time.Duration(i)*10*ms, float64(i)
		r.Sample(at, []float64{v, v + 0.5}, []float64{v - 1}, []float64{v + 0.25})
	}
	r.Edge(73250*time.Microsecond, "azimuth.final_limit.upper", 1)
	r.Mark(73250*time.Microsecond, Cause, "final_limit", "azimuth", "upper end")
	r.Edge(150*ms, "azimuth.final_limit.upper", 0)
	r.Ask(Ask{At: 160 * ms, From: 73250 * time.Microsecond, Requirement: "HR-007",
		Axis: "azimuth", End: "upper", Tightened: true, Limit: -0.5, Text: "it stops"})
}

func sameRecord(t *testing.T, want, got *Record) {
	t.Helper()
	opts := []cmp.Option{cmpopts.IgnoreUnexported(Record{}), cmpopts.EquateNaNs(),
		cmpopts.EquateEmpty()}
	if d := cmp.Diff(want, got, opts...); d != "" {
		t.Errorf("record differs (-want +got):\n%s", d)
	}
}

func TestRead_GivesBackWhatWasTakenDown(t *testing.T) {
	var raw bytes.Buffer
	r := NewRecorder(twoChannels(), &raw)
	fill(r)
	r.Sample(210*ms, []float64{math.NaN(), math.Inf(1)}, []float64{math.Inf(1)},
		[]float64{math.Inf(-1)})
	if err := r.Flush(); err != nil {
		t.Fatal(err)
	}
	got, err := Read(bytes.NewReader(raw.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	sameRecord(t, r.Record(), got)
	if len(got.At) != 21 || len(got.Edges) != 4 || len(got.Marks) != 1 || len(got.Asks) != 1 {
		t.Errorf("rows, edges, marks, asks = %d, %d, %d, %d",
			len(got.At), len(got.Edges), len(got.Marks), len(got.Asks))
	}
	if !math.IsNaN(got.Values(0)[20]) {
		t.Errorf("a NaN sample came back as %v", got.Values(0)[20])
	}
}

// A killed run leaves any prefix of its bytes: each is read as far as it is
// whole, never more, and rows only ever grow with the prefix.
func TestRead_AfterAKill(t *testing.T) {
	var raw bytes.Buffer
	r := NewRecorder(twoChannels(), &raw)
	fill(r)
	for i := range 3000 {
		r.Sample(time.Duration(200+i)*10*ms, []float64{math.Sqrt(float64(i)), 0},
			[]float64{0}, []float64{float64(i)})
	}
	if err := r.Flush(); err != nil {
		t.Fatal(err)
	}
	whole := r.Record()
	rows := 0
	for cut := 0; cut < raw.Len(); cut += 97 {
		got, err := Read(bytes.NewReader(raw.Bytes()[:cut]))
		if err != nil {
			if cut > 200 {
				t.Fatalf("cut at %d: %v", cut, err)
			}
			continue
		}
		if n := len(got.At); n < rows || n > len(whole.At) {
			t.Fatalf("cut at %d: %d rows after %d", cut, n, rows)
		}
		rows = len(got.At)
		if !cmp.Equal(got.Values(0), whole.Values(0)[:rows]) {
			t.Fatalf("cut at %d: values differ", cut)
		}
	}
	if rows == 0 {
		t.Error("no prefix gave any row")
	}
	bad := append([]byte(nil), raw.Bytes()...)
	bad[len(bad)/2] ^= 1
	got, err := Read(bytes.NewReader(bad))
	if err != nil || !got.Truncated || len(got.At) == 0 || len(got.At) >= len(whole.At) {
		t.Errorf("one flipped bit: %v, truncated %v", err, got != nil && got.Truncated)
	}
}

func TestRead_RefusesWhatIsNoRecord(t *testing.T) {
	for _, raw := range []string{"", "HMREC", "PAR1 and more of it", signature, signature + "\x01"} {
		if _, err := Read(strings.NewReader(raw)); !errors.Is(err, ErrNotRecord) {
			t.Errorf("%q: error %v, want %v", raw, err, ErrNotRecord)
		}
	}
}

// The order in which rows and edges were written does not reach the hash.
func TestHash_IsOfTheContentAlone(t *testing.T) {
	var raw bytes.Buffer
	a, b := NewRecorder(twoChannels(), nil), NewRecorder(twoChannels(), &raw)
	fill(a)
	fill(b)
	if a.Record().Hash() != b.Record().Hash() {
		t.Error("writing as it goes changed the hash")
	}
	var canonical bytes.Buffer
	if _, err := a.Record().WriteTo(&canonical); err != nil {
		t.Fatal(err)
	}
	back, err := Read(bytes.NewReader(canonical.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if back.Hash() != a.Record().Hash() {
		t.Error("canonical bytes read back hash differently")
	}
	b.Edge(170*ms, "azimuth.final_limit.upper", 1)
	if a.Record().Hash() == b.Record().Hash() {
		t.Error("one more edge left the hash as it was")
	}
}

// FIPS 180-4's example for the message "abc" pins which hash it is; that the
// hash is taken over the canonical bytes is checked against them.
func TestHash_IsSHA256OfTheCanonicalBytes(t *testing.T) {
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if sum := sha256.Sum256([]byte("abc")); hex.EncodeToString(sum[:]) != abc {
		t.Fatal("not the SHA-256 of FIPS 180-4")
	}
	r := NewRecorder(twoChannels(), nil)
	fill(r)
	var canonical bytes.Buffer
	n, err := r.Record().WriteTo(&canonical)
	if err != nil || n != int64(canonical.Len()) {
		t.Fatalf("wrote %d of %d: %v", n, canonical.Len(), err)
	}
	if r.Record().Hash() != sha256.Sum256(canonical.Bytes()) {
		t.Error("hash is not of the canonical bytes")
	}
}

// A record answers by channel; one that it lacks it does not make up.
func TestQueries(t *testing.T) {
	r := NewRecorder(twoChannels(), nil)
	fill(r)
	rec := r.Record()
	at, value, ok := rec.EdgesOf("azimuth.final_limit.upper")
	if !ok || !slices.Equal(at, []time.Duration{0, 73250 * time.Microsecond, 150 * ms}) ||
		!slices.Equal(value, []int64{0, 1, 0}) {
		t.Errorf("edges %v, %v, %v", at, value, ok)
	}
	when, samples, ok := rec.SamplesOf("azimuth.encoder")
	if !ok || when[2] != 20*ms || samples[2] != 2.5 {
		t.Errorf("sample at %v: %v, %v; want 2.5", when[2], samples[2], ok)
	}
	_, bounds, ok := rec.ExtremesOf("azimuth.position")
	if !ok || bounds[1][4] != 4.25 {
		t.Errorf("greatest before 40 ms: %v, %v; want 4.25", bounds[1][4], ok)
	}
	if _, _, ok := rec.ExtremesOf("azimuth.encoder"); ok {
		t.Error("extremes of a channel that keeps none")
	}
	if _, _, ok := rec.SamplesOf("azimuth.rate"); ok {
		t.Error("samples of a channel that is not there")
	}
	if _, _, ok := rec.EdgesOf("azimuth.pre_limit.upper"); ok {
		t.Error("edges of a channel that is not there")
	}
}

func TestRecorder_LeavesOutEdgesThatChangeNothing(t *testing.T) {
	r := NewRecorder(nil, nil)
	for i, v := range []int64{0, 0, 1, 1, 0} {
		r.Edge(time.Duration(i), "relay.delayed", v)
	}
	if n := len(r.Record().Edges); n != 3 {
		t.Errorf("%d edges, want 3", n)
	}
	if v, ok := r.Level("relay.delayed"); !ok || v != 0 {
		t.Errorf("level = %d, %v", v, ok)
	}
}

type fullDisk struct{ room int }

func (d *fullDisk) Write(p []byte) (int, error) {
	if d.room -= len(p); d.room < 0 {
		return 0, errors.New("no space left")
	}
	return len(p), nil
}

func TestRecorder_TellsWriteErrorsAndGoesOn(t *testing.T) {
	r := NewRecorder(twoChannels(), &fullDisk{room: 100})
	fill(r)
	if err := r.Flush(); err == nil {
		t.Error("a full disk went unnoticed")
	}
	if n := len(r.Record().At); n != 20 {
		t.Errorf("%d rows in memory, want 20", n)
	}
}

// A row costs a few bytes on disk and all of its values in memory: there is a bound.
func TestRead_Bounded(t *testing.T) {
	var raw bytes.Buffer
	r := NewRecorder(twoChannels(), &raw)
	fill(r)
	if err := r.Flush(); err != nil {
		t.Fatal(err)
	}
	const width = 4 // one channel and one with extremes
	if _, err := read(bytes.NewReader(raw.Bytes()), 20*width); err != nil {
		t.Errorf("a record of 20 rows within 20: %v", err)
	}
	if _, err := read(bytes.NewReader(raw.Bytes()), 20*width-1); !errors.Is(err, ErrTooLong) {
		t.Errorf("a record of 20 rows within fewer: %v, want ErrTooLong", err)
	}
}

func FuzzRead(f *testing.F) {
	var raw bytes.Buffer
	r := NewRecorder(twoChannels(), &raw)
	fill(r)
	if err := r.Flush(); err != nil {
		f.Fatal(err)
	}
	f.Add(raw.Bytes())
	f.Add([]byte(signature))
	f.Fuzz(func(t *testing.T, data []byte) {
		checkRead(t, data)
	})
}

// FuzzItems puts the bytes inside a valid frame, where the check sum no longer
// guards the decoder of items.
func FuzzItems(f *testing.F) {
	var raw bytes.Buffer
	w := newWriter(&raw, twoChannels(), 4)
	head := raw.Len()
	w.row(ms, []float64{1, 2, 3, 4})
	w.name("relay.delayed")
	w.edge(2*ms, 0, 1)
	w.mark(Mark{Kind: Cause, Name: "supply_lost"})
	w.ask(Ask{Requirement: "HR-001"})
	w.flush()
	f.Add(raw.Bytes()[head+frameHead:])
	f.Fuzz(func(t *testing.T, items []byte) {
		var raw bytes.Buffer
		w := newWriter(&raw, twoChannels(), 4)
		w.buf = append(w.buf, items...)
		w.flush()
		checkRead(t, raw.Bytes())
	})
}

// checkRead reads, and what reads must come back the same from its canonical
// form.
func checkRead(t *testing.T, data []byte) {
	rec, err := Read(bytes.NewReader(data))
	if err != nil {
		return
	}
	var canonical bytes.Buffer
	if _, err := rec.WriteTo(&canonical); err != nil {
		t.Fatal(err)
	}
	back, err := Read(&canonical)
	if err != nil {
		t.Fatal(err)
	}
	if back.Truncated || back.Hash() != rec.Hash() {
		t.Errorf("came back otherwise, truncated %v", back.Truncated)
	}
}

// BenchmarkSample: 30 channels, 20 of them with extremes, written as they come.
// The demand is at most 150 ns a row and no allocation.
func BenchmarkSample(b *testing.B) {
	channels := make([]Channel, 30)
	for i := range channels {
		channels[i] = Channel{Name: "c" + string(rune('a'+i)), Extremes: i < 20}
	}
	r := NewRecorder(channels, discard{})
	values, mins, maxs := make([]float64, 30), make([]float64, 20), make([]float64, 20)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		for k := range values {
			values[k] = float64(i*k) * 0.001
		}
		r.Sample(time.Duration(i)*10*ms, values, mins, maxs)
		if i%60000 == 0 { // ten minutes a record, not the whole memory
			r.at, r.rows.chunks = r.at[:0], r.rows.chunks[:0]
		}
	}
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// Rows wider than a byte of the bitmap, with every pattern of change.
func TestRead_WideRows(t *testing.T) {
	var channels []Channel
	for i := range 11 {
		channels = append(channels, Channel{Name: string(rune('a' + i)), Extremes: i%2 == 0})
	}
	var raw bytes.Buffer
	r := NewRecorder(channels, &raw)
	values, mins, maxs := make([]float64, 11), make([]float64, 6), make([]float64, 6)
	for row := range 2048 {
		for i := range values {
			values[i] += float64(row >> i & 1)
		}
		mins[row%6], maxs[row*5%6] = float64(row), float64(-row)
		r.Sample(time.Duration(row)*10*ms, values, mins, maxs)
	}
	if err := r.Flush(); err != nil {
		t.Fatal(err)
	}
	got, err := Read(&raw)
	if err != nil {
		t.Fatal(err)
	}
	sameRecord(t, r.Record(), got)
}
