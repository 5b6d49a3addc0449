package modbus

import (
	"fmt"
	"slices"
)

// meiIdentity is the MEI type of device identification, AP clause 6.21.
const meiIdentity = 0x0E

// identityHeader is the size of an identification reply before its objects.
const identityHeader = 7

// Access is the read device id code of AP clause 6.21.
type Access byte

// Three ways to stream all objects up to a category, and one to get a single
// object.
const (
	AccessBasic      Access = 1
	AccessRegular    Access = 2
	AccessExtended   Access = 3
	AccessIndividual Access = 4
)

// Object is one piece of identification. 0 is the vendor's name, 1 the product
// code, 2 the revision; 3 to 6 are regular and 80 hex and up extended.
type Object struct {
	ID   byte
	Text string
}

// Identity is what a unit says about itself.
type Identity struct {
	objects    []Object // in order of ID
	streamOnly bool
}

// last returns the highest object of a category.
func (a Access) last() byte {
	switch a {
	case AccessBasic:
		return 0x02
	case AccessRegular:
		return 0x06
	}
	return 0xFF
}

// NewIdentity makes an identity of objects in any order. It refuses a missing
// mandatory object (0 to 2), a number twice, one of the reserved 7 to 127, and
// a text over 244 bytes, which no reply could carry. With streamOnly single
// objects cannot be asked for.
func NewIdentity(streamOnly bool, objects ...Object) (*Identity, error) {
	sorted := slices.Clone(objects)
	slices.SortFunc(sorted, func(a, b Object) int { return int(a.ID) - int(b.ID) })
	for i, o := range sorted {
		switch {
		case i > 0 && sorted[i-1].ID == o.ID:
			return nil, fmt.Errorf("modbus: identification object %d twice", o.ID)
		case o.ID > 6 && o.ID < 0x80:
			return nil, fmt.Errorf("modbus: identification object %d is reserved", o.ID)
		case len(o.Text) > PDUMax-identityHeader-2:
			return nil, fmt.Errorf("modbus: identification object %d has %d bytes, at most %d",
				o.ID, len(o.Text), PDUMax-identityHeader-2)
		}
	}
	id := &Identity{objects: sorted, streamOnly: streamOnly}
	for mandatory := range byte(3) {
		if id.find(mandatory) < 0 {
			return nil, fmt.Errorf("modbus: identification object %d is missing", mandatory)
		}
	}
	return id, nil
}

// find returns the index of an object, or -1.
func (id *Identity) find(object byte) int {
	return slices.IndexFunc(id.objects, func(o Object) bool { return o.ID == object })
}

// conformity is the conformity level: the highest category, and 80 hex if
// single objects can be asked for.
func (id *Identity) conformity() byte {
	level := byte(AccessBasic)
	if highest := id.objects[len(id.objects)-1].ID; highest > AccessRegular.last() {
		level = byte(AccessExtended)
	} else if highest > AccessBasic.last() {
		level = byte(AccessRegular)
	}
	if !id.streamOnly {
		level |= 0x80
	}
	return level
}

// identify is AP clause 6.21, in its order: function and MEI type 01, object
// 02, access 03. A unit without identity does not support the function. A
// stream that is to begin at an object unknown to its category begins at 0.
func (u *Unit) identify(dst, pdu []byte) ([]byte, Code) {
	id := u.Identity
	if id == nil || len(pdu) > 1 && pdu[1] != meiIdentity {
		return dst, IllegalFunction
	}
	if len(pdu) != 4 {
		return dst, IllegalValue
	}
	access := Access(pdu[2])
	first := id.find(pdu[3])
	stream := access >= AccessBasic && access <= AccessExtended
	if first < 0 && !stream {
		return dst, IllegalAddress
	}
	if !stream && (access != AccessIndividual || id.streamOnly) {
		return dst, IllegalValue
	}
	if stream && (first < 0 || pdu[3] > access.last()) {
		first = 0
	}
	dst = append(dst, pdu[0], pdu[1], pdu[2], id.conformity(), 0, 0, 0)
	start := len(dst) - identityHeader
	for _, o := range id.objects[first:] {
		if stream && o.ID > access.last() {
			break
		}
		if len(dst)-start+2+len(o.Text) > PDUMax {
			dst[start+4], dst[start+5] = 0xFF, o.ID
			break
		}
		dst = append(append(dst, o.ID, byte(len(o.Text))), o.Text...)
		dst[start+6]++
		if !stream {
			break
		}
	}
	return dst, 0
}

// Identification is one reply to AppendReadIdentity.
type Identification struct {
	Conformity byte
	More       bool // ask again from Next on
	Next       byte
	Objects    []Object
}

// DecodeIdentity reads the data that Decode returned for function 43/14. The
// error wraps ErrMalformed.
func DecodeIdentity(data []byte) (Identification, error) {
	if len(data) < identityHeader-1 || data[0] != meiIdentity {
		return Identification{}, malformed("identification % X", data)
	}
	if more := data[3]; more != 0 && more != 0xFF {
		return Identification{}, malformed("more follows is %02X, not 00 or FF", more)
	}
	found := Identification{Conformity: data[2], More: data[3] == 0xFF, Next: data[4]}
	rest := data[6:]
	for range data[5] {
		if len(rest) < 2 || len(rest) < 2+int(rest[1]) {
			return Identification{}, malformed("identification object cut short")
		}
		end := 2 + int(rest[1])
		found.Objects = append(found.Objects, Object{ID: rest[0], Text: string(rest[2:end])})
		rest = rest[end:]
	}
	if len(rest) != 0 {
		return Identification{}, malformed("%d bytes after the last object", len(rest))
	}
	return found, nil
}
