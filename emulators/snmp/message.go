package snmp

// Message is a version 2c message.
type Message struct {
	Community string
	PDU
}

// Append appends the message to dst. It fails on a community or value that
// cannot be written.
func (m *Message) Append(dst []byte) ([]byte, error) {
	h := header{[]byte(m.Community)}
	if err := h.check(); err != nil {
		return dst, err
	}
	encoded, err := m.encode()
	if err != nil {
		return dst, err
	}
	return h.append(dst, encoded), nil
}

// Decode reads a version 2c message. Errors wrap ErrMalformed, ErrVersion or
// ErrCommunity; no input makes it panic, and the result shares no memory with it.
func Decode(datagram []byte) (*Message, error) {
	h, encoded, err := scanHeader(datagram)
	if err != nil {
		return nil, err
	}
	f, err := scanPDU(encoded)
	if err != nil {
		return nil, err
	}
	p, err := f.decode(encoded)
	if err != nil {
		return nil, err
	}
	return &Message{string(h.community), p}, nil
}

// Acknowledge is the Response that an inform is owed: noError, with the same
// request-id and variables (RFC 3416 section 4.2.7).
func (m *Message) Acknowledge() *Message {
	return &Message{m.Community, *reply(&m.PDU, NoError, 0)}
}
