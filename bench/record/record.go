package record

import (
	"crypto/sha256"
	"io"
	"sort"
	"time"
)

// Record is one finished run, by columns. Whoever fills the fields by hand keeps
// rows and edges in order of time. The first query of edges builds an index; a
// record is used by one goroutine at a time until then.
type Record struct {
	Channels  []Channel
	At        []time.Duration // of the samples
	Values    [][]float64     // by channel, then by sample
	Low, High [][]float64     // the same, over the interval that ends at the sample; nil without
	Edges     []Edge
	Marks     []Mark
	Asks      []Ask
	Truncated bool // the raw form ended before its run did

	index map[string]*steps
	place map[string]int
}

// steps are the edges of one channel.
type steps struct {
	at    []time.Duration
	value []int64
}

// Index prepares the record for queries.
func (r *Record) Index() {
	if r.index != nil {
		return
	}
	r.index = map[string]*steps{}
	r.place = map[string]int{}
	for i, c := range r.Channels {
		r.place[c.Name] = i
	}
	for _, e := range r.Edges {
		s := r.index[e.Channel]
		if s == nil {
			s = &steps{}
			r.index[e.Channel] = s
		}
		s.at = append(s.at, e.At)
		s.value = append(s.value, e.Value)
	}
}

// Span is the first and the last instant that the record tells of.
func (r *Record) Span() (from, until time.Duration) {
	if n := len(r.At); n > 0 {
		from, until = r.At[0], r.At[n-1]
	} else if len(r.Edges) > 0 {
		from = r.Edges[0].At
	}
	for _, e := range r.Edges {
		from, until = min(from, e.At), max(until, e.At)
	}
	for _, m := range r.Marks {
		until = max(until, m.At)
	}
	return from, until
}

// WriteTo writes the canonical raw form: rows, then edges, marks and asks.
func (r *Record) WriteTo(to io.Writer) (int64, error) {
	count := &counter{to: to}
	tracked := trackedOf(r.Channels)
	n := len(r.Channels)
	row := make([]float64, n+2*len(tracked))
	w := newWriter(count, r.Channels, len(row))
	for i, at := range r.At {
		for c := range r.Channels {
			row[c] = r.Values[c][i]
		}
		for k, c := range tracked {
			row[n+k], row[n+len(tracked)+k] = r.Low[c][i], r.High[c][i]
		}
		w.row(at, row)
	}
	ids := map[string]int{}
	for _, e := range r.Edges {
		id, known := ids[e.Channel]
		if !known {
			id = len(ids)
			ids[e.Channel] = id
			w.name(e.Channel)
		}
		w.edge(e.At, id, e.Value)
	}
	for _, m := range r.Marks {
		w.mark(m)
	}
	for _, a := range r.Asks {
		w.ask(a)
	}
	w.flush()
	return count.n, w.err
}

// counter counts what is written.
type counter struct {
	to io.Writer
	n  int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.to.Write(p)
	c.n += int64(n)
	return n, err
}

// Hash is the SHA-256 over the canonical raw form.
func (r *Record) Hash() [sha256.Size]byte {
	h := sha256.New()
	if _, err := r.WriteTo(h); err != nil {
		panic("record: a hash does not fail: " + err.Error())
	}
	return [sha256.Size]byte(h.Sum(nil))
}

// firstAfter is the index of the first instant later than at.
func firstAfter(all []time.Duration, at time.Duration) int {
	return sort.Search(len(all), func(i int) bool { return all[i] > at })
}
