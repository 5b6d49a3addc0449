package evidence

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// page is one page of a column, unpacked. Only what writeTable makes is read: data pages
// of version 2 without nulls, compressed with Snappy.
type page struct {
	encoding format.Encoding
	count    int // of its values
	data     []byte
	words    bool // it is the dictionary
}

var errForm = errors.New("its page layout is none that the bench writes")

// ratioMax bounds how much a page grows when it is unpacked: Snappy makes 64 bytes of 3
// (its format description, copies with a two-byte offset).
const ratioMax = 22

// nextPage reads a page and returns what stands behind it.
func nextPage(b []byte) (page, []byte, error) {
	var head format.PageHeader
	rest, err := skipStruct(b, structDepth)
	if err == nil {
		err = thrift.Unmarshal(new(thrift.CompactProtocol), b[:len(b)-len(rest)], &head)
	}
	if err != nil {
		return page{}, nil, err
	}
	packed, size := int(head.CompressedPageSize), int(head.UncompressedPageSize)
	if packed < 0 || packed > len(rest) || size < 0 || size > ratioMax*packed+8 {
		return page{}, nil, errSize
	}
	v2, words := head.DataPageHeaderV2, head.DictionaryPageHeader
	p := page{encoding: v2.V.Encoding, count: int(v2.V.NumValues)}
	switch {
	case head.Type == format.DictionaryPage && words.Valid:
		p = page{encoding: words.V.Encoding, count: int(words.V.NumValues), words: true}
	case head.Type != format.DataPageV2 || !v2.Valid || v2.V.NumNulls != 0 ||
		v2.V.DefinitionLevelsByteLength != 0 || v2.V.RepetitionLevelsByteLength != 0 ||
		v2.V.IsCompressed.Valid && !v2.V.IsCompressed.V:
		return page{}, nil, errForm
	}
	if p.count < 0 {
		return page{}, nil, errSize
	}
	if told, n := binary.Uvarint(rest[:packed]); packed > 0 && (n <= 0 || told != uint64(size)) {
		return page{}, nil, errSize
	}
	if packed > 0 {
		p.data, err = parquet.Snappy.Decode(make([]byte, 0, size), rest[:packed])
	}
	return p, rest[packed:], err
}

// doubles are the values of a page of floating-point numbers.
func (p page) doubles(most int) ([]float64, error) {
	if p.encoding != format.Plain || len(p.data) != 8*p.count || p.count > most {
		return nil, errForm
	}
	all := make([]float64, p.count)
	for i := range all {
		all[i] = math.Float64frombits(binary.LittleEndian.Uint64(p.data[8*i:]))
	}
	return all, nil
}

// texts are the values of a page of texts that stand one behind the other.
func (p page) texts() ([]string, error) {
	if p.encoding != format.Plain || p.count > len(p.data)/4 {
		return nil, errForm
	}
	all := make([]string, p.count)
	b := p.data
	for i := range all {
		if len(b) < 4 {
			return nil, errSize
		}
		n := binary.LittleEndian.Uint32(b)
		if uint64(n) > uint64(len(b)-4) {
			return nil, errSize
		}
		all[i], b = string(b[4:4+n]), b[4+n:]
	}
	return all, nil
}

// indices are the values of a page that refers to a dictionary: a bit width, then runs of
// one value or of packed ones.
func (p page) indices(most int) ([]int, error) {
	if p.encoding != format.RLEDictionary || p.count > most {
		return nil, errForm
	}
	all := make([]int, 0, p.count)
	if p.count == 0 {
		return all, nil
	}
	if len(p.data) == 0 || p.data[0] > 32 {
		return nil, errSize
	}
	width, b := int(p.data[0]), p.data[1:]
	for len(all) < p.count {
		head, n := binary.Uvarint(b)
		if n <= 0 || head>>1 == 0 {
			return nil, errSize
		}
		b = b[n:]
		count, size := head>>1, (width+7)/8
		if head&1 == 1 {
			count, size = 8*min(count, math.MaxInt32), width*int(min(count, math.MaxInt32))
		}
		if size > len(b) {
			return nil, errSize
		}
		for i := range int(min(count, uint64(p.count-len(all)))) {
			at := 0
			if head&1 == 1 {
				at = i * width
			}
			all = append(all, int(bitsAt(b[:size], at, width)))
		}
		b = b[size:]
	}
	return all, nil
}

// bitsAt reads a number of some bits, the lowest first; bits beyond the end are 0.
func bitsAt(b []byte, at, width int) uint64 {
	value := uint64(0)
	for got := 0; got < width && at/8 < len(b); {
		shift := at % 8
		value |= uint64(b[at/8]>>shift) << got
		got += 8 - shift
		at += 8 - shift
	}
	if width < 64 {
		value &= 1<<width - 1
	}
	return value
}

// integers are the values of a page of whole numbers, each written as its difference to
// the one before (the Parquet format, delta encoding).
func (p page) integers(most int) ([]int64, error) {
	if p.encoding != format.DeltaBinaryPacked || p.count > most {
		return nil, errForm
	}
	b := p.data
	var head [3]uint64 // size of a block, its parts, values in all
	for i := range head {
		value, n := binary.Uvarint(b)
		if n <= 0 {
			return nil, errSize
		}
		head[i], b = value, b[n:]
	}
	value, n := binary.Varint(b)
	parts, size := head[1], uint64(0)
	if parts > 0 && parts <= 512 && head[0] <= 1<<16 {
		size = head[0] / parts
	}
	if n <= 0 || size == 0 || size%8 != 0 || head[2] != uint64(p.count) {
		return nil, errForm
	}
	d := deltas{b: b[n:], parts: int(parts), size: int(size), given: int(size)}
	all := make([]int64, 0, p.count)
	for len(all) < p.count {
		all = append(all, value)
		if len(all) < p.count {
			value += d.next()
		}
	}
	return all, d.err
}

// deltas reads differences block by block. Its first error stays, and it then gives 0.
type deltas struct {
	b           []byte
	parts, size int

	least  int64
	widths []byte // of the parts to come
	part   []byte
	width  int
	given  int // of this part
	err    error
}

func (d *deltas) next() int64 {
	if d.err != nil {
		return 0
	}
	if d.given == d.size {
		if d.err = d.begin(); d.err != nil {
			return 0
		}
	}
	value := d.least + int64(bitsAt(d.part, d.given*d.width, d.width))
	d.given++
	return value
}

// begin opens the next part, and the next block where one ends.
func (d *deltas) begin() error {
	if len(d.widths) == 0 {
		least, n := binary.Varint(d.b)
		if n <= 0 || len(d.b)-n < d.parts {
			return errSize
		}
		d.least = least
		d.widths, d.b = d.b[n:n+d.parts], d.b[n+d.parts:]
	}
	d.width, d.widths = int(d.widths[0]), d.widths[1:]
	if d.width > 64 {
		return fmt.Errorf("a difference of %d bits", d.width)
	}
	size := min(d.width*d.size/8, len(d.b)) // the last may be cut
	d.part, d.b, d.given = d.b[:size:size], d.b[size:], 0
	return nil
}
