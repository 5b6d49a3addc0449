package link

import (
	"net"
	"sync"
	"time"
)

// datagramListener serves UDP: one goroutine for all peers.
type datagramListener struct {
	*hostService
	peer   *peer
	tasks  sync.WaitGroup
	cancel chan struct{}

	mu     sync.Mutex // guards what follows; never held while waiting
	port   *net.UDPConn
	closed bool
}

func serveDatagrams(d *hostService) (Listener, error) {
	l := &datagramListener{hostService: d, cancel: make(chan struct{})}
	d.impairedBy(newImpairments(l.changed, nil), d.host.Seed, d.Name)
	l.peer = newPeer(d, d.host.number())
	l.peer.send, l.peer.hangUp = l.send, func() {}
	if d.Peer != (Endpoint{}) {
		to, err := net.ResolveUDPAddr("udp", d.Peer.Address)
		if err != nil {
			return nil, opError("dial", d.Peer, err)
		}
		l.peer.to = to.AddrPort()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.listen(); err != nil {
		return nil, err
	}
	d.at.Address = l.peer.own.String()
	d.host.settle(d.at, true)
	if d.Peer != (Endpoint{}) {
		d.host.clock.At(d.host.clock.Now(), l.peer.open)
	}
	return l, nil
}

// listen opens the port; l.mu is held.
func (l *datagramListener) listen() error {
	port, err := listenConfig().ListenPacket(background(), "udp", l.at.Address)
	if err != nil {
		return err
	}
	l.port = port.(*net.UDPConn)
	if !l.peer.own.IsValid() {
		l.peer.own = addressOf(port.LocalAddr())
	}
	l.tasks.Add(1)
	go l.run(l.port)
	return nil
}

// run reads requests until the port is closed.
func (l *datagramListener) run(port *net.UDPConn) {
	defer l.tasks.Done()
	buffer := make([]byte, MaxMessage)
	for {
		n, from, err := port.ReadFromUDPAddrPort(buffer)
		if err != nil {
			if l.current() != port {
				return
			}
			// A peer's port has answered that it is closed, or worse.
			l.host.pause(l.host.clock.Now()+time.Millisecond, l.cancel)
			continue
		}
		if n > 0 {
			l.peer.receive(buffer[:n], from)
		}
	}
}

func (l *datagramListener) current() *net.UDPConn {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return nil
	}
	return l.port
}

func (l *datagramListener) send(r queued) error {
	port := l.current()
	if port == nil {
		return net.ErrClosed
	}
	if err := port.SetWriteDeadline(time.Now().Add(l.host.MessageTimeout)); err != nil {
		return err
	}
	_, err := port.WriteToUDPAddrPort(r.bytes, r.to)
	return err
}

// changed closes the port while datagrams are to be refused.
func (l *datagramListener) changed() {
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
func (l *datagramListener) settled() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.closed || l.port != nil || l.impairments.Conditions().Refuse || l.listen() == nil
}

// Close implements Listener.
func (l *datagramListener) Close() error {
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
	l.mu.Unlock()
	l.tasks.Wait()
	l.peer.stop()
	return err
}
