package snmp

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// OID is an object identifier, one element for each sub-identifier. RFC 3416
// section 4.1 allows 128 of them, each at most 2^32-1.
type OID []uint32

const subidentifiersMax = 128

// ParseOID reads the dotted form, with or without a leading dot. It fails on
// less than 2 or more than 128 sub-identifiers, on one above 2^32-1, and on
// leading arcs that BER cannot express (X.690 8.19).
func ParseOID(text string) (OID, error) {
	fields := strings.Split(strings.TrimPrefix(text, "."), ".")
	if len(fields) < 2 || len(fields) > subidentifiersMax {
		return nil, fmt.Errorf("snmp: object identifier %q has %d sub-identifiers; need 2 to %d",
			text, len(fields), subidentifiersMax)
	}
	o := make(OID, len(fields))
	for i, f := range fields {
		n, err := strconv.ParseUint(f, 10, 32)
		if err != nil {
			return nil, fmt.Errorf("snmp: object identifier %q: sub-identifier %q is no number up to 2^32-1",
				text, f)
		}
		o[i] = uint32(n)
	}
	if o[0] > 2 || (o[0] < 2 && o[1] > 39) {
		return nil, fmt.Errorf("snmp: object identifier %q begins with arcs that do not exist", text)
	}
	return o, nil
}

// String is the dotted form without a leading dot.
func (o OID) String() string {
	var b strings.Builder
	for i, n := range o {
		if i > 0 {
			b.WriteByte('.')
		}
		b.WriteString(strconv.FormatUint(uint64(n), 10))
	}
	return b.String()
}

// Compare orders identifiers lexicographically, as a walk meets them.
func (o OID) Compare(p OID) int { return slices.Compare(o, p) }

// Equal reports whether both name the same.
func (o OID) Equal(p OID) bool { return slices.Equal(o, p) }

// HasPrefix reports whether o stands at p or below it.
func (o OID) HasPrefix(p OID) bool {
	return len(o) >= len(p) && slices.Equal(o[:len(p)], p)
}

// Append makes a new identifier below o.
func (o OID) Append(sub ...uint32) OID {
	return append(slices.Clone(o), sub...)
}
