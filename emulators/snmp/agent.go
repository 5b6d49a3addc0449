package snmp

import (
	"errors"
	"fmt"
	"slices"
	"sort"
)

// Object is one instance that an agent serves. Get must only look. An object
// without Get is not readable, one without Write is not writable.
type Object struct {
	// Name is the whole name, instance included.
	Name OID
	Type Type
	// Instance is how many trailing sub-identifiers make the instance; 0 means 1.
	Instance int
	// Get returns a value of Type, or an exception where there is none now.
	Get func() Value
	// Check, which may be nil, is the first phase of a Set: it changes nothing and
	// says whether the value, which is of Type, may be written.
	Check func(Value) ErrorStatus
	// Write is the second phase. When it fails it must have changed nothing. It
	// also takes the old value back when a later object of the same Set failed.
	Write func(Value) error
}

// kindName is the name of the object without its instance.
func (o *Object) kindName() OID { return o.Name[:len(o.Name)-max(1, o.Instance)] }

// AgentOptions are the settings of an agent.
type AgentOptions struct {
	ReadCommunity  string // sees everything, writes nothing
	WriteCommunity string // sees and writes; "" when nobody writes
	// SizeMax is the longest response, 484 octets or more; 0 means 1472, which
	// one Ethernet frame carries (RFC 3417 section 3.2 has both figures).
	SizeMax int
	// CheckSet, which may be nil, judges all variables of a Set together after
	// each was found good by itself. It names the one at fault, counted from 0.
	CheckSet func(set []Binding) (status ErrorStatus, index int)
	// Committed, which may be nil, is told of a Set of which everything is written.
	Committed func(set []Binding)
}

// AgentCounters count what an agent met (RFC 3418 has counters like these).
type AgentCounters struct {
	Requests, Malformed, BadVersions, BadCommunities, Unanswerable uint64
}

// Agent serves a fixed tree of objects.
type Agent struct {
	Counters  AgentCounters
	options   AgentOptions
	objects   []*Object // sorted by name
	readable  []*Object
	heard     lastHeader
	templates [4]*template
	oldest    int
}

const (
	sizeMin     = 484
	sizeDefault = 1472
)

// NewAgent makes an agent. It fails on communities that cannot be written or are
// equal, and on objects with equal, short or unwritable names.
func NewAgent(options AgentOptions, objects []Object) (*Agent, error) {
	if n := len(options.ReadCommunity); n == 0 || n > communityMax {
		return nil, fmt.Errorf("read community: %w", ErrCommunity)
	}
	if len(options.WriteCommunity) > communityMax {
		return nil, fmt.Errorf("write community: %w", ErrCommunity)
	}
	if options.ReadCommunity == options.WriteCommunity {
		return nil, errors.New("snmp: read and write community must differ")
	}
	if options.SizeMax == 0 {
		options.SizeMax = sizeDefault
	}
	if options.SizeMax < sizeMin {
		return nil, fmt.Errorf("snmp: response size %d is below %d", options.SizeMax, sizeMin)
	}
	a := &Agent{options: options}
	for i := range objects {
		o := objects[i]
		if len(o.Name) < 2+max(1, o.Instance) {
			return nil, fmt.Errorf("snmp: object name %v is too short", o.Name)
		}
		if _, err := ParseOID(o.Name.String()); err != nil {
			return nil, err
		}
		a.objects = append(a.objects, &o)
	}
	slices.SortStableFunc(a.objects, func(x, y *Object) int { return x.Name.Compare(y.Name) })
	for i, o := range a.objects {
		if i > 0 && o.Name.Equal(a.objects[i-1].Name) {
			return nil, fmt.Errorf("snmp: object %v is there twice", o.Name)
		}
		if o.Get != nil {
			a.readable = append(a.readable, o)
		}
	}
	return a, nil
}

// Respond appends the response to a datagram. It appends nothing, as RFC 3584
// and RFC 3416 want, to what is malformed, of another version, of an unknown
// community, or no request.
func (a *Agent) Respond(dst, datagram []byte) []byte {
	a.Counters.Requests++
	h, encoded, err := a.heard.scan(datagram)
	if errors.Is(err, ErrVersion) {
		a.Counters.BadVersions++
		return dst
	}
	read, write := a.rights(h)
	if err == nil && read {
		if out, ok := a.patched(encoded); ok {
			return h.append(dst, out)
		}
	}
	var f frame
	if err == nil {
		f, err = scanPDU(encoded)
	}
	switch {
	case err != nil:
		a.Counters.Malformed++
		return dst
	case !read:
		a.Counters.BadCommunities++
		return dst
	}
	request, err := f.decode(encoded)
	if err != nil {
		a.Counters.Malformed++
		return dst
	}
	out := a.answer(h, encoded, &request, write)
	if len(out) == 0 {
		a.Counters.Unanswerable++
		return dst
	}
	return h.append(dst, out)
}

// rights are what a message's sender may do.
func (a *Agent) rights(h header) (read, write bool) {
	write = a.options.WriteCommunity != "" && string(h.community) == a.options.WriteCommunity
	return write || string(h.community) == a.options.ReadCommunity, write
}

// patched is the answer to a request that was answered before.
func (a *Agent) patched(request []byte) ([]byte, bool) {
	for i, t := range a.templates {
		if t == nil || !t.matches(request) {
			continue
		}
		if out, ok := t.answer(request); ok {
			return out, true
		}
		a.templates[i] = nil
	}
	return nil, false
}

// answer is the response to a request, encoded; nothing is silence.
func (a *Agent) answer(h header, encoded []byte, request *PDU, write bool) []byte {
	switch request.Kind {
	case Get:
		return a.answerGet(h, encoded, request)
	case GetNext:
		return a.fitting(h, a.getNext(request))
	case GetBulk:
		return a.fittingBulk(h, a.getBulk(request))
	case Set:
		return a.fitting(h, a.set(h, request, write))
	}
	return nil
}

// reply is a response with the variables of the request.
func reply(request *PDU, status ErrorStatus, index int) *PDU {
	return &PDU{
		Kind: Response, RequestID: request.RequestID, Status: status, Index: index,
		Bindings: request.Bindings,
	}
}

// fits encodes a response and reports whether its message is short enough.
func (a *Agent) fits(h header, p *PDU) ([]byte, error) {
	out, err := p.encode()
	if err == nil && len(h.append(nil, out)) > a.options.SizeMax {
		err = errTooBig
	}
	return out, err
}

// errTooBig is a response that is too long.
var errTooBig = errors.New("snmp: response too long")

// fitting encodes a response; one that is too long becomes tooBig without variables
// (RFC 3416 section 4.2.1). One that cannot be written is silence.
func (a *Agent) fitting(h header, p *PDU) []byte {
	out, err := a.fits(h, p)
	if errors.Is(err, errTooBig) {
		p.Status, p.Index, p.Bindings = TooBig, 0, nil
		out, err = p.encode()
	}
	if err != nil {
		return nil
	}
	return out
}

// find is the place of the object, or of the first one after the name.
func find(objects []*Object, name OID) (int, bool) {
	return sort.Find(len(objects), func(i int) int { return name.Compare(objects[i].Name) })
}

// after is the first readable object whose name is greater, nil past the end.
func (a *Agent) after(name OID) *Object {
	i, found := find(a.readable, name)
	if found {
		i++
	}
	if i == len(a.readable) {
		return nil
	}
	return a.readable[i]
}

// kindAt reports whether some of the objects has the name's object type; objects of
// one type stand together in the order of names.
func kindAt(objects []*Object, name OID) bool {
	i, _ := find(objects, name)
	for _, k := range [2]int{i - 1, i} {
		if k >= 0 && k < len(objects) && name.HasPrefix(objects[k].kindName()) {
			return true
		}
	}
	return false
}
