package record

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"
	"time"

	"haltmark/bench/quantity"
)

// ErrNotRecord is the error of Read when the bytes do not begin as a record does.
var ErrNotRecord = errors.New("record: not a raw record")

// errDamaged ends the reading; what came before it is kept.
var errDamaged = errors.New("record: damaged")

// ValuesMax bounds the values of a record that a reader makes room for: some hours of
// what a station records.
const ValuesMax = 1 << 27

// ErrTooLong is the error of Read for a record with more than ValuesMax values.
var ErrTooLong = fmt.Errorf("record: it has more than %d values", ValuesMax)

// channelLimit bounds what a reader makes room for.
const channelLimit = 1 << 12

// Read gets a record back from its raw form. What a killed run left is read as
// far as it is whole, and the record is then marked as truncated. An error says
// that there is no record at all, or that the reader failed.
func Read(raw io.Reader) (*Record, error) { return read(raw, ValuesMax) }

func read(raw io.Reader, most int) (*Record, error) {
	head := make([]byte, len(signature))
	if _, err := io.ReadFull(raw, head); err != nil || string(head) != signature {
		return nil, ErrNotRecord
	}
	d := &decoder{most: most}
	for {
		payload, err := readFrame(raw)
		if err == io.EOF {
			break
		}
		if err == nil {
			err = d.frame(payload)
		}
		if errors.Is(err, errDamaged) {
			d.truncated = true
			break
		}
		if err != nil {
			return nil, fmt.Errorf("record: reading: %w", err)
		}
	}
	if d.to == nil {
		return nil, ErrNotRecord
	}
	rec := d.to.Record()
	rec.Truncated = d.truncated
	return rec, nil
}

// readFrame returns the next payload, io.EOF at the end, or errDamaged.
func readFrame(raw io.Reader) ([]byte, error) {
	var head [frameHead]byte
	switch _, err := io.ReadFull(raw, head[:]); err {
	case nil:
	case io.ErrUnexpectedEOF:
		return nil, errDamaged
	default:
		return nil, err
	}
	size := binary.LittleEndian.Uint32(head[:])
	if size > frameLimit {
		return nil, errDamaged
	}
	payload := make([]byte, size)
	if _, err := io.ReadFull(raw, payload); err != nil {
		return nil, errDamaged
	}
	if crc32.Checksum(payload, castagnoli()) != binary.LittleEndian.Uint32(head[4:]) {
		return nil, errDamaged
	}
	return payload, nil
}

// decoder turns items back into calls of a recorder.
type decoder struct {
	to        *Recorder
	left      []byte
	row       []float64
	at        time.Duration
	most      int // values to make room for
	bad       bool
	tooLong   bool
	truncated bool
}

func (d *decoder) frame(payload []byte) error {
	d.left = payload
	for len(d.left) > 0 && !d.bad && !d.tooLong {
		tag := d.left[0]
		d.left = d.left[1:]
		if (tag == tagChannels) != (d.to == nil) {
			return errDamaged
		}
		switch tag {
		case tagChannels:
			d.channels()
		case tagRow:
			d.sample()
		case tagName:
			d.name()
		case tagEdge:
			d.edge()
		case tagMark:
			d.mark()
		case tagAsk:
			d.ask()
		default:
			return errDamaged
		}
	}
	switch {
	case d.bad:
		return errDamaged
	case d.tooLong:
		return ErrTooLong
	}
	return nil
}

func (d *decoder) number() uint64 {
	n, size := binary.Uvarint(d.left)
	return n * uint64(d.skip(size))
}

func (d *decoder) signed() int64 {
	n, size := binary.Varint(d.left)
	return n * int64(d.skip(size))
}

// skip passes over bytes of a number; 0 when there were none.
func (d *decoder) skip(size int) int {
	if size <= 0 {
		d.bad = true
		return 0
	}
	d.left = d.left[size:]
	return 1
}

func (d *decoder) take(n uint64) []byte {
	if n > uint64(len(d.left)) {
		d.bad = true
		return nil
	}
	b := d.left[:n]
	d.left = d.left[n:]
	return b
}

func (d *decoder) text() string {
	n := d.number()
	if n > textLimit {
		d.bad = true
		return ""
	}
	return string(d.take(n))
}

func (d *decoder) flag() bool {
	b := d.take(1)
	return len(b) == 1 && b[0] == 1
}

func (d *decoder) time() time.Duration {
	d.at += time.Duration(d.signed())
	return d.at
}

func (d *decoder) channels() {
	n := d.number()
	if n > channelLimit {
		d.bad = true
		return
	}
	channels := make([]Channel, n)
	for i := range channels {
		name := d.text()
		channels[i] = Channel{name, quantity.Dimension(d.number()), d.flag()}
	}
	if d.bad {
		return
	}
	d.to = NewRecorder(channels, nil)
	d.row = make([]float64, d.to.rows.width)
}

func (d *decoder) sample() {
	at := d.time()
	bitmap := d.take(uint64(len(d.row)+7) / 8)
	values := d.take(uint64(8 * changed(bitmap)))
	last := len(d.to.at) - 1
	if d.bad || (last >= 0 && at < d.to.at[last]) {
		d.bad = true
		return
	}
	if (len(d.to.at)+1)*len(d.row) > d.most {
		d.tooLong = true
		return
	}
	for i := range d.row {
		if bitmap[i>>3]>>(i&7)&1 == 0 {
			continue
		}
		d.row[i] = math.Float64frombits(binary.LittleEndian.Uint64(values))
		values = values[8:]
	}
	if len(values) != 0 {
		d.bad = true
		return
	}
	n, t := len(d.to.channels), len(d.to.tracked)
	d.to.Sample(at, d.row[:n], d.row[n:n+t], d.row[n+t:])
}

func (d *decoder) name() {
	name := d.text()
	if _, known := d.to.ids[name]; known || d.bad {
		d.bad = true
		return
	}
	d.to.ids[name] = len(d.to.names)
	d.to.names = append(d.to.names, name)
	d.to.levels = append(d.to.levels, 0)
}

func (d *decoder) edge() {
	at := d.time()
	id, value := d.number(), d.signed()
	if d.bad || id >= uint64(len(d.to.names)) {
		d.bad = true
		return
	}
	d.to.levels[id] = value
	d.to.edges = append(d.to.edges, change{at, int(id), value})
}

func (d *decoder) mark() {
	m := Mark{At: d.time(), Kind: d.text(), Name: d.text(), Axis: d.text(), Text: d.text()}
	if !d.bad {
		d.to.marks = append(d.to.marks, m)
	}
}

func (d *decoder) ask() {
	a := Ask{At: d.time()}
	a.From, a.Until = time.Duration(d.signed()), time.Duration(d.signed())
	for _, s := range [...]*string{&a.Requirement, &a.Axis, &a.End, &a.Item, &a.Cause, &a.Text} {
		*s = d.text()
	}
	a.Tightened = d.flag()
	if b := d.take(8); b != nil {
		a.Limit = math.Float64frombits(binary.LittleEndian.Uint64(b))
	}
	if !d.bad {
		d.to.asks = append(d.to.asks, a)
	}
}
