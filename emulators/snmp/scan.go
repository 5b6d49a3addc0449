package snmp

import "fmt"

const (
	bindingsMax = 255 // the codec carries the error-index in one octet
	tagSequence = 0x30
)

// frame tells where the parts of a PDU lie, as offsets into it.
type frame struct {
	kind           Kind
	id, idEnd      int // contents of the request-id
	requestID      int32
	second, third  int32 // error-status and -index, or the two counts of a GetBulk
	bindings       int   // of the first binding's tag
	end            int
	secondT, listT int // of the tags of error-status and of the list
}

// element reads the tag and length at offset at and returns where the contents
// lie. They end at or before limit.
func element(m []byte, at, limit int) (tag byte, start, end int, err error) {
	if at+2 > limit {
		return 0, 0, 0, ErrMalformed
	}
	tag, length, start := m[at], int(m[at+1]), at+2
	if length >= 0x80 {
		octets := length & 0x7f
		// RFC 3417 section 8: the indefinite form is not used.
		if octets == 0 || octets > 4 || start+octets > limit {
			return 0, 0, 0, ErrMalformed
		}
		length = 0
		for range octets {
			length = length<<8 | int(m[start])
			start++
		}
	}
	if length > limit-start {
		return 0, 0, 0, ErrMalformed
	}
	return tag, start, start + length, nil
}

// expect is element with a tag that must be there.
func expect(m []byte, want byte, at, limit int) (start, end int, err error) {
	tag, start, end, err := element(m, at, limit)
	if err == nil && tag != want {
		err = ErrMalformed
	}
	return start, end, err
}

// integer reads an INTEGER of at most 32 bits.
func integer(m []byte, at, limit int) (value int32, start, end int, err error) {
	start, end, err = expect(m, byte(TypeInteger), at, limit)
	if err == nil && (end == start || end-start > 4) {
		err = ErrMalformed
	}
	if err != nil {
		return 0, 0, 0, err
	}
	return int32(signed(m[start:end])), start, end, nil
}

// signed reads two's complement of 1 to 8 octets.
func signed(contents []byte) int64 {
	n := int64(int8(contents[0]))
	for _, b := range contents[1:] {
		n = n<<8 | int64(b)
	}
	return n
}

// scanPDU checks the whole structure of a PDU, so that the codec meets only what it
// reads as RFC 3416 means it, and tells where its parts lie.
func scanPDU(m []byte) (f frame, err error) {
	tag, next, end, err := element(m, 0, len(m))
	if err != nil || end != len(m) {
		return f, ErrMalformed
	}
	f.kind, f.end = Kind(tag), end
	if !f.kind.known() {
		return f, fmt.Errorf("%w: PDU type 0x%02x", ErrMalformed, tag)
	}
	return f, f.scanContents(m, next)
}

func (f *frame) scanContents(m []byte, next int) (err error) {
	if f.requestID, f.id, f.idEnd, err = integer(m, next, f.end); err != nil {
		return err
	}
	f.secondT = f.idEnd
	if f.second, _, next, err = integer(m, f.idEnd, f.end); err != nil {
		return err
	}
	if f.third, _, f.listT, err = integer(m, next, f.end); err != nil {
		return err
	}
	start, end, err := expect(m, tagSequence, f.listT, f.end)
	if err != nil || end != f.end {
		return ErrMalformed
	}
	f.bindings = start
	for n := 0; start < end; n++ {
		if n == bindingsMax {
			return fmt.Errorf("%w: more than %d variables", ErrMalformed, bindingsMax)
		}
		if _, start, err = f.scanBinding(m, start); err != nil {
			return err
		}
	}
	return nil
}

// scanBinding checks the binding whose tag is at offset at. It returns where the
// value's tag is and where the binding ends.
func (f *frame) scanBinding(m []byte, at int) (value, end int, err error) {
	start, end, err := expect(m, tagSequence, at, f.end)
	if err != nil {
		return 0, 0, err
	}
	start, value, err = expect(m, byte(TypeObjectIdentifier), start, end)
	if err != nil || !validIdentifier(m[start:value]) {
		return 0, 0, ErrMalformed
	}
	tag, start, valueEnd, err := element(m, value, end)
	if err != nil || valueEnd != end || !validContents(Type(tag), m[start:end]) {
		return 0, 0, ErrMalformed
	}
	return value, end, nil
}

// validIdentifier checks base-128 contents: whole sub-identifiers, at most 128,
// each at most 2^32-1.
func validIdentifier(contents []byte) bool {
	if len(contents) == 0 || contents[len(contents)-1]&0x80 != 0 {
		return false
	}
	count, n := 1, uint64(0)
	for _, b := range contents {
		n = n<<7 | uint64(b&0x7f)
		if n > 1<<32-1 {
			return false
		}
		if b&0x80 == 0 {
			count, n = count+1, 0
		}
	}
	return count <= subidentifiersMax
}

func validContents(t Type, contents []byte) bool {
	n := len(contents)
	switch t {
	case TypeInteger:
		return n >= 1 && n <= 4
	case TypeCounter32, TypeGauge32, TypeTimeTicks:
		return n >= 1 && (n <= 4 || n == 5 && contents[0] == 0)
	case TypeCounter64:
		return n >= 1 && (n <= 8 || n == 9 && contents[0] == 0)
	case TypeOctetString:
		return true
	case TypeObjectIdentifier:
		return validIdentifier(contents)
	case TypeIPAddress:
		return n == 4
	case TypeNull, NoSuchObject, NoSuchInstance, EndOfMibView:
		return n == 0
	}
	return false
}

// withRequestID writes the PDU anew with the contents of another request-id.
func (f *frame) withRequestID(m, id []byte) []byte {
	contents := append([]byte{byte(TypeInteger), byte(len(id))}, id...)
	contents = append(contents, m[f.secondT:]...)
	return append(appendHeader(nil, byte(f.kind), len(contents)), contents...)
}

// appendHeader writes a tag and a length in the shortest definite form.
func appendHeader(dst []byte, tag byte, length int) []byte {
	dst = append(dst, tag)
	switch {
	case length < 0x80:
		return append(dst, byte(length))
	case length < 0x100:
		return append(dst, 0x81, byte(length))
	case length < 0x10000:
		return append(dst, 0x82, byte(length>>8), byte(length))
	}
	return append(dst, 0x83, byte(length>>16), byte(length>>8), byte(length))
}
