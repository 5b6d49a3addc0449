package snmp

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// ErrNotMine is a datagram that answers no question of the caller: another
// request-id, another community, no Response. The caller reads on.
var ErrNotMine = errors.New("snmp: not the response to this request")

// RequestIDs hands out request identifiers that all take four octets. The zero
// value is ready; Skip sets where it begins.
type RequestIDs struct{ next uint32 }

const requestIDMin = 1 << 24

// Skip begins the sequence at another place, so that two managers differ.
func (r *RequestIDs) Skip(n uint32) { r.next = n }

// Next is the next identifier, 2^24 to 2^31-1.
func (r *RequestIDs) Next() int32 {
	id := requestIDMin + r.next%(1<<31-requestIDMin)
	r.next = id - requestIDMin + 1
	return int32(id)
}

// Poll is a question that a manager asks again and again: a Get of fixed
// objects. The request stays encoded, and of a response that has the shape of
// the last one only what changed is decoded.
type Poll struct {
	header    header
	names     []OID
	values    []Value
	request   []byte
	requestID int // of its contents in the request
	heard     lastHeader
	last      []byte // its PDU
	lastID    int
	slots     []slot
}

// NewPoll prepares a Get of the names. It fails on a community or a name that
// cannot be written.
func NewPoll(community string, names []OID) (*Poll, error) {
	h := header{[]byte(community)}
	if err := h.check(); err != nil {
		return nil, err
	}
	get := PDU{Kind: Get, RequestID: requestIDMin}
	for _, n := range names {
		get.Bindings = append(get.Bindings, Binding{Name: n, Value: Null()})
	}
	encoded, err := get.encode()
	if err != nil {
		return nil, err
	}
	f, err := scanPDU(encoded)
	if err != nil {
		return nil, fmt.Errorf("snmp: a Get of %v: %w", names, err)
	}
	return &Poll{
		header: h, names: names, values: make([]Value, len(names)),
		request: h.append(nil, encoded), requestID: len(h.append(nil, encoded)) - len(encoded) + f.id,
	}, nil
}

// AppendRequest appends the request. The identifier comes from RequestIDs.
func (p *Poll) AppendRequest(dst []byte, id int32) []byte {
	binary.BigEndian.PutUint32(p.request[p.requestID:], uint32(id))
	return append(dst, p.request...)
}

// Decode takes the response to the request of that identifier and reports whether
// any value changed. It returns ErrNotMine for other datagrams, a *StatusError
// when the agent refused, and an error that wraps ErrMalformed.
func (p *Poll) Decode(datagram []byte, id int32) (changed bool, err error) {
	h, encoded, err := p.heard.scan(datagram)
	if err != nil {
		return false, err
	}
	mine := bytes.Equal(h.community, p.header.community)
	if mine && p.similar(encoded, id) {
		return p.takeChanged(encoded), nil
	}
	f, err := scanPDU(encoded)
	if err != nil {
		return false, err
	}
	response, err := f.decode(encoded)
	if err != nil {
		return false, err
	}
	if !mine || response.Kind != Response || response.RequestID != id {
		return false, ErrNotMine
	}
	if changed, err = p.takeAll(&response); err == nil {
		p.keepShape(&f, encoded)
	}
	return changed, err
}

// Values are those of the last good response, in the order of the names. They
// hold until the next Decode.
func (p *Poll) Values() []Value { return p.values }

// similar reports whether a PDU differs from the last one at most in the
// request-id, which must be the one asked with, and in good contents of values.
func (p *Poll) similar(m []byte, id int32) bool {
	if len(p.last) == 0 || len(m) != len(p.last) {
		return false
	}
	if !bytes.Equal(m[:p.lastID], p.last[:p.lastID]) ||
		binary.BigEndian.Uint32(m[p.lastID:]) != uint32(id) {
		return false
	}
	at := p.lastID + 4
	for _, s := range p.slots {
		if !bytes.Equal(m[at:s.start], p.last[at:s.start]) {
			return false
		}
		if !validContents(s.typ, m[s.start:s.end]) {
			return false
		}
		at = s.end
	}
	return true
}

// takeChanged decodes the values that changed in a similar response.
func (p *Poll) takeChanged(m []byte) (changed bool) {
	for i := range p.slots {
		s := &p.slots[i]
		if bytes.Equal(m[s.start:s.end], p.last[s.start:s.end]) {
			continue
		}
		s.take(m, &p.values[i])
		copy(p.last[s.start:s.end], m[s.start:s.end])
		changed = true
	}
	return changed
}

// takeAll takes the values of a response to the question.
func (p *Poll) takeAll(response *PDU) (changed bool, err error) {
	if response.Status != NoError {
		return false, &StatusError{response.Status, response.Index}
	}
	if len(response.Bindings) != len(p.names) {
		return false, fmt.Errorf("%w: %d variables answer %d",
			ErrMalformed, len(response.Bindings), len(p.names))
	}
	for i, b := range response.Bindings {
		if !b.Name.Equal(p.names[i]) {
			return false, fmt.Errorf("%w: %v answers %v", ErrMalformed, b.Name, p.names[i])
		}
	}
	for i, b := range response.Bindings {
		changed = changed || !equalValues(&b.Value, &p.values[i])
		p.values[i] = b.Value
	}
	return changed, nil
}

func (p *Poll) keepShape(f *frame, response []byte) {
	p.last, p.slots = p.last[:0], nil
	if f.idEnd-f.id != 4 {
		return
	}
	slots := f.slots(response)
	for _, s := range slots {
		if s.typ == TypeObjectIdentifier { // only the codec reads these
			return
		}
	}
	p.last = append(p.last, response...)
	p.lastID, p.slots = f.id, slots
}

func equalValues(v, w *Value) bool {
	return v.Type == w.Type && v.Int == w.Int && bytes.Equal(v.Octets, w.Octets) && v.OID.Equal(w.OID)
}
