package link_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// patience is long enough that no healthy machine misses it, and costs time
// only where a test fails; silence is how long a test listens to nothing.
const (
	patience = 20 * time.Second
	silence  = 30 * time.Millisecond
)

// world is one clock with one network on it.
type world struct {
	t       *testing.T
	clock   clock.Clock
	net     link.Network
	dialer  link.Dialer
	packets *packets
	client  bool // impair the client's end, not the device's
}

func newWorld(t *testing.T, c clock.Clock, n link.Network, seen *packets) world {
	return world{t: t, clock: c, net: n, packets: seen,
		dialer: n.Dialer(link.Client{Name: "controller"})}
}

// impaired is the end of the wire that a test impairs.
func (w world) impaired(l link.Listener) *link.Impairments {
	if w.client {
		return w.dialer.Impairments()
	}
	return l.Impairments()
}

// packets is what the tap saw.
type packets struct {
	mu  sync.Mutex
	all []link.Packet
}

func (p *packets) tap(k link.Packet) {
	k.Bytes = bytes.Clone(k.Bytes)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.all = append(p.all, k)
}

// seen are the messages among them.
func (p *packets) seen() []link.Packet {
	return slices.DeleteFunc(p.everything(), func(k link.Packet) bool {
		return k.Event != link.EventMessage
	})
}

func (p *packets) everything() []link.Packet {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.all)
}

// onBoth runs one test on the virtual clock in memory, on the wall clock in
// memory, and on the wall clock over loopback.
func onBoth(t *testing.T, test func(*testing.T, world)) {
	memory := func(c clock.Clock) (link.Network, *packets) {
		n, seen := link.NewMemory(c), &packets{}
		n.Tap, n.Seed = seen.tap, 7
		return n, seen
	}
	t.Run("virtual", func(t *testing.T) {
		v := clock.NewVirtual()
		defer v.Close()
		n, seen := memory(v)
		test(t, newWorld(t, v, n, seen))
	})
	t.Run("wall in memory", func(t *testing.T) {
		w := clock.NewWall()
		defer w.Close()
		n, seen := memory(w)
		test(t, newWorld(t, w, n, seen))
	})
	t.Run("wall on host", func(t *testing.T) {
		w := clock.NewWall()
		defer w.Close()
		n, seen := link.NewHost(w), &packets{}
		n.Tap, n.Seed = seen.tap, 7
		test(t, newWorld(t, w, n, seen))
	})
}

// onBothEnds runs one test for impairments at the device's end and at the client's.
func onBothEnds(t *testing.T, test func(*testing.T, world)) {
	for _, client := range []bool{false, true} {
		t.Run(map[bool]string{false: "device", true: "client"}[client], func(t *testing.T) {
			onBoth(t, func(t *testing.T, w world) {
				w.client = client
				test(t, w)
			})
		})
	}
}

// serve puts a echo on a free port.
func (w world) serve(network string) link.Listener {
	w.t.Helper()
	return w.serveSession(network, func() link.Session { return echo{} })
}

func (w world) serveSession(network string, open func() link.Session) link.Listener {
	w.t.Helper()
	framing := link.ModbusTCP
	if network == "udp" {
		framing = link.SNMPDatagram
	}
	l, err := w.net.Serve(link.Service{
		Name: "device", Endpoint: link.Endpoint{Network: network, Address: "127.0.0.1:0"},
		Framing: framing, Open: open,
	})
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(func() { _ = l.Close() })
	return l
}

func (w world) dial(l link.Listener) link.Conn {
	w.t.Helper()
	framing := link.ModbusTCP
	if l.Endpoint().Network == "udp" {
		framing = link.SNMPDatagram
	}
	c, err := w.dialer.Dial(l.Endpoint(), framing)
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(func() { _ = c.Close() })
	return c
}

// process runs body as a process to its end.
func (w world) process(body func(p clock.Process)) {
	w.t.Helper()
	ended := false
	g := w.clock.Group("controller")
	g.Start("test", func(p clock.Process) {
		defer func() { ended = true }()
		body(p)
	})
	in := w.clock.Run(w.clock.Now()+2*patience, func() bool { return ended })
	g.Stop() // which ends it too
	if !in {
		w.t.Fatal("the process did not end by itself")
	}
}

func (w world) write(c link.Conn, message []byte) {
	w.t.Helper()
	if err := c.Write(message); err != nil {
		w.t.Errorf("write: %v", err)
	}
}

// wantReply fails unless the next message is the given one.
func (w world) wantReply(p clock.Process, c link.Conn, want []byte) {
	w.t.Helper()
	got, err := c.Read(p, p.Now()+patience)
	if err != nil || !bytes.Equal(got, want) {
		w.t.Errorf("read % x, %v; want % x", got, err, want)
	}
}

// wantError fails unless reading until the deadline gives the error.
func (w world) wantError(p clock.Process, c link.Conn, wait time.Duration, want error) {
	w.t.Helper()
	got, err := c.Read(p, p.Now()+wait)
	if !errors.Is(err, want) {
		w.t.Errorf("read % x, %v; want %v", got, err, want)
	}
}

func numbered(n byte) []byte {
	b := bytes.Clone(request)
	b[1] = n
	return b
}

func TestExchange(t *testing.T) {
	for _, network := range []string{"tcp", "udp"} {
		t.Run(network, func(t *testing.T) {
			onBoth(t, func(t *testing.T, w world) {
				c := w.dial(w.serve(network))
				w.process(func(p clock.Process) {
					for n := range byte(20) {
						w.write(c, numbered(n))
						w.wantReply(p, c, numbered(n))
					}
				})
				if n := len(w.packets.seen()); n != 40 {
					t.Errorf("the tap saw %d packets, want 40", n)
				}
			})
		})
	}
}

// Several requests may be under way, answered in order ("Modbus Messaging on
// TCP/IP Implementation Guide V1.0b": 1 to 16 outstanding).
func TestRequestsMayOverlap(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		c := w.dial(w.serve("tcp"))
		w.process(func(p clock.Process) {
			for n := range byte(16) {
				w.write(c, numbered(n))
			}
			for n := range byte(16) {
				w.wantReply(p, c, numbered(n))
			}
		})
	})
}

// Split/merge tests of the bench rules: one byte at a time gives the same
// reply; two requests in one segment give two replies.
func TestSplitAndMergedRequests(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		c := w.dial(w.serve("tcp"))
		w.process(func(p clock.Process) {
			for i := range request {
				w.write(c, request[i:i+1])
			}
			w.wantReply(p, c, request)
			w.write(c, append(numbered(1), numbered(2)...))
			w.wantReply(p, c, numbered(1))
			w.wantReply(p, c, numbered(2))
		})
	})
}

// Length 0, 1 or more than 254: close the connection, send nothing.
func TestLostFramingEndsTheConnection(t *testing.T) {
	for _, length := range [][2]byte{{0, 0}, {0, 1}, {0, 255}, {0xff, 0xff}} {
		onBoth(t, func(t *testing.T, w world) {
			c := w.dial(w.serve("tcp"))
			w.process(func(p clock.Process) {
				bad := bytes.Clone(request[:6])
				bad[4], bad[5] = length[0], length[1]
				w.write(c, bad)
				w.wantError(p, c, patience, io.EOF)
			})
		})
	}
}

func TestTimeoutCostsItsTime(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		c := w.dial(w.serve("tcp"))
		w.process(func(p clock.Process) {
			before := p.Now()
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
			if took := p.Now() - before; took < silence {
				t.Errorf("timed out after %v, want at least %v", took, silence)
			}
			w.write(c, request) // the connection lives on
			w.wantReply(p, c, request)
		})
	})
}

func TestDialClosedPort(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		e := l.Endpoint()
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := w.net.Dial(e, link.ModbusTCP); !errors.Is(err, syscall.ECONNREFUSED) {
			t.Errorf("dial: %v, want connection refused", err)
		}
	})
}

func TestDatagramToClosedPort(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantError(p, c, patience, syscall.ECONNREFUSED)
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
		})
	})
}

func TestServiceCloseEndsConnections(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		w.process(func(p clock.Process) { w.wantError(p, c, patience, io.EOF) })
	})
}

// silent takes notifications.
type silent struct{ got *[][]byte }

func (s silent) Respond(dst, request []byte) []byte {
	*s.got = append(*s.got, bytes.Clone(request))
	return dst
}

func TestSilentServiceReceives(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		var got [][]byte
		c := w.dial(w.serveSession("udp", func() link.Session { return silent{&got} }))
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
		})
		w.clock.Run(w.clock.Now()+patience, func() bool { return len(got) > 0 })
		if len(got) != 1 || !bytes.Equal(got[0], request) {
			t.Errorf("received % x, want % x", got, request)
		}
	})
}

// A session belongs to its connection.
func TestOneSessionPerConnection(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		opened := 0
		l := w.serveSession("tcp", func() link.Session { opened++; return echo{} })
		a, b := w.dial(l), w.dial(l)
		w.process(func(p clock.Process) {
			for _, c := range []link.Conn{a, b, a} {
				w.write(c, request)
				w.wantReply(p, c, request)
			}
		})
		w.clock.Do(func() {
			if opened != 2 {
				t.Errorf("%d sessions opened, want 2", opened)
			}
		})
	})
}
