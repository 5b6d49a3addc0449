package record

import (
	"fmt"
	"io"
	"time"
)

// chunkValues is how many values are made room for at once: a second or two.
const chunkValues = 8192

// Recorder takes down one run. It is not safe for concurrent use. It allocates
// only when a chunk of rows or a list of edges is full.
type Recorder struct {
	channels []Channel
	tracked  []int // channels with extremes
	width    int   // values in a row: channels, then minima, then maxima
	rows     int   // rows in a chunk

	at     []time.Duration
	chunks [][]float64
	names  []string
	ids    map[string]int
	levels []int64
	edges  []change
	marks  []Mark
	asks   []Ask
	out    *writer // nil when nothing is written
	spare  *Spare  // where chunks come from and go to; nil for nowhere
}

// change is an edge with its channel by number.
type change struct {
	at    time.Duration
	id    int
	value int64
}

// NewRecorder starts a record of the channels. The raw form goes to raw as it
// comes; nil keeps the record in memory only.
func NewRecorder(channels []Channel, raw io.Writer) *Recorder {
	r := &Recorder{channels: append([]Channel(nil), channels...), ids: map[string]int{}}
	r.tracked = trackedOf(r.channels)
	r.width = len(channels) + 2*len(r.tracked)
	r.rows = max(1, chunkValues/max(1, r.width))
	r.at = make([]time.Duration, 0, r.rows)
	r.edges = make([]change, 0, 64)
	if raw != nil {
		r.out = newWriter(raw, r.channels, r.width)
	}
	return r
}

func trackedOf(channels []Channel) []int {
	var tracked []int
	for i, c := range channels {
		if c.Extremes {
			tracked = append(tracked, i)
		}
	}
	return tracked
}

// Sample takes down a row: one value for each channel, and for each channel with
// extremes, in channel order, the least and the greatest value since the row
// before. A least above its greatest says that the interval was empty. Rows come
// in order of time; lengths that differ from the channels are a caller's bug.
func (r *Recorder) Sample(at time.Duration, values, mins, maxs []float64) {
	n, t := len(r.channels), len(r.tracked)
	if len(values) != n || len(mins) != t || len(maxs) != t {
		panic(fmt.Sprintf("record: row of %d, %d, %d values, want %d, %d, %d",
			len(values), len(mins), len(maxs), n, t, t))
	}
	row := r.room()
	copy(row, values)
	copy(row[n:], mins)
	copy(row[n+t:], maxs)
	r.at = append(r.at, at)
	if r.out != nil {
		r.out.row(at, row)
	}
}

// room opens the next row.
func (r *Recorder) room() []float64 {
	k := len(r.at) % r.rows
	if k == 0 {
		r.chunks = append(r.chunks, r.spare.take(r.rows*r.width))
	}
	c := r.chunks[len(r.chunks)-1]
	return c[k*r.width : (k+1)*r.width]
}

// Edge takes down the value of a discrete channel. A value that the channel has
// already is not an edge and is left out.
func (r *Recorder) Edge(at time.Duration, channel string, value int64) {
	id, known := r.ids[channel]
	if !known {
		id = len(r.names)
		r.ids[channel] = id
		r.names = append(r.names, channel)
		r.levels = append(r.levels, value)
		if r.out != nil {
			r.out.name(channel)
		}
	} else if r.levels[id] == value {
		return
	}
	r.levels[id] = value
	r.edges = append(r.edges, change{at, id, value})
	if r.out != nil {
		r.out.edge(at, id, value)
	}
}

// Level is the present value of a discrete channel, and whether it has one.
func (r *Recorder) Level(channel string) (int64, bool) {
	id, known := r.ids[channel]
	if !known {
		return 0, false
	}
	return r.levels[id], true
}

// Mark takes down an event and sends what is written so far on its way.
func (r *Recorder) Mark(at time.Duration, kind, name, axis, text string) {
	m := Mark{at, kind, name, axis, text}
	r.marks = append(r.marks, m)
	if r.out != nil {
		r.out.mark(m)
		r.out.flush()
	}
}

// Marks are the marks so far; the caller does not change them.
func (r *Recorder) Marks() []Mark { return r.marks }

// Ask takes down a measurement that the scenario asked for.
func (r *Recorder) Ask(a Ask) {
	r.asks = append(r.asks, a)
	if r.out != nil {
		r.out.ask(a)
		r.out.flush()
	}
}

// Flush writes what is held back, and tells the first error of any write.
func (r *Recorder) Flush() error {
	if r.out == nil {
		return nil
	}
	r.out.flush()
	return r.out.err
}

// Record is what was taken down so far, by columns. It is a copy.
func (r *Recorder) Record() *Record {
	rec := &Record{Channels: r.channels, At: append([]time.Duration(nil), r.at...)}
	n := len(r.channels)
	rec.Low = make([][]float64, n)
	rec.High = make([][]float64, n)
	all := r.columns()
	rec.Values = all[:n:n]
	for k, c := range r.tracked {
		rec.Low[c], rec.High[c] = all[n+k], all[n+len(r.tracked)+k]
	}
	rec.Edges = make([]Edge, len(r.edges))
	for i, e := range r.edges {
		rec.Edges[i] = Edge{e.at, r.names[e.id], e.value}
	}
	rec.Marks = append([]Mark(nil), r.marks...)
	rec.Asks = append([]Ask(nil), r.asks...)
	return rec
}

// columns copies the values of every row, by columns.
func (r *Recorder) columns() [][]float64 {
	n := len(r.at)
	all, values := make([][]float64, r.width), make([]float64, r.width*n)
	for k := range all {
		all[k] = values[k*n : (k+1)*n : (k+1)*n]
	}
	for first, chunk := 0, 0; first < n; first, chunk = first+r.rows, chunk+1 {
		rows := r.chunks[chunk][:min(r.rows, n-first)*r.width]
		for k := 0; k < r.width; k += lineValues {
			turn(all[k:min(k+lineValues, r.width)], rows[k:], first, r.width)
		}
	}
	return all
}

// lineValues is how many values lie in one line of the processor's cache: that
// many columns are read together.
const lineValues = 8

// turn copies a few neighbouring columns of rows, which lie width apart, to
// where the rows begin in the columns.
func turn(columns [][]float64, rows []float64, first, width int) {
	for i := first; ; i++ {
		for k := range columns {
			columns[k][i] = rows[k]
		}
		if len(rows) <= width {
			return
		}
		rows = rows[width:]
	}
}
