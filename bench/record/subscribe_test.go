package record

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// told sorts what a subscriber was told into a record of its own.
func told(items <-chan any) (rows []Row, rest *Record) {
	rest = &Record{}
	for item := range items {
		switch item := item.(type) {
		case Row:
			rows = append(rows, item)
		case Edge:
			rest.Edges = append(rest.Edges, item)
		case Mark:
			rest.Marks = append(rest.Marks, item)
		case Ask:
			rest.Asks = append(rest.Asks, item)
		}
	}
	return rows, rest
}

// What a subscriber is told while the run goes on is what stands in the record, no
// more and no less.
func TestSubscribe_ToldWhatStandsInTheRecord(t *testing.T) {
	r := NewRecorder(twoChannels(), nil)
	s := r.Subscribe(1024)
	type heard struct {
		rows []Row
		rest *Record
	}
	done := make(chan heard)
	go func() {
		rows, rest := told(s.Items)
		done <- heard{rows, rest}
	}()
	fill(r)
	r.Edge(200*ms, "azimuth.final_limit.upper", 0) // no edge, as it is so already
	record := r.Record()
	var want []Row
	for i, at := range record.At {
		want = append(want, Row{at, slices.Clone(record.row(i, nil))})
	}
	r.Close()
	got := <-done
	if d := cmp.Diff(want, got.rows); d != "" || len(want) != 20 {
		t.Errorf("%d rows (-recorded +told):\n%s", len(want), d)
	}
	for name, pair := range map[string][2]any{
		"edges": {record.Edges, got.rest.Edges}, "marks": {record.Marks, got.rest.Marks},
		"asks": {record.Asks, got.rest.Asks},
	} {
		if d := cmp.Diff(pair[0], pair[1]); d != "" {
			t.Errorf("%s (-recorded +told):\n%s", name, d)
		}
	}
	if s.Lost() != 0 {
		t.Errorf("%d items lost", s.Lost())
	}
}

// Nobody who subscribes changes a run: not by never receiving, not by writing into what
// it was told, not by coming and going from elsewhere.
func TestSubscribe_NeverChangesARun(t *testing.T) {
	alone := NewRecorder(twoChannels(), nil)
	fill(alone)
	r := NewRecorder(twoChannels(), nil)
	asleep, vandal := r.Subscribe(3), r.Subscribe(1024)
	gone := r.Subscribe(0)
	gone.Cancel()
	stop, left := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(left)
		for {
			select {
			case <-stop:
				return
			default:
				r.Subscribe(1).Cancel()
			}
		}
	}()
	fill(r)
	close(stop)
	<-left
	for range len(vandal.Items) {
		if row, ok := (<-vandal.Items).(Row); ok {
			clear(row.Values)
		}
	}
	if r.Record().Hash() != alone.Record().Hash() {
		t.Error("the record differs from that of a run to which nobody subscribed")
	}
	// 20 rows, 4 edges, a mark and an ask.
	if n := len(asleep.Items); n != 3 || asleep.Lost() != 23 || gone.Lost() != 0 {
		t.Errorf("%d items kept, %d and %d lost; want 3, 23 and 0", n, asleep.Lost(), gone.Lost())
	}
}

func TestSubscribe_CostsNothingWithoutSubscribers(t *testing.T) {
	r := NewRecorder(twoChannels(), nil)
	r.Subscribe(1).Cancel()
	values, extremes := []float64{1, 2}, []float64{3}
	at := time.Duration(0)
	r.edges = make([]change, 0, 4000)
	if n := testing.AllocsPerRun(1000, func() {
		at += ms
		r.Sample(at, values, extremes, extremes)
		r.Edge(at, "switch", int64(at/ms%2))
	}); n != 0 {
		t.Errorf("a row and an edge allocate %v times, want 0", n)
	}
}
