package controller

import (
	"testing"
	"time"
)

// BenchmarkObserver is one simulated second of watching: 50 polls of status and
// counter and one of the table, network and agent included.
func BenchmarkObserver(b *testing.B) {
	f := newFake(b)
	f.started(testProfile())
	f.run(2 * time.Second)
	b.ReportAllocs()
	for b.Loop() {
		f.run(f.clock.Now() + time.Second)
	}
}
