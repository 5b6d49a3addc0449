package link

import (
	"bytes"
	"errors"
)

// ErrFraming says that a byte stream no longer makes messages; the connection
// has been closed.
var ErrFraming = errors.New("link: framing lost")

// Framing finds the first message in buffered bytes, of which there is at
// least one. It returns its size, 0 when more bytes are needed, or ErrFraming.
type Framing func(buffered []byte) (size int, err error)

// mbapPrefix is the part of the MBAP header up to and including its length
// field, mbapUnit where the unit identifier stands, mbapLengthMin and
// mbapLengthMax what the length may be: the unit identifier and 1 to 253 bytes
// of PDU. The guide gives no numeric rule; this is a bench rule.
const (
	mbapPrefix    = 6
	mbapUnit      = 6
	mbapLengthMin = 2
	mbapLengthMax = 254
)

// ModbusTCP frames Modbus application data units by their MBAP header
// (Modbus Messaging on TCP/IP Implementation Guide V1.0b, 3.1.3). The protocol
// identifier is the device's business.
func ModbusTCP(buffered []byte) (int, error) {
	if len(buffered) < mbapPrefix {
		return 0, nil
	}
	length := int(buffered[4])<<8 | int(buffered[5])
	if length < mbapLengthMin || length > mbapLengthMax {
		return 0, ErrFraming
	}
	if len(buffered) < mbapPrefix+length {
		return 0, nil
	}
	return mbapPrefix + length, nil
}

// lineMax is the longest line, its end included.
const lineMax = 4096

// Line frames lines that end in a line feed, which stays in the message, as
// does a carriage return before it.
func Line(buffered []byte) (int, error) {
	end := bytes.IndexByte(buffered[:min(len(buffered), lineMax)], '\n')
	if end < 0 && len(buffered) >= lineMax {
		return 0, ErrFraming
	}
	return end + 1, nil
}

// SNMPDatagram frames datagrams: each one is a message, whatever it holds.
// What the codec says about it is the agent's business.
func SNMPDatagram(buffered []byte) (int, error) { return len(buffered), nil }
