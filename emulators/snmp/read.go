package snmp

import "sort"

// answerGet answers a Get and keeps the exchange when it can be patched later.
func (a *Agent) answerGet(h header, encoded []byte, request *PDU) []byte {
	out := reply(request, NoError, 0)
	out.Bindings = make([]Binding, len(request.Bindings))
	var objects []*Object
	for i, b := range request.Bindings {
		out.Bindings[i] = Binding{Name: b.Name, Value: Value{Type: NoSuchObject}}
		if k, ok := find(a.readable, b.Name); ok {
			o := a.readable[k]
			objects = append(objects, o)
			v := o.Get()
			if !keepsType(o, &v) {
				return a.fitting(h, reply(request, GenErr, i+1))
			}
			out.Bindings[i].Value = v
		} else if kindAt(a.readable, b.Name) {
			out.Bindings[i].Value.Type = NoSuchInstance
		}
	}
	response := a.fitting(h, out)
	if out.Status == NoError && len(objects) > 0 && len(objects) == len(out.Bindings) &&
		len(response) > 0 {
		a.keep(encoded, response, objects)
	}
	return response
}

// keep stores an exchange in the place of an unused or of the oldest one.
func (a *Agent) keep(request, response []byte, objects []*Object) {
	f, err := scanPDU(request)
	if err != nil {
		return
	}
	t := newTemplate(&f, request, response, objects)
	if t == nil {
		return
	}
	for i := range a.templates {
		if a.templates[i] == nil {
			a.templates[i] = t
			return
		}
	}
	a.templates[a.oldest] = t
	a.oldest = (a.oldest + 1) % len(a.templates)
}

// keepsType reports whether an object gave what it promised.
func keepsType(o *Object, v *Value) bool { return v.Type == o.Type || v.Type.exception() }

// next answers one variable of a GetNext or GetBulk: the first object after the
// name that has a value, or endOfMibView under the same name.
func (a *Agent) next(name OID) (Binding, ErrorStatus) {
	for o := a.after(name); o != nil; o = a.after(o.Name) {
		v := o.Get()
		if v.Type.exception() {
			continue
		}
		if v.Type != o.Type {
			return Binding{}, GenErr
		}
		return Binding{Name: o.Name, Value: v}, NoError
	}
	return Binding{Name: name, Value: Value{Type: EndOfMibView}}, NoError
}

// getNext follows RFC 3416 section 4.2.2.
func (a *Agent) getNext(request *PDU) *PDU {
	out := reply(request, NoError, 0)
	out.Bindings = make([]Binding, len(request.Bindings))
	for i, b := range request.Bindings {
		var status ErrorStatus
		if out.Bindings[i], status = a.next(b.Name); status != NoError {
			return reply(request, status, i+1)
		}
	}
	return out
}

// getBulk follows RFC 3416 section 4.2.3. It stops where no response could
// carry more.
func (a *Agent) getBulk(request *PDU) *PDU {
	out := reply(request, NoError, 0)
	out.Bindings = nil
	once := min(request.NonRepeaters, len(request.Bindings))
	for i, b := range request.Bindings[:once] {
		next, status := a.next(b.Name)
		if status != NoError {
			return reply(request, status, i+1)
		}
		out.Bindings = append(out.Bindings, next)
	}
	row := make([]OID, len(request.Bindings)-once)
	for i, b := range request.Bindings[once:] {
		row[i] = b.Name
	}
	for n := 0; n < request.MaxRepetitions && len(row) > 0; n++ {
		ended := true
		for i := range row {
			if len(out.Bindings) == bindingsMax {
				return out
			}
			next, status := a.next(row[i])
			if status != NoError {
				return reply(request, status, once+i+1)
			}
			ended = ended && next.Value.Type == EndOfMibView
			row[i] = next.Name
			out.Bindings = append(out.Bindings, next)
		}
		if ended {
			break
		}
	}
	return out
}

// fittingBulk encodes as many variables as fit: too many repetitions are no error.
func (a *Agent) fittingBulk(h header, p *PDU) []byte {
	all := p.Bindings
	if p.Status != NoError {
		return a.fitting(h, p)
	}
	over := sort.Search(len(all), func(n int) bool {
		p.Bindings = all[:n+1]
		_, err := a.fits(h, p)
		return err != nil
	})
	p.Bindings = all[:over]
	return a.fitting(h, p)
}
