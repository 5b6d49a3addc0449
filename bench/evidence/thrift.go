package evidence

import (
	"encoding/binary"
	"errors"
)

// errSize is a size that a file tells and does not have.
var errSize = errors.New("it tells a size that it does not have")

// structDepth is how deep structures lie in each other in any Parquet file.
const structDepth = 16

// skipStruct returns what stands behind a structure in Thrift's compact protocol (Apache
// Thrift's specification). Decoders make room for as many bytes or items as a
// length tells: here each is held against the bytes that are there.
func skipStruct(b []byte, depth int) ([]byte, error) {
	if depth == 0 {
		return nil, errSize
	}
	for len(b) > 0 {
		head := b[0]
		b = b[1:]
		kind := head & 15
		if kind == 0 {
			return b, nil
		}
		var err error
		if head>>4 == 0 { // the field's number is written out
			b, err = skipNumber(b)
		}
		if err == nil && kind > 2 { // the value of a Boolean field is its kind
			b, err = skipValue(b, kind, depth)
		}
		if err != nil {
			return nil, err
		}
	}
	return nil, errSize
}

func skipNumber(b []byte) ([]byte, error) {
	_, n := binary.Uvarint(b)
	if n <= 0 {
		return nil, errSize
	}
	return b[n:], nil
}

func skipBytes(b []byte, n uint64) ([]byte, error) {
	if n > uint64(len(b)) {
		return nil, errSize
	}
	return b[n:], nil
}

func skipValue(b []byte, kind byte, depth int) ([]byte, error) {
	switch kind {
	case 1, 2, 3: // Booleans in a list, bytes
		return skipBytes(b, 1)
	case 4, 5, 6: // whole numbers
		return skipNumber(b)
	case 7: // double
		return skipBytes(b, 8)
	case 8: // bytes or text
		n, size := binary.Uvarint(b)
		if size <= 0 {
			return nil, errSize
		}
		return skipBytes(b[size:], n)
	case 9, 10:
		return skipList(b, depth)
	case 12:
		return skipStruct(b, depth-1)
	}
	return nil, errSize // Parquet has no maps
}

func skipList(b []byte, depth int) ([]byte, error) {
	if len(b) == 0 {
		return nil, errSize
	}
	count, kind := uint64(b[0]>>4), b[0]&15
	b = b[1:]
	if count == 15 {
		n, size := binary.Uvarint(b)
		if size <= 0 {
			return nil, errSize
		}
		count, b = n, b[size:]
	}
	if depth == 0 || count > uint64(len(b)) { // an item has a byte at least
		return nil, errSize
	}
	var err error
	for range count {
		if b, err = skipValue(b, kind, depth-1); err != nil {
			return nil, err
		}
	}
	return b, nil
}
