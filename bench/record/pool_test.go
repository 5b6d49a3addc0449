package record

import (
	"fmt"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// many is a record over several chunks, of more columns than lie in a line of the
// cache; value tells what stands in each column of each row.
func many(s *Pool, rows int, value func(row, column int) float64) *Recorder {
	var channels []Channel
	for k := range 13 {
		channels = append(channels, Channel{Name: fmt.Sprint("channel ", k),
			Dimension: quantity.DimAngle, Extremes: k%3 == 0})
	}
	r := NewRecorder(channels, nil)
	r.Use(s)
	width := len(channels) + 2*len(r.tracked)
	row := make([]float64, width)
	for i := range rows {
		for k := range row {
			row[k] = value(i, k)
		}
		r.Sample(time.Duration(i)*10*time.Millisecond, row[:13], row[13:18], row[18:])
	}
	return r
}

// Every value comes out of the columns as it went into the rows, whether the room
// was new or had been used.
func TestRecord_Columns(t *testing.T) {
	pool := &Pool{}
	check := func(rec *Record, rows int, value func(row, column int) float64) {
		t.Helper()
		if len(rec.At) != rows {
			t.Fatalf("%d rows, want %d", len(rec.At), rows)
		}
		for i := range rows {
			tracked := 0
			for c := range rec.Channels {
				if got, want := rec.Values(c)[i], value(i, c); got != want {
					t.Fatalf("row %d channel %d: %g, want %g", i, c, got, want)
				}
				if c%3 != 0 {
					continue
				}
				low, high := value(i, 13+tracked), value(i, 18+tracked)
				if rec.Low(c)[i] != low || rec.High(c)[i] != high {
					t.Fatalf("row %d channel %d: extremes %g and %g, want %g and %g", i, c,
						rec.Low(c)[i], rec.High(c)[i], low, high)
				}
				tracked++
			}
		}
	}
	plain := func(row, column int) float64 { return float64(100*row + column) }
	other := func(row, column int) float64 { return -float64(7*row + 1000*column) }
	const chunk = chunkValues / 23
	for _, rows := range []int{0, 1, chunk - 1, chunk, chunk + 1, 3*chunk + 5} {
		first := many(pool, rows, plain)
		check(first.Record(), rows, plain)
		first.Close()
		second := many(pool, rows, other)
		check(second.Record(), rows, other)
		second.Close()
		check(many(nil, rows, plain).Record(), rows, plain)
	}
	if want := 4; len(pool.chunks) != want {
		t.Errorf("%d chunks are pooled, want the %d of the longest", len(pool.chunks), want)
	}
}
