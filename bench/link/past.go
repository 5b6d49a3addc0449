package link

import "net/netip"

// hold says why a message waits for the next one of its connection.
type hold int

const (
	holdNone hold = iota
	holdLate
	holdSwap
	holdMerge
	holdCount
)

// letter is a message and, where the network wants it, whose it is.
type letter struct {
	bytes []byte
	to    netip.AddrPort
}

// past is what a stage has to remember of one connection. The zero value is that
// of a new one.
type past struct {
	born        uint64  // the half-openings that were before it
	transaction [2]byte // of the message before
	known       bool
	held        letter
	why         hold
}

// headed reports whether a message begins with an MBAP header, whose protocol
// identifier is 0.
func headed(b []byte) bool { return len(b) > mbapUnit && b[2] == 0 && b[3] == 0 }

// note remembers a message's transaction identifier.
func (p *past) note(message []byte) {
	if headed(message) {
		copy(p.transaction[:], message)
		p.known = true
	}
}

// forget loses what waits.
func (p *past) forget() {
	if p.why != holdNone {
		p.held, p.why = letter{}, holdNone
	}
}

// holding is the probability of each reason to wait.
func (m *Impairment) holding(datagrams bool) [holdCount]float64 {
	all := [holdCount]float64{
		holdLate: m.LateProbability, holdSwap: m.SwapProbability, holdMerge: m.MergeProbability,
	}
	if datagrams {
		all[holdMerge] = 0
	}
	return all
}

// order is what goes on in place of a message: it, what waited for it, both in
// another order or in one, or nothing as yet.
func (s *stage) order(m *Impairment, p *past, now letter) []letter {
	odds := m.holding(s.datagrams)
	if odds[p.why] == 0 {
		p.forget() // whatever held it has been removed
	}
	before, why := p.held, p.why
	p.forget()
	switch why {
	case holdSwap:
		swapTransactions(before.bytes, now.bytes)
		return []letter{before, now}
	case holdMerge:
		now.bytes = append(before.bytes, now.bytes...)
		return []letter{now}
	}
	for reason := holdLate; reason < holdCount && p.why == holdNone; reason++ {
		if happens(s.holds[reason], odds[reason]) {
			p.held, p.why = now, reason
		}
	}
	var out []letter
	if why == holdLate {
		out = append(out, before)
	}
	if p.why == holdNone {
		out = append(out, now)
	}
	return out
}

// swapTransactions exchanges the transaction identifiers of two messages.
func swapTransactions(a, b []byte) {
	if headed(a) && headed(b) {
		a[0], a[1], b[0], b[1] = b[0], b[1], a[0], a[1]
	}
}
