package link_test

import (
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// echo answers a request with itself.
type echo struct{}

func (echo) Respond(dst, request []byte) []byte { return append(dst, request...) }

// request reads one register ("Modbus Messaging on TCP/IP Implementation
// Guide V1.0b", pages 22-23).
var request = []byte{0x15, 0x01, 0, 0, 0, 6, 0xff, 3, 0, 4, 0, 1}

// exchanger runs one exchange a millisecond on a virtual clock.
func exchanger(tb testing.TB) (step func()) {
	v := clock.NewVirtual()
	net := link.NewMemory(v)
	e := link.Endpoint{Network: "tcp", Address: "127.0.0.1:15001"}
	_, err := net.Serve(link.Service{
		Name: "echo", Endpoint: e, Framing: link.ModbusTCP,
		Open:    func() link.Session { return echo{} },
		Advance: func(time.Duration) {},
	})
	if err != nil {
		tb.Fatal(err)
	}
	c, err := net.Dial(e, link.ModbusTCP)
	if err != nil {
		tb.Fatal(err)
	}
	replies := 0
	v.Group("controller").Start("poll", func(p clock.Process) {
		for {
			if err := c.Write(request); err != nil {
				tb.Error(err)
			}
			if _, err := c.Read(p, p.Now()+10*time.Millisecond); err != nil {
				tb.Error(err)
			}
			replies++
		}
	})
	tb.Cleanup(v.Close)
	at := time.Duration(0)
	return func() {
		want := replies + 1
		for replies < want {
			at += 100 * time.Microsecond
			v.Run(at, nil)
		}
	}
}

func BenchmarkMemoryExchange(b *testing.B) {
	step := exchanger(b)
	step()
	b.ReportAllocs()
	for b.Loop() {
		step()
	}
}

func TestMemoryExchangeAllocatesNothing(t *testing.T) {
	step := exchanger(t)
	for range 100 {
		step()
	}
	if n := testing.AllocsPerRun(1000, step); n != 0 {
		t.Errorf("an exchange allocates %v times, want 0", n)
	}
}
