package link

import (
	"errors"
	"net"
	"os"
	"sync"
	"time"

	"haltmark/bench/clock"
)

// queueMax bounds the messages that wait for a controller that does not read.
const queueMax = 1024

// guard is a mutex where things run side by side. A virtual clock is used by one
// goroutine at a time, and so is all that lives on it.
type guard struct {
	sync.Mutex
	alone bool
}

// Lock locks unless alone.
func (g *guard) Lock() {
	if !g.alone {
		g.Mutex.Lock()
	}
}

// Unlock undoes Lock.
func (g *guard) Unlock() {
	if !g.alone {
		g.Mutex.Unlock()
	}
}

// inbox is what has arrived at a controller's end of a connection and was not read
// yet. All fields but signal are guarded by mu, which every method but Read wants held.
type inbox struct {
	mu      *guard
	remote  Endpoint
	framing Framing
	signal  clock.Signal
	late    error // made once, so that a time-out allocates nothing

	queue   [][]byte
	head    int      // the first of queue not read yet
	spare   [][]byte // buffers to use again
	current []byte   // what Read gave out
	partial []byte   // received, not yet a message
	err     error    // after the queue has been read
	closed  bool
}

func newInbox(mu *guard, remote Endpoint, f Framing) inbox {
	return inbox{
		mu: mu, remote: remote, framing: f,
		late: opError("read", remote, os.ErrDeadlineExceeded),
	}
}

// datagrams reports whether each arrival is a message by itself.
func (b *inbox) datagrams() bool { return b.remote.Network == "udp" }

// Read implements Conn.
func (b *inbox) Read(p clock.Process, deadline time.Duration) ([]byte, error) {
	for {
		message, err := b.poll()
		if message != nil || err != nil {
			return message, err
		}
		if !p.Wait(&b.signal, deadline) {
			if message, err = b.poll(); message == nil && err == nil {
				err = b.late
			}
			return message, err
		}
	}
}

// poll is the next message or error, if there is one.
func (b *inbox) poll() ([]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.current != nil {
		b.spare = append(b.spare, b.current)
		b.current = nil
	}
	if b.closed {
		return nil, opError("read", b.remote, net.ErrClosed)
	}
	if b.head < len(b.queue) {
		b.current = b.queue[b.head]
		b.queue[b.head] = nil
		if b.head++; b.head == len(b.queue) {
			b.queue, b.head = b.queue[:0], 0
		}
		return b.current, nil
	}
	err := b.err
	if b.datagrams() {
		b.err = nil // a refused datagram is told once
	}
	return nil, err
}

// full reports whether there is no room for another message.
func (b *inbox) full() bool { return len(b.queue)-b.head >= queueMax }

// receive takes what arrives, unless the end is closed or has failed. A stream fails
// when its bytes make no message or nobody reads them; a datagram too many is lost.
func (b *inbox) receive(arrived []byte) {
	switch {
	case b.closed || b.err != nil && !b.datagrams():
		return
	case b.datagrams() || len(b.partial) == 0 && b.whole(arrived):
		b.enqueue(arrived)
		return
	}
	b.partial = append(b.partial, arrived...)
	rest := b.partial
	for len(rest) > 0 && b.err == nil {
		size, err := nextMessage(b.framing, rest)
		if err != nil {
			b.err = opError("read", b.remote, err)
		}
		if size == 0 {
			break
		}
		b.enqueue(rest[:size])
		rest = rest[size:]
	}
	b.partial = append(b.partial[:0], rest...)
}

// whole reports whether the bytes are exactly one message.
func (b *inbox) whole(arrived []byte) bool {
	size, err := b.framing(arrived)
	return err == nil && size == len(arrived)
}

// enqueue copies a message for Read.
func (b *inbox) enqueue(message []byte) {
	if b.full() {
		if !b.datagrams() {
			b.err = reset(b.remote)
		}
		return
	}
	var buffer []byte
	if n := len(b.spare); n > 0 {
		buffer, b.spare = b.spare[n-1][:0], b.spare[:n-1]
	}
	b.queue = append(b.queue, append(buffer, message...))
}

// close drops what waits and reports whether the end was open.
func (b *inbox) close() bool {
	wasOpen := !b.closed
	b.closed = true
	b.queue, b.head, b.partial, b.spare = nil, 0, nil, nil
	b.signal.Raise()
	return wasOpen
}

// nextMessage frames buffered bytes within the bounds of the package.
func nextMessage(f Framing, buffered []byte) (int, error) {
	size, err := f(buffered)
	switch {
	case err != nil && !errors.Is(err, ErrFraming):
		return 0, errors.Join(ErrFraming, err)
	case err != nil:
		return 0, err
	case size < 0 || size > len(buffered) || size == 0 && len(buffered) >= MaxMessage:
		return 0, ErrFraming
	}
	return size, nil
}
