package record

import "sync"

// Pool keeps the room of finished recorders for those to come, so that one run
// after the other needs no new one. Runs side by side may share it. The zero
// value is ready to use.
type Pool struct {
	mu     sync.Mutex
	chunks [][]float64
}

// poolMax bounds what is kept, in chunks: 16 MiB.
const poolMax = 256

// take gives a chunk of so many values, which may be any; from a nil Pool too.
func (s *Pool) take(size int) []float64 {
	if s != nil {
		s.mu.Lock()
		defer s.mu.Unlock()
		if last := len(s.chunks) - 1; last >= 0 && cap(s.chunks[last]) >= size {
			c := s.chunks[last]
			s.chunks = s.chunks[:last]
			return c[:size]
		}
	}
	return make([]float64, size)
}

// Use has the recorder take its room from the pool. It is called before the first
// row.
func (r *Recorder) Use(s *Pool) { r.pool = s }

// Close gives the recorder's room back, and its records lose their samples. One
// that is not closed keeps its room. Subscriptions end.
func (r *Recorder) Close() {
	r.subscribers.close()
	if s := r.pool; s != nil {
		s.mu.Lock()
		s.chunks = append(s.chunks, r.rows.chunks[:min(len(r.rows.chunks), poolMax-len(s.chunks))]...)
		s.mu.Unlock()
	}
	r.rows.chunks, r.at = nil, nil
}
