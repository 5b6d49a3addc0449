package modbus

import (
	"encoding/binary"
	"fmt"
)

// HeaderSize is the size of the MBAP header in bytes, TCP clause 3.1.3.
const HeaderSize = 7

// ADUMax is the largest message in bytes: header and largest unit.
const ADUMax = HeaderSize + PDUMax

// Bounds of the length field: the unit identifier and 1 to 253 bytes. Bench
// rule; the guide gives no number.
const (
	lengthMin = 2
	lengthMax = 1 + PDUMax
)

// UnitDirect is the unit identifier that a client uses for a device that is
// addressed by its IP address alone, TCP p. 23.
const UnitDirect = 0xFF

// ErrFraming reports a length field that cannot be: where the next message
// begins is lost, and the connection must be closed with nothing sent.
var ErrFraming = fmt.Errorf("modbus: length field outside %d to %d", lengthMin, lengthMax)

// Header holds what a client chooses of the MBAP header.
type Header struct {
	Transaction uint16 // the server copies it
	Unit        byte   // the device behind the address
}

// Frame tells the size in bytes of the first message in buffered, header
// included; 0 asks for more bytes. The error is ErrFraming. A protocol
// identifier other than 0 is no framing error: such a message is complete and
// Respond is silent about it (TCP p. 29).
func Frame(buffered []byte) (size int, err error) {
	if len(buffered) < 6 {
		return 0, nil
	}
	length := int(binary.BigEndian.Uint16(buffered[4:]))
	if length < lengthMin || length > lengthMax {
		return 0, ErrFraming
	}
	if len(buffered) < 6+length {
		return 0, nil
	}
	return 6 + length, nil
}

// whole reports whether adu is exactly one message of protocol 0.
func whole(adu []byte) bool {
	if len(adu) <= HeaderSize || len(adu) > ADUMax || adu[2] != 0 || adu[3] != 0 {
		return false
	}
	return int(binary.BigEndian.Uint16(adu[4:])) == len(adu)-6
}

// appendHeader appends an MBAP header for a PDU of size bytes.
func appendHeader(dst []byte, h Header, size int) []byte {
	length := uint16(1 + size)
	return append(dst, byte(h.Transaction>>8), byte(h.Transaction), 0, 0,
		byte(length>>8), byte(length), h.Unit)
}
