package modbus

import (
	"bytes"
	"errors"
	"fmt"
)

// ErrStale reports a message that does not belong to the request: it has another
// transaction, unit or protocol. The client discards it and reads on (TCP p. 24).
var ErrStale = errors.New("modbus: reply to another request")

// ErrMalformed reports a reply with the right transaction that cannot be the
// answer to its request.
var ErrMalformed = errors.New("modbus: malformed reply")

func malformed(format string, values ...any) error {
	return fmt.Errorf("%w: %s", ErrMalformed, fmt.Sprintf(format, values...))
}

// Decode checks the message reply against the request it should answer, as an
// Append function made it, and returns the data: register bytes for functions
// 3, 4 and 23, packed bits for 1 and 2, the bytes from the MEI type on for 43,
// nothing for writes. The data lie within reply. Errors are an Exception,
// ErrStale, or one that wraps ErrMalformed.
func Decode(request, reply []byte) ([]byte, error) {
	if !whole(request) {
		return nil, malformed("the request is not one message of protocol 0")
	}
	if len(reply) >= HeaderSize && (reply[0] != request[0] || reply[1] != request[1] ||
		reply[2]|reply[3] != 0 || reply[6] != request[6]) {
		return nil, ErrStale
	}
	if !whole(reply) {
		return nil, malformed("%d bytes are not one message", len(reply))
	}
	asked, pdu := request[HeaderSize:], reply[HeaderSize:]
	if pdu[0] == asked[0]|exceptionFlag {
		if len(pdu) != 2 || pdu[1] == 0 {
			return nil, malformed("exception reply % X", pdu)
		}
		return nil, Exception{Function: asked[0], Code: Code(pdu[1])}
	}
	if pdu[0] != asked[0] {
		return nil, malformed("function %d, asked for %d", pdu[0], asked[0])
	}
	return decodeData(asked, pdu)
}

// decodeData checks the body of a reply that is no exception.
func decodeData(asked, pdu []byte) ([]byte, error) {
	if least := requestSizeMin(asked[0]); len(asked) < least {
		return nil, malformed("answers a request of %d bytes, which needs %d", len(asked), least)
	}
	switch pdu[0] {
	case FunctionReadCoils, FunctionReadDiscreteInputs:
		return counted(pdu, packedSize(word(asked, 3)))
	case FunctionReadHolding, FunctionReadInput, FunctionReadWrite:
		return counted(pdu, 2*int(word(asked, 3)))
	case FunctionWriteCoil, FunctionWriteRegister, FunctionMaskWrite:
		return nil, echoed(asked, pdu)
	case FunctionWriteCoils, FunctionWriteRegisters:
		return nil, echoed(asked[:5], pdu)
	case FunctionEncapsulated:
		if len(pdu) < 2 || pdu[1] != asked[1] {
			return nil, malformed("MEI reply % X", pdu)
		}
		return pdu[1:], nil
	}
	return nil, malformed("function %d is unknown here", pdu[0])
}

// requestSizeMin is the size of what decodeData looks at in a request.
func requestSizeMin(function byte) int {
	if function == FunctionEncapsulated {
		return 2
	}
	return 5
}

// counted returns the bytes after the byte count, which must be size.
func counted(pdu []byte, size int) ([]byte, error) {
	if len(pdu) != 2+size || int(pdu[1]) != size {
		return nil, malformed("%d bytes of data, need %d", len(pdu)-2, size)
	}
	return pdu[2:], nil
}

// echoed checks the reply of a write.
func echoed(want, pdu []byte) error {
	if !bytes.Equal(want, pdu) {
		return malformed("echo % X, need % X", pdu, want)
	}
	return nil
}

// BitAt returns bit i of data that Decode returned.
func BitAt(data []byte, i int) bool { return data[i/8]>>(i%8)&1 != 0 }
