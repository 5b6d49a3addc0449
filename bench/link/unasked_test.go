package link_test

import (
	"bytes"
	"net/netip"
	"os"
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// clerk keeps what it hears, answers nothing, and hands on when it heard it.
type clerk struct {
	clock clock.Clock
	heard *[][]byte
	at    *[]time.Duration
}

func (c clerk) Respond(dst, b []byte) []byte {
	*c.heard = append(*c.heard, bytes.Clone(b))
	*c.at = append(*c.at, c.clock.Now())
	return dst
}

// speaker is a beacon on datagrams, for a configured peer or for who has asked.
func (w world) speaker(peer link.Endpoint) link.Listener {
	w.t.Helper()
	l, err := w.net.Serve(link.Service{
		Name: "speaker", Endpoint: link.Endpoint{Network: "udp", Address: "127.0.0.1:0"},
		Framing: link.SNMPDatagram, Peer: peer, Open: func() link.Session { return &beacon{} },
	})
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(func() { _ = l.Close() })
	return l
}

func TestDatagrams_UnaskedToAPeer(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		var heard [][]byte
		var at []time.Duration
		collector := w.serveSession("udp", func() link.Session { return clerk{w.clock, &heard, &at} })
		l := w.speaker(collector.Endpoint())
		start := w.clock.Now()
		w.clock.Run(start+patience, func() bool { return len(heard) >= 5 })
		_ = l.Close()
		for n := range 5 {
			if !bytes.Equal(heard[n], numbered(byte(n))) {
				t.Errorf("heard % x as the %d. word", heard[n], n+1)
			}
			// A word each millisecond, each 50 us on its way.
			want := time.Duration(n)*time.Millisecond + 50*time.Microsecond
			if _, exact := w.clock.(*clock.Virtual); exact && at[n]-start != want {
				t.Errorf("word %d came after %v, want %v", n, at[n]-start, want)
			}
		}
		from, to := netip.MustParseAddrPort(l.Endpoint().Address),
			netip.MustParseAddrPort(collector.Endpoint().Address)
		for _, k := range w.packets.everything() {
			if k.Source != from || k.Destination != to || k.Service != "device" {
				t.Errorf("the tap shows %v to %v by %s; want %v to %v, once, by the receiver",
					k.Source, k.Destination, k.Service, from, to)
			}
		}
		if n := len(w.packets.everything()); n != len(heard) {
			t.Errorf("the tap shows %d datagrams of %d", n, len(heard))
		}
	})
}

// Without a peer a device talks to nobody before it was asked, then to who asked last.
func TestDatagrams_UnaskedToWhoAskedLast(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.speaker(link.Endpoint{})
		a, b := w.dial(l), w.dial(l)
		w.process(func(p clock.Process) { w.wantError(p, a, silence, os.ErrDeadlineExceeded) })
		for _, c := range []link.Conn{a, b, a} {
			w.process(func(p clock.Process) {
				for { // what was under way to it from before
					if _, err := c.Read(p, p.Now()); err != nil {
						break
					}
				}
				w.write(c, with(request, 9, 99))
				words := 0
				for words < 5 {
					got, err := c.Read(p, p.Now()+patience)
					if err != nil {
						t.Fatal(err)
					}
					if got[9] != 99 {
						words++
					}
				}
			})
		}
		w.process(func(p clock.Process) {
			words := 0 // from before the other one asked
			for {
				if _, err := b.Read(p, p.Now()+silence); err != nil {
					break
				}
				words++
			}
			if long := int(silence / time.Millisecond); words > long {
				t.Errorf("who asked before hears %d words", words)
			}
		})
	})
}

// The impairments of both services count for what is said unasked.
func TestDatagrams_UnaskedUnderImpairments(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		var heard [][]byte
		var at []time.Duration
		collector := w.serveSession("udp", func() link.Session { return clerk{w.clock, &heard, &at} })
		l := w.speaker(collector.Endpoint())
		more := func() bool {
			w.clock.Run(w.clock.Now()+silence, nil) // what is under way
			var before, after int
			w.clock.Do(func() { before = len(heard) })
			w.clock.Run(w.clock.Now()+silence, nil)
			w.clock.Do(func() { after = len(heard) })
			return after > before
		}
		for name, ill := range map[string]struct {
			listener link.Listener
			edit     func(*link.Conditions)
		}{
			"speaker silent":   {l, func(c *link.Conditions) { c.ToController.Silent = true }},
			"speaker pulled":   {l, func(c *link.Conditions) { c.Pulled = true }},
			"speaker refuses":  {l, func(c *link.Conditions) { c.Refuse = true }},
			"receiver silent":  {collector, func(c *link.Conditions) { c.ToDevice.Silent = true }},
			"receiver refuses": {collector, func(c *link.Conditions) { c.Refuse = true }},
		} {
			ill.listener.Impairments().Change(ill.edit)
			if more() {
				t.Errorf("%s: it is heard", name)
			}
			remove(ill.listener.Impairments())
			if !more() {
				t.Errorf("%s: it is not heard afterwards", name)
			}
		}
	})
}

// A peer may answer, and is answered: what comes back to the device is a request.
func TestDatagrams_PeerAnswers(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		var heard [][]byte
		var at []time.Duration
		peer := w.serve("udp") // a echo
		first := &once{clerk{w.clock, &heard, &at}}
		l, err := w.net.Serve(link.Service{
			Name: "speaker", Endpoint: link.Endpoint{Network: "udp", Address: "127.0.0.1:0"},
			Framing: link.SNMPDatagram, Peer: peer.Endpoint(),
			Open: func() link.Session { return first },
		})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = l.Close() })
		w.clock.Run(w.clock.Now()+patience, func() bool { return len(heard) > 0 })
		w.clock.Run(w.clock.Now()+silence, nil)
		if len(heard) != 1 || !bytes.Equal(heard[0], request) {
			t.Errorf("the device heard % x, want its own word once", heard)
		}
		var services []string
		for _, k := range w.packets.everything() {
			services = append(services, k.Service)
		}
		if !slices.Equal(services, []string{"device", "speaker"}) {
			t.Errorf("shown by %q, want each datagram once by who receives it", services)
		}
	})
}

// once says one word.
type once struct{ clerk }

func (*once) Emit(time.Duration) ([]byte, time.Duration) { return request, 0 }

func TestDatagrams_PeerOfAStreamIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		_, err := w.net.Serve(link.Service{
			Endpoint: link.Endpoint{Network: "tcp", Address: "127.0.0.1:0"},
			Peer:     link.Endpoint{Network: "udp", Address: "127.0.0.1:9"},
		})
		if err == nil {
			t.Error("a stream service has a peer")
		}
	})
}
