package link_test

import (
	"bytes"
	"errors"
	"io"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

func TestFramings(t *testing.T) {
	for _, row := range []struct {
		name     string
		framing  link.Framing
		buffered []byte
		size     int
		err      error
	}{
		// "Modbus Messaging on TCP/IP Implementation Guide V1.0b", pages 22-23.
		{"whole request", link.ModbusTCP, request, 12, nil},
		{"request and more", link.ModbusTCP, append(bytes.Clone(request), 0x15), 12, nil},
		{"all but one byte", link.ModbusTCP, request[:11], 0, nil},
		{"length field cut", link.ModbusTCP, request[:5], 0, nil},
		// Bench rule: legal lengths are 2 to 254; a foreign protocol identifier
		// is for the device to discard (guide, page 29).
		{"length 0", link.ModbusTCP, []byte{0, 1, 0, 0, 0, 0}, 0, link.ErrFraming},
		{"length 1", link.ModbusTCP, []byte{0, 1, 0, 0, 0, 1}, 0, link.ErrFraming},
		{"length 2", link.ModbusTCP, []byte{0, 1, 0, 0, 0, 2, 1, 3}, 8, nil},
		{"length 254", link.ModbusTCP, append([]byte{0, 1, 0, 0, 0, 254}, make([]byte, 254)...),
			260, nil},
		{"length 255", link.ModbusTCP, []byte{0, 1, 0, 0, 0, 255}, 0, link.ErrFraming},
		{"length 258", link.ModbusTCP, []byte{0, 1, 0, 0, 1, 2}, 0, link.ErrFraming},
		{"foreign protocol", link.ModbusTCP, []byte{0, 1, 0, 9, 0, 2, 1, 3}, 8, nil},
		// A message unit ends in a line feed (IEEE 488.2, 7.5; from memory).
		{"line", link.Line, []byte("*IDN?\n*ESR?\n"), 6, nil},
		{"line of NMEA", link.Line, []byte("$WIMWV*\r\n"), 9, nil},
		{"no line yet", link.Line, []byte("*IDN?"), 0, nil},
		{"longest line", link.Line, append(make([]byte, 4095), '\n'), 4096, nil},
		{"endless line", link.Line, make([]byte, 4096), 0, link.ErrFraming},
		{"datagram", link.SNMPDatagram, []byte{0x30, 0}, 2, nil},
	} {
		size, err := row.framing(row.buffered)
		if size != row.size || !errors.Is(err, row.err) {
			t.Errorf("%s: %d, %v; want %d, %v", row.name, size, err, row.size, row.err)
		}
	}
}

// checkFraming holds a framing to what the networks rely on.
func checkFraming(t *testing.T, name string, f link.Framing, b []byte) {
	t.Helper()
	size, err := f(b)
	if size < 0 || size > len(b) || err != nil && size != 0 {
		t.Errorf("%s: %d of %d bytes, %v", name, size, len(b), err)
	}
	if size == 0 {
		return
	}
	if again, err := f(b[:size]); again != size || err != nil {
		t.Errorf("%s: the message alone gives %d, %v; want %d", name, again, err, size)
	}
	for cut := 1; cut < size; cut++ {
		if early, err := f(b[:cut]); early != 0 || err != nil {
			t.Errorf("%s: its first %d bytes give %d, %v; want to wait", name, cut, early, err)
		}
	}
}

func FuzzFraming(f *testing.F) {
	f.Add(request)
	f.Add([]byte("*IDN?\n"))
	f.Add(bytes.Repeat([]byte{0xff}, 300))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) == 0 {
			return
		}
		checkFraming(t, "Modbus TCP", link.ModbusTCP, b)
		checkFraming(t, "line", link.Line, b)
		if size, err := link.SNMPDatagram(b); size != len(b) || err != nil {
			t.Errorf("datagram: %d of %d, %v", size, len(b), err)
		}
	})
}

// messagesOf cuts a whole stream at once, as the rules say.
func messagesOf(b []byte) (messages [][]byte, end error) {
	for len(b) > 0 {
		size, err := link.ModbusTCP(b)
		if err != nil || size == 0 {
			return messages, err
		}
		messages, b = append(messages, b[:size]), b[size:]
	}
	return messages, nil
}

// FuzzStream sends any bytes in any pieces: the replies do not depend on the
// pieces, and the connection ends when, and only when, framing is lost.
func FuzzStream(f *testing.F) {
	f.Add(append(bytes.Clone(request), request...), uint8(5))
	f.Add(append(bytes.Clone(request), 0, 0, 0, 0, 0, 0), uint8(200))
	f.Add(request[:8], uint8(1))
	f.Fuzz(func(t *testing.T, b []byte, piece uint8) {
		v := clock.NewVirtual()
		defer v.Close()
		n := link.NewMemory(v)
		w := newWorld(t, v, n, &packets{})
		c := w.dial(w.serve("tcp"))
		want, end := messagesOf(b)
		w.process(func(p clock.Process) {
			for rest := b; len(rest) > 0; {
				size := min(max(int(piece), 1), len(rest))
				w.write(c, rest[:size])
				rest = rest[size:]
			}
			for _, m := range want[:min(len(want), 1000)] {
				w.wantReply(p, c, m)
			}
			if len(want) > 1000 {
				return
			}
			_, err := c.Read(p, p.Now()+time.Second)
			if errors.Is(end, link.ErrFraming) != errors.Is(err, io.EOF) {
				t.Errorf("ended by %v, want %v", err, end)
			}
		})
	})
}
