package link

import (
	"net"
	"sync"
	"time"
)

// streamListener serves TCP: a goroutine for each connection.
type streamListener struct {
	*hostService
	tasks  sync.WaitGroup
	cancel chan struct{}

	mu     sync.Mutex // guards what follows; never held while waiting
	port   net.Listener
	conns  map[*streamConn]bool
	closed bool
}

func serveStreams(d *hostService) (Listener, error) {
	l := &streamListener{
		hostService: d, cancel: make(chan struct{}), conns: map[*streamConn]bool{},
	}
	d.impairedBy(newImpairments(l.changed, l.resetAll), d.host.Seed, d.Name)
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.listen(); err != nil {
		return nil, err
	}
	d.at.Address = l.port.Addr().String()
	d.host.settle(d.at, true)
	return l, nil
}

// listen opens the port; l.mu is held.
func (l *streamListener) listen() error {
	port, err := listenConfig().Listen(background(), "tcp", l.at.Address)
	if err != nil {
		return err
	}
	l.port = port
	l.tasks.Add(1)
	go l.acceptAll(port)
	return nil
}

func (l *streamListener) acceptAll(port net.Listener) {
	defer l.tasks.Done()
	for {
		c, err := port.Accept()
		if err != nil {
			if !l.open(port) {
				return
			}
			// Out of file descriptors, for one: let some go first.
			l.host.pause(l.host.clock.Now()+relistenEvery, l.cancel)
			continue
		}
		l.serve(c.(*net.TCPConn))
	}
}

// open reports whether the port is still the one that is listened on.
func (l *streamListener) open(port net.Listener) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return !l.closed && l.port == port
}

func (l *streamListener) serve(socket *net.TCPConn) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed || len(l.conns) >= connsMax {
		breakOff(socket)
		return
	}
	c := &streamConn{listener: l, socket: socket, peer: newPeer(l.hostService, l.host.number())}
	c.peer.send, c.peer.hangUp = c.send, c.hangUp
	c.peer.own, c.peer.to = addressOf(socket.LocalAddr()), addressOf(socket.RemoteAddr())
	l.conns[c] = true
	c.peer.tap(ToDevice, EventOpen, message{to: c.peer.to})
	l.tasks.Add(1)
	go c.run()
	l.host.clock.At(l.host.clock.Now(), c.peer.open)
}

// changed closes the port while connections are to be refused, and opens it
// again afterwards.
func (l *streamListener) changed() {
	l.mu.Lock()
	defer l.mu.Unlock()
	refuse := l.impairments.Conditions().Refuse
	switch {
	case l.closed:
	case refuse && l.port != nil:
		_ = l.port.Close() // the port is given up either way
		l.port = nil
	case !refuse && l.port == nil && l.listen() != nil:
		l.tasks.Add(1)
		go l.relisten(&l.tasks, l.cancel, l.settled)
	}
}

// settled reports whether the port is open again or no longer wanted.
func (l *streamListener) settled() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.closed || l.port != nil || l.impairments.Conditions().Refuse || l.listen() == nil
}

func (l *streamListener) resetAll() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for c := range l.conns {
		c.end(ToController, EventReset)
		breakOff(c.socket)
		c.peer.cutOff()
	}
}

// Close implements Listener.
func (l *streamListener) Close() error {
	l.mu.Lock()
	if l.closed {
		l.mu.Unlock()
		return nil
	}
	l.closed = true
	l.host.settle(l.at, false)
	close(l.cancel)
	var err error
	if l.port != nil {
		err = l.port.Close()
	}
	for c := range l.conns {
		c.hangUp()
	}
	l.mu.Unlock()
	l.tasks.Wait()
	return err
}

// breakOff closes a socket by a reset.
func breakOff(socket *net.TCPConn) {
	// Both fail only on a socket that is closed already.
	_ = socket.SetLinger(0)
	_ = socket.Close()
}

// streamConn is the device's end of a connection.
type streamConn struct {
	listener *streamListener
	socket   *net.TCPConn
	peer     *peer
	ended    sync.Once
}

// end shows, once, how the connection ends.
func (c *streamConn) end(d Direction, how Event) {
	c.ended.Do(func() { c.peer.tap(d, how, message{to: c.peer.to}) })
}

// run reads requests until the connection ends.
func (c *streamConn) run() {
	defer c.listener.tasks.Done()
	defer c.forget()
	r := streamReader{framing: c.listener.Framing, timeout: c.listener.host.MessageTimeout}
	for {
		message, err := r.next(c.socket)
		if err != nil {
			if how, byPeer := peerEvent(err); byPeer {
				c.end(ToDevice, how)
			}
			return
		}
		c.peer.receive(message, c.peer.to)
	}
}

func (c *streamConn) forget() {
	c.hangUp()
	c.peer.stop()
	c.listener.mu.Lock()
	defer c.listener.mu.Unlock()
	delete(c.listener.conns, c)
}

// hangUp closes the socket, which ends run; it does not wait.
func (c *streamConn) hangUp() {
	c.end(ToController, EventClose)
	_ = c.socket.Close() // fails only when closed already
	c.peer.cutOff()
}

// send writes a reply. A peer that does not read in time loses its connection.
func (c *streamConn) send(r queued) error {
	err := c.socket.SetWriteDeadline(time.Now().Add(c.listener.host.MessageTimeout))
	if err == nil {
		_, err = c.socket.Write(r.bytes)
	}
	if err != nil {
		c.hangUp()
	}
	return err
}

// streamReader cuts what comes from a socket into messages.
type streamReader struct {
	framing Framing
	timeout time.Duration // for the rest of a message; 0 for any

	buffer     []byte
	start, end int  // what is read and not handed out yet
	waiting    bool // for the rest of a message
}

// next is the next message, valid until the next call.
func (r *streamReader) next(socket net.Conn) ([]byte, error) {
	for {
		if r.start < r.end {
			size, err := nextMessage(r.framing, r.buffer[r.start:r.end])
			if err != nil {
				return nil, err
			}
			if size > 0 {
				r.start += size
				return r.buffer[r.start-size : r.start : r.start], r.expect(socket, false)
			}
		}
		if err := r.expect(socket, r.start < r.end); err != nil {
			return nil, err
		}
		n, err := socket.Read(r.space())
		r.end += n
		if err != nil && n == 0 {
			return nil, err
		}
	}
}

// expect sets the time for the rest of a message when one has begun.
func (r *streamReader) expect(socket net.Conn, rest bool) error {
	if rest == r.waiting || r.timeout == 0 {
		return nil
	}
	r.waiting = rest
	if !rest {
		return socket.SetReadDeadline(time.Time{})
	}
	return socket.SetReadDeadline(time.Now().Add(r.timeout))
}

// space makes room behind what is buffered: 4 KiB at first, then up to twice
// MaxMessage, which nextMessage never lets fill.
func (r *streamReader) space() []byte {
	if r.start == r.end {
		r.start, r.end = 0, 0
	}
	if r.start > 0 {
		r.end = copy(r.buffer, r.buffer[r.start:r.end])
		r.start = 0
	}
	if r.end == len(r.buffer) {
		grown := make([]byte, max(4096, 2*len(r.buffer)))
		copy(grown, r.buffer)
		r.buffer = grown
	}
	return r.buffer[r.end:]
}
