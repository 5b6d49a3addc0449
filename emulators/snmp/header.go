package snmp

import (
	"bytes"
	"errors"

	"github.com/gosnmp/gosnmp"
)

// Why a datagram is not taken.
var (
	// ErrMalformed is bytes that are no SNMPv2c message.
	ErrMalformed = errors.New("snmp: malformed message")
	// ErrVersion is a message of another version of SNMP.
	ErrVersion = errors.New("snmp: not version 2c")
	// ErrCommunity is a community of no or more than 127 octets.
	ErrCommunity = errors.New("snmp: community must have 1 to 127 octets")
)

const (
	communityMax = 127
	version2c    = byte(gosnmp.Version2c)
)

// header is what a message has before its PDU: the version and who is asking. What
// knows of it stands in this file and in Agent.rights; PDUs, templates and the rules
// of RFC 3416 are the same in every version.
type header struct{ community []byte }

// scanHeader checks what stands before a PDU and returns both.
func scanHeader(m []byte) (h header, pdu []byte, err error) {
	at, end, err := expect(m, tagSequence, 0, len(m))
	if err != nil || end != len(m) {
		return h, nil, ErrMalformed
	}
	version, _, at, err := integer(m, at, end)
	if err != nil {
		return h, nil, err
	}
	if version != int32(version2c) {
		return h, nil, ErrVersion
	}
	at, next, err := expect(m, byte(TypeOctetString), at, end)
	if err != nil {
		return h, nil, err
	}
	h.community = m[at:next]
	return h, m[next:end], h.check()
}

// lastHeader is what stood before the PDU of the last good message. Who polls says the same
// again and again, and it need not be looked at anew.
type lastHeader struct {
	bytes  []byte
	length int // of its message, which its first octets tell
	header header
}

// scan is scanHeader.
func (l *lastHeader) scan(m []byte) (header, []byte, error) {
	if len(l.bytes) > 0 && len(m) == l.length && bytes.HasPrefix(m, l.bytes) {
		return l.header, m[len(l.bytes):], nil
	}
	h, pdu, err := scanHeader(m)
	if err == nil {
		l.bytes, l.length = append(l.bytes[:0], m[:len(m)-len(pdu)]...), len(m)
		l.header.community = append(l.header.community[:0], h.community...)
	}
	return h, pdu, err
}

// check refuses a community that is none.
func (h header) check() error {
	if len(h.community) == 0 || len(h.community) > communityMax {
		return ErrCommunity
	}
	return nil
}

// append appends the message of a PDU.
func (h header) append(dst, pdu []byte) []byte {
	n := len(h.community)
	dst = appendHeader(dst, tagSequence, 3+2+n+len(pdu))
	dst = append(dst, byte(TypeInteger), 1, version2c, byte(TypeOctetString), byte(n))
	dst = append(dst, h.community...)
	return append(dst, pdu...)
}
