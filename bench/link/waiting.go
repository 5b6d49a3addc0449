package link

import (
	"math"
	"net/netip"
)

// message is what a stage passes on and, where the network wants it, to whom.
type message struct {
	bytes []byte
	to    netip.AddrPort
}

// reason says why a message waits for the next one of its connection.
type reason int

const (
	sentAtOnce reason = iota
	waitsToBeLate
	waitsToSwap
	waitsToMerge
	reasonCount
)

// history is what a stage remembers of one connection.
type history struct {
	datagrams   bool
	openedAfter uint64  // how many times HalfOpen was switched on before it
	transaction [2]byte // of the message before
	known       bool    // there was one
	waiting     message // for the next one
	why         reason
}

// history is that of a connection opened now. Datagrams have none that could be
// half open.
func (i *Impairments) history(datagrams bool) history {
	if datagrams {
		return history{datagrams: true, openedAfter: math.MaxUint64}
	}
	i.mu.Lock()
	defer i.mu.Unlock()
	return history{openedAfter: i.openings}
}

// hasHeader reports whether a message begins with an MBAP header, whose protocol
// identifier is 0.
func hasHeader(b []byte) bool { return len(b) > mbapUnit && b[2] == 0 && b[3] == 0 }

// note remembers a message's transaction identifier.
func (h *history) note(b []byte) {
	if hasHeader(b) {
		copy(h.transaction[:], b)
		h.known = true
	}
}

// drop loses the message that waits.
func (h *history) drop() {
	if h.why != sentAtOnce {
		h.waiting, h.why = message{}, sentAtOnce
	}
}

// waits is the probability of each reason to wait; datagrams do not merge.
func (m *Impairment) waits(datagrams bool) [reasonCount]float64 {
	all := [reasonCount]float64{
		waitsToBeLate: m.LateProbability, waitsToSwap: m.SwapProbability,
		waitsToMerge: m.MergeProbability,
	}
	if datagrams {
		all[waitsToMerge] = 0
	}
	return all
}

// order is what goes on in place of a message: it, what waited for it, both in
// another order or in one, or nothing as yet.
func (s *stage) order(m *Impairment, h *history, now message) []message {
	probabilities := m.waits(h.datagrams)
	if probabilities[h.why] == 0 {
		h.drop() // the impairment that made it wait has been removed
	}
	before, why := h.waiting, h.why
	h.drop()
	switch why {
	case waitsToSwap:
		swapTransactions(before.bytes, now.bytes)
		return []message{before, now}
	case waitsToMerge:
		now.bytes = append(before.bytes, now.bytes...)
		return []message{now}
	}
	for r := waitsToBeLate; r < reasonCount && h.why == sentAtOnce; r++ {
		if s.happens(drawLate+draw(r-waitsToBeLate), probabilities[r]) {
			h.waiting, h.why = now, r
		}
	}
	var out []message
	if why == waitsToBeLate {
		out = append(out, before)
	}
	if h.why == sentAtOnce {
		out = append(out, now)
	}
	return out
}

// swapTransactions exchanges the transaction identifiers of two messages.
func swapTransactions(a, b []byte) {
	if hasHeader(a) && hasHeader(b) {
		a[0], a[1], b[0], b[1] = b[0], b[1], a[0], a[1]
	}
}
