package record

import (
	"fmt"
	"io"
	"time"
)

// Recorder takes down one run. It is not safe for concurrent use. It allocates
// only when a chunk of rows or a list of edges is full.
type Recorder struct {
	channels []Channel
	tracked  []int // channels with extremes

	at     []time.Duration
	rows   *rows
	names  []string
	ids    map[string]int
	levels []int64
	edges  []change
	marks  []Mark
	asks   []Ask
	out    *writer // nil when nothing is written
	pool   *Pool   // where chunks come from and go to; nil for nowhere

	subscribers subscribers
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
	width := len(channels) + 2*len(r.tracked)
	r.rows = &rows{width: width, each: max(1, chunkValues/max(1, width))}
	r.at = make([]time.Duration, 0, r.rows.each)
	r.edges = make([]change, 0, 64)
	if raw != nil {
		r.out = newWriter(raw, r.channels, width)
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
	row := r.rows.room(len(r.at), r.pool)
	copy(row, values)
	copy(row[n:], mins)
	copy(row[n+t:], maxs)
	r.at = append(r.at, at)
	if r.out != nil {
		r.out.row(at, row)
	}
	if r.subscribers.some() {
		r.subscribers.tell(Row{at, row})
	}
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
	if r.subscribers.some() {
		r.subscribers.tell(Edge{at, channel, value})
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
	if r.subscribers.some() {
		r.subscribers.tell(m)
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
	if r.subscribers.some() {
		r.subscribers.tell(a)
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

// Record is what was taken down so far. It reads the recorder's own rows, and is gone
// with them when the recorder is closed.
func (r *Recorder) Record() *Record {
	rec := &Record{Channels: r.channels, At: append([]time.Duration(nil), r.at...), rows: r.rows}
	rec.Edges = make([]Edge, len(r.edges))
	for i, e := range r.edges {
		rec.Edges[i] = Edge{e.at, r.names[e.id], e.value}
	}
	rec.Marks = append([]Mark(nil), r.marks...)
	rec.Asks = append([]Ask(nil), r.asks...)
	return rec
}
