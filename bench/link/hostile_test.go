package link_test

import (
	"bytes"
	"errors"
	"io"
	"net"
	"runtime"
	"sync"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// host is a echo on a real port, and a check that nothing is left of it.
func host(t *testing.T, network string) (*clock.Wall, link.Listener) {
	t.Helper()
	before := runtime.NumGoroutine()
	w := clock.NewWall()
	n := link.NewHost(w)
	n.MessageTimeout = silence
	l := newWorld(t, w, n, &packets{}).serve(network)
	t.Cleanup(func() {
		if err := l.Close(); err != nil {
			t.Error(err)
		}
		w.Close()
		wantGoroutines(t, before)
	})
	return w, l
}

// wantGoroutines gives goroutines that have nothing left to do the time to end.
func wantGoroutines(t *testing.T, want int) {
	t.Helper()
	for range 10_000_000 {
		if runtime.NumGoroutine() <= want {
			return
		}
		runtime.Gosched()
	}
	stacks := make([]byte, 1<<20)
	t.Errorf("%d goroutines, want %d\n%s", runtime.NumGoroutine(), want,
		stacks[:runtime.Stack(stacks, true)])
}

func connect(t *testing.T, l link.Listener) net.Conn {
	t.Helper()
	c, err := net.Dial(l.Endpoint().Network, l.Endpoint().Address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	return c
}

// wantEcho checks that the service still serves.
func wantEcho(t *testing.T, l link.Listener) {
	t.Helper()
	c := connect(t, l)
	if _, err := c.Write(request); err != nil {
		t.Fatal(err)
	}
	got := make([]byte, len(request))
	if _, err := io.ReadFull(c, got); err != nil || !bytes.Equal(got, request) {
		t.Fatalf("read % x, %v; want % x", got, err, request)
	}
	_ = c.Close()
}

func TestHostBearsHostilePeers(t *testing.T) {
	for name, attack := range map[string]func(*testing.T, net.Conn){
		"says nothing": func(*testing.T, net.Conn) {},
		"leaves at once": func(_ *testing.T, c net.Conn) {
			_ = c.Close()
		},
		"breaks off within a message": func(_ *testing.T, c net.Conn) {
			_, _ = c.Write(request[:9])
			_ = c.(*net.TCPConn).SetLinger(0)
			_ = c.Close()
		},
		"stalls within a message": func(t *testing.T, c net.Conn) {
			_, _ = c.Write(request[:9])
			wantHangUp(t, c)
		},
		"half closes": func(t *testing.T, c net.Conn) {
			_, _ = c.Write(request)
			_ = c.(*net.TCPConn).CloseWrite()
			wantHangUp(t, c)
		},
		"sends no messages": func(t *testing.T, c net.Conn) {
			_, _ = c.Write(bytes.Repeat([]byte{0xff}, 1<<20))
			wantHangUp(t, c)
		},
		"never reads": func(t *testing.T, c net.Conn) {
			many := bytes.Repeat(largest(), 1000)
			for {
				if _, err := c.Write(many); err != nil {
					return // the device has given up
				}
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			_, l := host(t, "tcp")
			attack(t, connect(t, l))
			wantEcho(t, l)
		})
	}
}

// wantHangUp reads until the device ends the connection.
func wantHangUp(t *testing.T, c net.Conn) {
	t.Helper()
	if _, err := io.Copy(io.Discard, c); err != nil {
		t.Logf("ended by %v", err) // a reset does as well
	}
}

// More connections than a service bears are broken off; those that leave make
// room.
func TestHostBoundsConnections(t *testing.T) {
	_, l := host(t, "tcp")
	var conns []net.Conn
	for range 256 {
		c := connect(t, l)
		conns = append(conns, c)
		_, _ = c.Write(request)
		if _, err := io.ReadFull(c, make([]byte, len(request))); err != nil {
			t.Fatal(err)
		}
	}
	// Broken off so soon that even connecting may fail.
	if c, err := net.Dial("tcp", l.Endpoint().Address); err == nil {
		wantHangUp(t, c)
		_ = c.Close()
	}
	for _, c := range conns {
		_, _ = c.Write([]byte("no message"))
		wantHangUp(t, c)
	}
	for ok := false; !ok; { // until the device has noticed
		c, err := net.Dial("tcp", l.Endpoint().Address)
		if err != nil {
			continue
		}
		_, _ = c.Write(request)
		_, err = io.ReadFull(c, make([]byte, len(request)))
		ok = err == nil
		_ = c.Close()
	}
}

func TestHostBearsDatagrams(t *testing.T) {
	_, l := host(t, "udp")
	c := connect(t, l)
	for _, size := range []int{0, 1, 1472, 65507} {
		if _, err := c.Write(make([]byte, size)); err != nil {
			t.Fatal(err)
		}
	}
	got := make([]byte, link.MaxMessage)
	for _, want := range []int{1, 1472, 65507} { // the empty one is no message
		if n, err := c.Read(got); n != want || err != nil {
			t.Fatalf("read %d bytes, %v; want %d", n, err, want)
		}
	}
}

// Faults come and go while peers talk, stall and leave; nothing waits for them.
func TestChangingImpairmentsNeverWaits(t *testing.T) {
	_, l := host(t, "tcp")
	stalled := connect(t, l)
	_, _ = stalled.Write(request[:9])
	var talkers sync.WaitGroup
	for range 4 {
		talkers.Go(func() {
			for range 50 {
				c, err := net.Dial("tcp", l.Endpoint().Address)
				if err != nil {
					continue
				}
				_, _ = c.Write(request)
				_ = c.Close()
			}
		})
	}
	for n := range 300 {
		l.Impairments().Change(func(c *link.Conditions) {
			c.Refuse, c.Pulled, c.ToDevice.Silent = n%3 == 0, n%5 == 0, n%2 == 0
			c.ToController.Delay = patience
		})
		l.Impairments().Reset()
	}
	talkers.Wait()
	remove(l.Impairments())
	for { // the port may have to be won back
		if c, err := net.Dial("tcp", l.Endpoint().Address); err == nil {
			_ = c.Close()
			break
		}
		runtime.Gosched()
	}
	wantEcho(t, l)
}

// device is a hand-driven peer for the controller's end.
func device(t *testing.T, serve func(net.Conn)) (*clock.Wall, link.Conn) {
	t.Helper()
	before := runtime.NumGoroutine()
	port, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	var served sync.WaitGroup
	served.Go(func() {
		if c, err := port.Accept(); err == nil {
			serve(c)
			_ = c.Close()
		}
	})
	w := clock.NewWall()
	c, err := link.NewHost(w).Dial(
		link.Endpoint{Network: "tcp", Address: port.Addr().String()}, link.ModbusTCP)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
		if err := c.Close(); !errors.Is(err, net.ErrClosed) {
			t.Errorf("closing twice: %v", err)
		}
		_ = port.Close()
		served.Wait()
		w.Close()
		wantGoroutines(t, before)
	})
	return w, c
}

func TestControllerBearsHostileDevices(t *testing.T) {
	for name, row := range map[string]struct {
		serve func(net.Conn)
		want  error
	}{
		"leaves at once":           {func(net.Conn) {}, io.EOF},
		"leaves within a message":  {func(c net.Conn) { _, _ = c.Write(request[:9]) }, io.EOF},
		"sends no messages":        {func(c net.Conn) { flood(c, 0xff) }, link.ErrFraming},
		"claims an endless length": {func(c net.Conn) { flood(c, 0x01) }, link.ErrFraming},
	} {
		t.Run(name, func(t *testing.T) {
			w, c := device(t, row.serve)
			v := world{t: t, clock: w}
			v.process(func(p clock.Process) {
				v.wantError(p, c, patience, row.want)
				v.wantError(p, c, patience, row.want) // and it stays so
			})
		})
	}
}

// largest is the largest message that the framing admits.
func largest() []byte { return append([]byte{0, 1, 0, 0, 0, 254}, make([]byte, 254)...) }

func flood(c net.Conn, b byte) {
	for {
		if _, err := c.Write(bytes.Repeat([]byte{b}, 4096)); err != nil {
			return
		}
	}
}

// A device that sends more than is read fills bounded buffers, and then has to
// wait.
func TestControllerNeedNotRead(t *testing.T) {
	const far = 64 << 20 // beyond what systems buffer for a socket
	stuck := make(chan bool, 1)
	_, _ = device(t, func(c net.Conn) {
		many := bytes.Repeat(largest(), 50)
		for sent := 0; sent < far; sent += len(many) {
			_ = c.SetWriteDeadline(time.Now().Add(time.Second))
			if _, err := c.Write(many); err != nil {
				stuck <- true
				return
			}
		}
		stuck <- false
	})
	if !<-stuck {
		t.Errorf("%d bytes are buffered for a controller that does not read", far)
	}
}

// A device that never reads costs the controller its connection, not its time.
func TestControllerNeverWaitsToWrite(t *testing.T) {
	done := make(chan struct{})
	w, c := device(t, func(net.Conn) { <-done })
	v := world{t: t, clock: w}
	v.process(func(p clock.Process) {
		for c.Write(make([]byte, 32<<10)) == nil {
		}
		if _, err := c.Read(p, p.Now()+patience); err == nil {
			t.Error("reading from a lost connection succeeds")
		}
	})
	close(done)
}
