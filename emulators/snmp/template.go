package snmp

import "bytes"

// slot is where the contents of one value lie in an encoded response.
type slot struct {
	typ        Type
	start, end int
}

// slots lists the values of a response that scanPDU has taken.
func (f *frame) slots(m []byte) []slot {
	var all []slot
	for at := f.bindings; at < f.end; {
		value, end, err := f.scanBinding(m, at)
		if err != nil {
			panic("snmp: slots of a PDU that was not scanned")
		}
		tag, start, end, _ := element(m, value, end)
		all = append(all, slot{Type(tag), start, end})
		at = end
	}
	return all
}

// contentLength is how many octets the shortest form of a number takes.
func contentLength(t Type, n int64) int {
	length := 1
	if t == TypeCounter64 {
		for u := uint64(n); u > 0x7f; u >>= 8 {
			length++
		}
		return length
	}
	for n > 0x7f || n < -0x80 {
		n >>= 8
		length++
	}
	return length
}

// put writes a value's contents over those of an equally long one and tells
// whether it could.
func (s *slot) put(m []byte, v *Value) bool {
	if v.Type != s.typ {
		return false
	}
	contents := m[s.start:s.end]
	switch {
	case v.Type.number():
		n := v.Int
		if contentLength(v.Type, n) != len(contents) {
			return false
		}
		for i := len(contents) - 1; i >= 0; i-- {
			contents[i] = byte(n)
			n >>= 8
		}
		if v.Type == TypeCounter64 && len(contents) == 9 {
			contents[0] = 0
		}
		return true
	case v.Type == TypeOctetString || v.Type == TypeIPAddress:
		return len(v.Octets) == len(contents) && copy(contents, v.Octets) == len(contents)
	case v.Type == TypeObjectIdentifier:
		return false
	}
	return true // NULL and the exceptions have no contents
}

// take reads the contents, which are valid and no identifier, into v, which keeps
// its memory.
func (s *slot) take(m []byte, v *Value) {
	contents := m[s.start:s.end]
	v.Type = s.typ
	switch {
	case s.typ == TypeInteger:
		v.Int = signed(contents)
	case s.typ.number():
		v.Int = 0
		for _, b := range contents {
			v.Int = v.Int<<8 | int64(b)
		}
	case s.typ == TypeOctetString || s.typ == TypeIPAddress:
		v.Octets = append(v.Octets[:0], contents...)
	}
}

// template is one exchange of PDUs of an agent, kept encoded. A request that differs
// from it only in its request-id is answered by patching the response.
type template struct {
	request   []byte
	id, idEnd int // contents of the request-id in the request
	reply     []byte
	replyID   int
	objects   []*Object
	slots     []slot
}

// newTemplate keeps a Get and its response. It returns nil when the response
// cannot be patched.
func newTemplate(f *frame, request, reply []byte, objects []*Object) *template {
	r, err := scanPDU(reply)
	if err != nil || r.idEnd-r.id != f.idEnd-f.id {
		return nil
	}
	t := &template{
		request: bytes.Clone(request), id: f.id, idEnd: f.idEnd,
		reply: bytes.Clone(reply), replyID: r.id, objects: objects,
	}
	t.slots = r.slots(t.reply)
	for i := range t.slots {
		if t.slots[i].typ == TypeObjectIdentifier {
			return nil
		}
	}
	return t
}

// matches reports whether the request differs from the kept one in the contents of
// its request-id alone.
func (t *template) matches(request []byte) bool {
	return len(request) == len(t.request) &&
		bytes.Equal(request[t.idEnd:], t.request[t.idEnd:]) &&
		bytes.Equal(request[:t.id], t.request[:t.id]) &&
		shortest(request[t.id:t.idEnd])
}

// shortest reports whether the contents of an INTEGER have no octet to spare. One
// that has is answered by the codec, which writes the shortest form.
func shortest(contents []byte) bool {
	return len(contents) == 1 || contents[0] != byte(int8(contents[1])>>7)
}

// answer patches the response, which holds until the next one, with what the objects
// say now. It reports false when a value no longer fits: the codec must write it anew.
func (t *template) answer(request []byte) ([]byte, bool) {
	for i, o := range t.objects {
		v := o.Get()
		if !t.slots[i].put(t.reply, &v) {
			return nil, false
		}
	}
	copy(t.reply[t.replyID:], request[t.id:t.idEnd])
	return t.reply, true
}
