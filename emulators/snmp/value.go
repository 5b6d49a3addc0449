package snmp

import (
	"fmt"
	"strconv"
	"time"
)

// Type is the tag of a value on the wire (RFC 2578 section 7, RFC 3416 section 3).
type Type byte

// The types that this package carries.
const (
	TypeInteger          Type = 0x02
	TypeOctetString      Type = 0x04
	TypeNull             Type = 0x05
	TypeObjectIdentifier Type = 0x06
	TypeIPAddress        Type = 0x40
	TypeCounter32        Type = 0x41
	TypeGauge32          Type = 0x42
	TypeTimeTicks        Type = 0x43
	TypeCounter64        Type = 0x46
	NoSuchObject         Type = 0x80
	NoSuchInstance       Type = 0x81
	EndOfMibView         Type = 0x82
)

// String is the name of the type in the SMI.
func (t Type) String() string {
	switch t {
	case TypeInteger:
		return "INTEGER"
	case TypeOctetString:
		return "OCTET STRING"
	case TypeNull:
		return "NULL"
	case TypeObjectIdentifier:
		return "OBJECT IDENTIFIER"
	case TypeIPAddress:
		return "IpAddress"
	case TypeCounter32:
		return "Counter32"
	case TypeGauge32:
		return "Gauge32"
	case TypeTimeTicks:
		return "TimeTicks"
	case TypeCounter64:
		return "Counter64"
	case NoSuchObject:
		return "noSuchObject"
	case NoSuchInstance:
		return "noSuchInstance"
	case EndOfMibView:
		return "endOfMibView"
	}
	return fmt.Sprintf("type 0x%02x", byte(t))
}

// number reports whether Int carries the value.
func (t Type) number() bool {
	switch t {
	case TypeInteger, TypeCounter32, TypeGauge32, TypeTimeTicks, TypeCounter64:
		return true
	}
	return false
}

// exception reports whether the type says that there is no value.
func (t Type) exception() bool {
	return t == NoSuchObject || t == NoSuchInstance || t == EndOfMibView
}

// Value is a typed value. Int carries every number (a Counter64 as its bits),
// Octets an octet string or the four octets of an address, OID an identifier.
type Value struct {
	Type   Type
	Int    int64
	Octets []byte
	OID    OID
}

// Integer makes an INTEGER.
func Integer(n int32) Value { return Value{Type: TypeInteger, Int: int64(n)} }

// Counter32 makes a Counter32, which wraps from 2^32-1 to 0.
func Counter32(n uint32) Value { return Value{Type: TypeCounter32, Int: int64(n)} }

// Gauge32 makes a Gauge32.
func Gauge32(n uint32) Value { return Value{Type: TypeGauge32, Int: int64(n)} }

// Counter64 makes a Counter64.
func Counter64(n uint64) Value { return Value{Type: TypeCounter64, Int: int64(n)} }

// TimeTicks makes TimeTicks, hundredths of a second modulo 2^32, of a span.
func TimeTicks(span time.Duration) Value {
	return Value{Type: TypeTimeTicks, Int: int64(uint32(span / (10 * time.Millisecond)))}
}

// Text makes an OCTET STRING.
func Text(s string) Value { return Value{Type: TypeOctetString, Octets: []byte(s)} }

// Identifier makes an OBJECT IDENTIFIER.
func Identifier(o OID) Value { return Value{Type: TypeObjectIdentifier, OID: o} }

// Null makes the value of a question.
func Null() Value { return Value{Type: TypeNull} }

// String is for people to read.
func (v Value) String() string {
	switch {
	case v.Type == TypeCounter64:
		return strconv.FormatUint(uint64(v.Int), 10)
	case v.Type.number():
		return strconv.FormatInt(v.Int, 10)
	case v.Type == TypeOctetString:
		return strconv.Quote(string(v.Octets))
	case v.Type == TypeObjectIdentifier:
		return v.OID.String()
	case v.Type == TypeIPAddress && len(v.Octets) == 4:
		return fmt.Sprintf("%d.%d.%d.%d", v.Octets[0], v.Octets[1], v.Octets[2], v.Octets[3])
	}
	return v.Type.String()
}

// Binding is a variable: a name and its value.
type Binding struct {
	Name  OID
	Value Value
}

// ErrorStatus is the error-status of a response (RFC 3416 section 3).
type ErrorStatus uint8

// The error-status values.
const (
	NoError ErrorStatus = iota
	TooBig
	NoSuchName
	BadValue
	ReadOnly
	GenErr
	NoAccess
	WrongType
	WrongLength
	WrongEncoding
	WrongValue
	NoCreation
	InconsistentValue
	ResourceUnavailable
	CommitFailed
	UndoFailed
	AuthorizationError
	NotWritable
	InconsistentName
)

// String is the name of the status in RFC 3416.
func (s ErrorStatus) String() string {
	names := [...]string{"noError", "tooBig", "noSuchName", "badValue", "readOnly", "genErr",
		"noAccess", "wrongType", "wrongLength", "wrongEncoding", "wrongValue", "noCreation",
		"inconsistentValue", "resourceUnavailable", "commitFailed", "undoFailed",
		"authorizationError", "notWritable", "inconsistentName"}
	if int(s) < len(names) {
		return names[s]
	}
	return fmt.Sprintf("error-status %d", uint8(s))
}

// StatusError is a response that says no. Index is the number of the variable
// at fault, from 1; 0 is none of them.
type StatusError struct {
	Status ErrorStatus
	Index  int
}

// Error implements error.
func (e *StatusError) Error() string {
	return fmt.Sprintf("snmp: %v at variable %d", e.Status, e.Index)
}
