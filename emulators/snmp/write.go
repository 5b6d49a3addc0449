package snmp

// set follows the two phases of RFC 3416 section 4.2.5: nothing is written before
// every variable was found good, and a failed write undoes those before it.
func (a *Agent) set(h header, request *PDU, write bool) *PDU {
	if len(request.Bindings) > 0 && !write {
		return reply(request, NoAccess, 1)
	}
	targets := make([]*Object, len(request.Bindings))
	for i, b := range request.Bindings {
		var status ErrorStatus
		if targets[i], status = a.checkWrite(b); status != NoError {
			return reply(request, status, i+1)
		}
		for _, earlier := range targets[:i] {
			if earlier == targets[i] { // two values for one object at once
				return reply(request, InconsistentValue, i+1)
			}
		}
	}
	if a.options.CheckSet != nil && len(targets) > 0 {
		if status, i := a.options.CheckSet(request.Bindings); status != NoError {
			return reply(request, status, i+1)
		}
	}
	// The response must be known to fit before anything is written.
	if _, err := a.fits(h, reply(request, NoError, 0)); err != nil {
		return reply(request, NoError, 0) // which becomes tooBig, or silence
	}
	return a.commit(request, targets)
}

// checkWrite judges one variable by itself, in the order of the RFC's list.
func (a *Agent) checkWrite(b Binding) (*Object, ErrorStatus) {
	i, found := find(a.objects, b.Name)
	if !found {
		if a.kindWritable(b.Name) {
			return nil, NoCreation
		}
		return nil, NotWritable
	}
	o := a.objects[i]
	if o.Write == nil {
		return nil, NotWritable
	}
	if b.Value.Type != o.Type {
		return nil, WrongType
	}
	if o.Check != nil {
		if status := o.Check(b.Value); status != NoError {
			return nil, status
		}
	}
	return o, NoError
}

// kindWritable reports whether an object of the name's type could be written.
func (a *Agent) kindWritable(name OID) bool {
	if !kindAt(a.objects, name) {
		return false
	}
	for _, o := range a.objects {
		if o.Write != nil && name.HasPrefix(o.kindName()) {
			return true
		}
	}
	return false
}

func (a *Agent) commit(request *PDU, targets []*Object) *PDU {
	before := make([]Value, len(targets))
	for i, o := range targets {
		if o.Get != nil {
			before[i] = o.Get()
		}
	}
	for i, o := range targets {
		if o.Write(request.Bindings[i].Value) == nil {
			continue
		}
		for k := i - 1; k >= 0; k-- {
			if targets[k].Get == nil || targets[k].Write(before[k]) != nil {
				return reply(request, UndoFailed, 0)
			}
		}
		return reply(request, CommitFailed, i+1)
	}
	if a.options.Committed != nil && len(targets) > 0 {
		a.options.Committed(request.Bindings)
	}
	return reply(request, NoError, 0)
}
