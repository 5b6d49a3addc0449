package link_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/netip"
	"slices"
	"testing"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// story is what the tap tells of each stream or datagram, in words: who sends what.
// The device's port is known, the controller's is whatever the packets say at first.
func story(t *testing.T, all []link.Packet, device string) (told []string) {
	t.Helper()
	at := netip.MustParseAddrPort(device)
	controllers := map[int]netip.AddrPort{}
	for _, k := range all {
		controller, who := k.Source, "controller"
		if k.Direction == link.ToController {
			controller, who = k.Destination, "device"
			if k.Source != at {
				t.Errorf("a packet of the device comes from %v, want %v", k.Source, at)
			}
		} else if k.Destination != at {
			t.Errorf("a packet to the device goes to %v, want %v", k.Destination, at)
		}
		if before, known := controllers[k.Connection]; known && before != controller {
			t.Errorf("connection %d: controller %v, before %v", k.Connection, controller, before)
		}
		if controller.Addr() != at.Addr() || controller.Port() == 0 || controller == at {
			t.Errorf("controller at %v", controller)
		}
		controllers[k.Connection] = controller
		told = append(told, fmt.Sprint(k.Connection, " ", who, " ", k.Event))
	}
	seen := map[netip.AddrPort]bool{}
	for _, c := range controllers {
		if seen[c] {
			t.Errorf("two connections from %v", c)
		}
		seen[c] = true
	}
	return told
}

// wantStory waits until the tap has told as much as is wanted.
func (w world) wantStory(device string, want ...string) {
	w.t.Helper()
	w.clock.Run(w.clock.Now()+patience, func() bool {
		return len(w.packets.everything()) >= len(want)
	})
	w.clock.Run(w.clock.Now()+silence, nil)
	if got := story(w.t, w.packets.everything(), device); !slices.Equal(got, want) {
		w.t.Errorf("the tap tells %q, want %q", got, want)
	}
}

func (w world) exchange(c link.Conn, n byte) {
	w.t.Helper()
	w.process(func(p clock.Process) {
		w.write(c, numbered(n))
		w.wantReply(p, c, numbered(n))
	})
}

func TestTap_StreamsOpenAndCloseOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		a, b := w.dial(l), w.dial(l)
		w.exchange(a, 1)
		w.exchange(b, 2)
		// Which of two dialled at once is accepted first is the system's business.
		w.clock.Run(w.clock.Now()+silence, nil)
		all := w.packets.everything()
		slices.SortStableFunc(all, func(a, b link.Packet) int { return a.Connection - b.Connection })
		want := []string{"1 controller open", "1 controller message", "1 device message",
			"2 controller open", "2 controller message", "2 device message"}
		if got := story(t, all, l.Endpoint().Address); !slices.Equal(got, want) {
			t.Errorf("the tap tells %q, want %q", got, want)
		}
	})
}

func TestTap_TellsHowAStreamEnds(t *testing.T) {
	for name, row := range map[string]struct {
		end  func(w world, l link.Listener, c link.Conn)
		want string
	}{
		"controller closes": {func(_ world, _ link.Listener, c link.Conn) { _ = c.Close() },
			"1 controller close"},
		"device closes": {func(_ world, l link.Listener, _ link.Conn) { _ = l.Close() },
			"1 device close"},
		"device resets": {func(_ world, l link.Listener, _ link.Conn) { l.Impairments().Reset() },
			"1 device reset"},
		"controller resets": {func(w world, _ link.Listener, _ link.Conn) {
			w.dialer.Impairments().Reset()
		}, "1 controller reset"},
		"controller sends no message": {func(w world, _ link.Listener, c link.Conn) {
			w.write(c, []byte{0, 1, 0, 0, 0, 0})
		}, "1 device close"},
	} {
		t.Run(name, func(t *testing.T) {
			onBoth(t, func(t *testing.T, w world) {
				l := w.serve("tcp")
				c := w.dial(l)
				w.exchange(c, 1)
				row.end(w, l, c)
				want := []string{"1 controller open", "1 controller message", "1 device message",
					row.want}
				w.clock.Run(w.clock.Now()+silence, nil)
				_, host := w.net.(*link.Host)
				if name == "controller sends no message" && !host {
					// The framing of Host finds nothing in it to deliver.
					want = slices.Insert(want, 3, "1 controller message")
				}
				w.wantStory(l.Endpoint().Address, want...)
				_ = c.Close() // which tells nothing more
				w.wantStory(l.Endpoint().Address, want...)
			})
		})
	}
}

// A refused attempt, and a stream whose end the other end never hears of, tell nothing.
func TestTap_TellsNoMoreThanWasHeard(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		l.Impairments().Change(func(c *link.Conditions) { c.Refuse = true })
		if c, err := w.dialer.Dial(l.Endpoint(), link.ModbusTCP); err == nil {
			_ = c.Close()
			t.Fatal("connected")
		}
		w.wantStory(l.Endpoint().Address)
	})
}

func TestTap_Datagrams(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		w.exchange(w.dial(l), 1)
		w.wantStory(l.Endpoint().Address, "1 controller message", "1 device message")
	})
}

// A device elsewhere shows the tap nothing; the client's end does.
func TestTap_DevicesElsewhere(t *testing.T) {
	port, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = port.Close() }()
	ended := make(chan error, 1)
	go func() {
		c, err := port.Accept()
		if err == nil {
			_, err = io.CopyN(c, c, int64(len(request)))
			_ = c.Close()
		}
		ended <- err
	}()
	c := clock.NewWall()
	defer c.Close()
	n, seen := link.NewHost(c), &packets{}
	n.Tap = seen.tap
	w := newWorld(t, c, n, seen)
	e := link.Endpoint{Network: "tcp", Address: port.Addr().String()}
	conn, err := w.dialer.Dial(e, link.ModbusTCP)
	if err != nil {
		t.Fatal(err)
	}
	w.exchange(conn, 1)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	w.process(func(p clock.Process) { w.wantError(p, conn, patience, io.EOF) })
	_ = conn.Close()
	w.wantStory(e.Address, "1 controller open", "1 controller message", "1 device message",
		"1 device close")
	for _, k := range seen.everything() {
		if k.Service != "controller" {
			t.Errorf("shown by %q, want the client", k.Service)
		}
		if k.Event == link.EventMessage && !bytes.Equal(k.Bytes, numbered(1)) {
			t.Errorf("shown % x", k.Bytes)
		}
	}
}

// In memory nobody looks up a name, so that every packet has addresses.
func TestMemoryKnowsNoNames(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	n := link.NewMemory(v)
	e := link.Endpoint{Network: "tcp", Address: "encoder:502"}
	if _, err := n.Serve(link.Service{Endpoint: e}); err == nil {
		t.Error("a name is served")
	}
	if _, err := n.Dial(e, link.ModbusTCP); err == nil {
		t.Error("a name is dialled")
	}
}
