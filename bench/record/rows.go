package record

// chunkValues is how many values are made room for at once: a second or two.
const chunkValues = 8192

// rows are samples as they came, in chunks. A row is a value of each channel, then the
// minima of those with extremes, then their maxima.
type rows struct {
	chunks [][]float64
	width  int // values in a row
	each   int // rows in a chunk
}

// room opens row i, the next one.
func (r *rows) room(i int, pool *Pool) []float64 {
	if i%r.each == 0 {
		r.chunks = append(r.chunks, pool.take(r.each*r.width))
	}
	return r.row(i)
}

// row is row i.
func (r *rows) row(i int) []float64 {
	k := i % r.each * r.width
	return r.chunks[i/r.each][k : k+r.width]
}

// column copies value k of the first n rows.
func (r *rows) column(k, n int) []float64 {
	all := make([]float64, 0, n)
	for _, chunk := range r.chunks {
		for at := k; at < len(chunk) && len(all) < n; at += r.width {
			all = append(all, chunk[at])
		}
	}
	return all
}
