package modbus

import (
	"encoding/binary"
	"slices"
)

// Bank is the data of one unit as a Server sees it. Every method returns 0 or
// an exception code. The server calls Check first, for every range of a
// request and before any effect, so the others are never given a range that
// Check refused; they report what only shows in the doing (04, 06).
type Bank interface {
	// Check reports whether count addresses from address on can be read, or
	// written. The range never passes address 65535.
	Check(space Space, address, count uint16, write bool) Code
	// ReadBits packs count bits into dst, lowest bit first; dst comes cleared.
	ReadBits(space Space, address, count uint16, dst []byte) Code
	// ReadRegisters fills dst, two bytes a register, high byte first.
	ReadRegisters(space Space, address uint16, dst []byte) Code
	// WriteBits sets count coils from packed bits.
	WriteBits(address, count uint16, src []byte) Code
	// WriteRegisters sets holding registers, two bytes each.
	WriteRegisters(address uint16, src []byte) Code
}

// Unit is one device behind a server's address.
type Unit struct {
	Bank     Bank
	Identity *Identity // nil: function 43/14 is not supported
	Refuse   Code      // not 0: every request is answered with this exception
}

// Server answers requests for the units behind one address. The zero value
// has no unit. It holds no state of its own between requests; calls that reach
// one bank must not overlap.
type Server struct {
	// SilentUnknown leaves a request for an unknown unit unanswered; otherwise
	// it is answered as by a gateway whose target is silent, exception 0B.
	SilentUnknown bool
	units         [256]*Unit
}

// Attach puts a unit behind an identifier, in place of what was there; nil
// takes it away. A device that is alone behind its address is attached at
// UnitDirect and at 0 too where clients address it so (TCP p. 23).
func (s *Server) Attach(id byte, u *Unit) { s.units[id] = u }

// Unit returns what is attached at an identifier, or nil.
func (s *Server) Unit(id byte) *Unit { return s.units[id] }

// Respond appends the reply to the one message in adu. It appends nothing, and
// so is silent, if adu is not exactly one message of protocol 0 as Frame cuts
// them, or if the unit is unknown and SilentUnknown is set. A message with
// fewer or more bytes than its function needs gets exception 03, as AP p. 48
// says of a wrong implied length. adu and dst must not overlap.
func (s *Server) Respond(dst, adu []byte) []byte {
	if !whole(adu) {
		return dst
	}
	u := s.units[adu[6]]
	if u == nil && s.SilentUnknown {
		return dst
	}
	start := len(dst)
	dst = append(dst, adu[0], adu[1], 0, 0, 0, 0, adu[6])
	pdu := adu[HeaderSize:]
	code := GatewayTargetSilent
	if u != nil {
		code = u.Refuse
		if code == 0 {
			dst, code = u.respond(dst, pdu)
		}
	}
	if code != 0 {
		dst = append(dst[:start+HeaderSize], pdu[0]|exceptionFlag, byte(code))
	}
	binary.BigEndian.PutUint16(dst[start+4:], uint16(len(dst)-start-6))
	return dst
}

// respond appends the reply PDU. Each handler checks in the order of the state
// diagrams in AP clause 6: function, quantity or value, addresses, execution.
func (u *Unit) respond(dst, pdu []byte) ([]byte, Code) {
	switch pdu[0] {
	case FunctionReadCoils:
		return u.readBits(dst, pdu, Coils)
	case FunctionReadDiscreteInputs:
		return u.readBits(dst, pdu, DiscreteInputs)
	case FunctionReadHolding:
		return u.readRegisters(dst, pdu, Holding)
	case FunctionReadInput:
		return u.readRegisters(dst, pdu, Input)
	case FunctionWriteCoil:
		return u.writeCoil(dst, pdu)
	case FunctionWriteRegister:
		return u.writeRegister(dst, pdu)
	case FunctionWriteCoils:
		return u.writeCoils(dst, pdu)
	case FunctionWriteRegisters:
		return u.writeRegisters(dst, pdu)
	case FunctionMaskWrite:
		return u.maskWrite(dst, pdu)
	case FunctionReadWrite:
		return u.readWrite(dst, pdu)
	case FunctionEncapsulated:
		return u.identify(dst, pdu)
	}
	return dst, IllegalFunction
}

// check refuses ranges past address 65535, then asks the bank.
func (u *Unit) check(space Space, b Block, write bool) Code {
	if int(b.Address)+int(b.Count) > 1<<16 {
		return IllegalAddress
	}
	return u.Bank.Check(space, b.Address, b.Count, write)
}

// extend lengthens dst by size cleared bytes and returns those too.
func extend(dst []byte, size int) (longer, added []byte) {
	start := len(dst)
	dst = slices.Grow(dst, size)[:start+size]
	clear(dst[start:])
	return dst, dst[start:]
}
