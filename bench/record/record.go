package record

import (
	"crypto/sha256"
	"io"
	"time"
)

// Record is one finished run. Whoever fills the fields by hand keeps samples and edges
// in order of time. Queries build what they ask for, once; a record is used by one
// goroutine at a time.
type Record struct {
	Channels  []Channel
	At        []time.Duration // of the samples
	Edges     []Edge
	Marks     []Mark
	Asks      []Ask
	Truncated bool // the raw form ended before its run did

	rows    *rows       // the samples as they came; nil where columns has them all
	columns [][]float64 // in the order of a row; nil those that nobody has asked for
	index   map[string]*steps
	place   map[string]int
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

// SetColumns gives a record its samples, by columns in the order of a row: the values of
// each channel, then the least of each interval for those with extremes, then the
// greatest.
func (r *Record) SetColumns(columns [][]float64) { r.rows, r.columns = nil, columns }

// Values are the samples of channel c.
func (r *Record) Values(c int) []float64 { return r.column(c) }

// Low is the least value of channel c in each interval that ends at a sample; nil
// without extremes.
func (r *Record) Low(c int) []float64 {
	k, _ := r.extremesOf(c)
	if k < 0 {
		return nil
	}
	return r.column(len(r.Channels) + k)
}

// High is the greatest, as Low is the least.
func (r *Record) High(c int) []float64 {
	k, count := r.extremesOf(c)
	if k < 0 {
		return nil
	}
	return r.column(len(r.Channels) + count + k)
}

// extremesOf counts the channels with extremes, and tells which of them channel c is;
// below zero for none.
func (r *Record) extremesOf(c int) (which, count int) {
	which = -1
	for i := range r.Channels {
		if r.Channels[i].Extremes {
			if i == c {
				which = count
			}
			count++
		}
	}
	return which, count
}

func (r *Record) column(k int) []float64 {
	if r.columns == nil && r.rows != nil {
		r.columns = make([][]float64, r.rows.width)
	}
	if r.columns[k] == nil && r.rows != nil {
		r.columns[k] = r.rows.column(k, len(r.At))
	}
	return r.columns[k]
}

// row is sample i; it may be put together in what is given.
func (r *Record) row(i int, in []float64) []float64 {
	if r.rows != nil {
		return r.rows.row(i)
	}
	for k := range in {
		in[k] = r.columns[k][i]
	}
	return in
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
	row := make([]float64, len(r.Channels)+2*len(trackedOf(r.Channels)))
	w := newWriter(count, r.Channels, len(row))
	for i, at := range r.At {
		w.row(at, r.row(i, row))
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
