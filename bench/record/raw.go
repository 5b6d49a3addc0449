package record

import (
	"encoding/binary"
	"hash/crc32"
	"io"
	"math"
	"math/bits"
	"time"
)

// The raw form is a signature and then frames: length of the payload (4 bytes),
// its CRC-32C (4 bytes), payload; numbers are little-endian. A payload is a
// sequence of items, each a tag and its fields; times are signed differences to
// the item before. The first frame opens with the channels.
const (
	signature  = "HMREC\x001\n"
	frameHead  = 8
	frameFull  = 32 << 10 // a frame is closed when it has grown to this
	frameLimit = 1 << 20  // a longer one is not ours
	textLimit  = 1 << 14  // longest text in bytes; what is longer is cut
)

const (
	tagChannels = 1 + iota
	tagRow
	tagName
	tagEdge
	tagMark
	tagAsk
)

// writer writes the raw form. Its first error stops it.
type writer struct {
	to   io.Writer
	buf  []byte // frame head and payload so far
	last []uint64
	at   time.Duration
	err  error
}

func castagnoli() *crc32.Table { return crc32.MakeTable(crc32.Castagnoli) }

func newWriter(to io.Writer, channels []Channel, width int) *writer {
	w := &writer{to: to, last: make([]uint64, width)}
	w.buf = make([]byte, frameHead, frameFull+frameHead+16*width+4096)
	_, w.err = io.WriteString(to, signature)
	w.buf = append(w.buf, tagChannels)
	w.number(uint64(len(channels)))
	for _, c := range channels {
		w.text(c.Name)
		w.number(uint64(c.Dimension))
		w.flag(c.Extremes)
	}
	w.flush()
	return w
}

func (w *writer) number(n uint64) { w.buf = binary.AppendUvarint(w.buf, n) }
func (w *writer) signed(n int64)  { w.buf = binary.AppendVarint(w.buf, n) }

func (w *writer) flag(on bool) {
	if on {
		w.buf = append(w.buf, 1)
		return
	}
	w.buf = append(w.buf, 0)
}

func (w *writer) text(s string) {
	s = s[:min(len(s), textLimit)]
	w.number(uint64(len(s)))
	w.buf = append(w.buf, s...)
}

func (w *writer) time(at time.Duration) {
	w.signed(int64(at - w.at))
	w.at = at
}

// row writes a bitmap of the values that differ from the row before, then those.
func (w *writer) row(at time.Duration, row []float64) {
	w.buf = append(w.buf, tagRow)
	w.time(at)
	place := len(w.buf)
	total := place + (len(row)+7)/8 + 8*len(row)
	if cap(w.buf) < total {
		w.buf = append(make([]byte, 0, 2*total), w.buf...)
	}
	b := w.buf[:total]
	n := place + (len(row)+7)/8
	last := w.last
	for i := 0; i < len(row); i += 8 {
		end := min(i+8, len(row))
		n = eight(b, place+i>>3, n, row[i:end], last[i:end])
	}
	w.buf = b[:n]
	w.close()
}

// eight writes up to eight values with their byte of the bitmap at mark, and
// returns where the next values go.
func eight(b []byte, mark, n int, row []float64, last []uint64) int {
	var mask byte
	for i, v := range row {
		u := math.Float64bits(v)
		if u != last[i] {
			last[i] = u
			mask |= 1 << (i & 7)
			binary.LittleEndian.PutUint64(b[n:], u)
			n += 8
		}
	}
	b[mark] = mask
	return n
}

func (w *writer) name(channel string) {
	w.buf = append(w.buf, tagName)
	w.text(channel)
}

func (w *writer) edge(at time.Duration, id int, value int64) {
	w.buf = append(w.buf, tagEdge)
	w.time(at)
	w.number(uint64(id))
	w.signed(value)
	w.close()
}

func (w *writer) mark(m Mark) {
	w.buf = append(w.buf, tagMark)
	w.time(m.At)
	for _, s := range [...]string{m.Kind, m.Name, m.Axis, m.Text} {
		w.text(s)
	}
	w.close()
}

func (w *writer) ask(a Ask) {
	w.buf = append(w.buf, tagAsk)
	w.time(a.At)
	w.signed(int64(a.From))
	w.signed(int64(a.Until))
	for _, s := range [...]string{a.Requirement, a.Axis, a.End, a.Item, a.Cause, a.Text} {
		w.text(s)
	}
	w.flag(a.Tightened)
	w.buf = binary.LittleEndian.AppendUint64(w.buf, math.Float64bits(a.Limit))
	w.close()
}

// close ends the frame when it is full.
func (w *writer) close() {
	if len(w.buf) >= frameFull {
		w.flush()
	}
}

func (w *writer) flush() {
	if len(w.buf) == frameHead {
		return
	}
	payload := w.buf[frameHead:]
	binary.LittleEndian.PutUint32(w.buf, uint32(len(payload)))
	binary.LittleEndian.PutUint32(w.buf[4:], crc32.Checksum(payload, castagnoli()))
	if w.err == nil {
		_, w.err = w.to.Write(w.buf)
	}
	w.buf = w.buf[:frameHead]
}

// changed counts the bits of a row's bitmap.
func changed(bitmap []byte) int {
	n := 0
	for _, b := range bitmap {
		n += bits.OnesCount8(b)
	}
	return n
}
