package modbus

import "encoding/binary"

// word returns the 16-bit value at an offset of a PDU.
func word(pdu []byte, at int) uint16 { return binary.BigEndian.Uint16(pdu[at:]) }

// blockAt returns the start and quantity at an offset of a PDU.
func blockAt(pdu []byte, at int) Block {
	return Block{Address: word(pdu, at), Count: word(pdu, at+2)}
}

// readBits is AP clauses 6.1 and 6.2.
func (u *Unit) readBits(dst, pdu []byte, space Space) ([]byte, Code) {
	if len(pdu) != 5 {
		return dst, IllegalValue
	}
	b := blockAt(pdu, 1)
	if b.Count < 1 || b.Count > ReadBitsMax {
		return dst, IllegalValue
	}
	if code := u.check(space, b, false); code != 0 {
		return dst, code
	}
	size := packedSize(b.Count)
	dst, added := extend(append(dst, pdu[0], byte(size)), size)
	return dst, u.Bank.ReadBits(space, b.Address, b.Count, added)
}

// readRegisters is AP clauses 6.3 and 6.4.
func (u *Unit) readRegisters(dst, pdu []byte, space Space) ([]byte, Code) {
	if len(pdu) != 5 {
		return dst, IllegalValue
	}
	b := blockAt(pdu, 1)
	if b.Count < 1 || b.Count > ReadRegistersMax {
		return dst, IllegalValue
	}
	if code := u.check(space, b, false); code != 0 {
		return dst, code
	}
	dst, added := extend(append(dst, pdu[0], byte(2*b.Count)), 2*int(b.Count))
	return dst, u.Bank.ReadRegisters(space, b.Address, added)
}

// writeCoil is AP clause 6.5: any value but FF00 and 0000 is illegal.
func (u *Unit) writeCoil(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) != 5 {
		return dst, IllegalValue
	}
	value := word(pdu, 3)
	if value != coilOn && value != coilOff {
		return dst, IllegalValue
	}
	b := Block{Address: word(pdu, 1), Count: 1}
	if code := u.check(Coils, b, true); code != 0 {
		return dst, code
	}
	// The packed bit stands behind the echo for a moment: a local array would
	// escape through the interface and allocate.
	dst = append(append(dst, pdu...), byte(value>>8)&1)
	end := len(dst) - 1
	return dst[:end], u.Bank.WriteBits(b.Address, 1, dst[end:])
}

// writeRegister is AP clause 6.6.
func (u *Unit) writeRegister(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) != 5 {
		return dst, IllegalValue
	}
	b := Block{Address: word(pdu, 1), Count: 1}
	if code := u.check(Holding, b, true); code != 0 {
		return dst, code
	}
	return append(dst, pdu...), u.Bank.WriteRegisters(b.Address, pdu[3:])
}

// writeCoils is AP clause 6.11.
func (u *Unit) writeCoils(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) < 6 {
		return dst, IllegalValue
	}
	b := blockAt(pdu, 1)
	size := packedSize(b.Count)
	if b.Count < 1 || b.Count > WriteBitsMax || int(pdu[5]) != size || len(pdu) != 6+size {
		return dst, IllegalValue
	}
	if code := u.check(Coils, b, true); code != 0 {
		return dst, code
	}
	return append(dst, pdu[:5]...), u.Bank.WriteBits(b.Address, b.Count, pdu[6:])
}

// writeRegisters is AP clause 6.12.
func (u *Unit) writeRegisters(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) < 6 {
		return dst, IllegalValue
	}
	b := blockAt(pdu, 1)
	size := 2 * int(b.Count)
	if b.Count < 1 || b.Count > WriteRegistersMax || int(pdu[5]) != size ||
		len(pdu) != 6+size {
		return dst, IllegalValue
	}
	if code := u.check(Holding, b, true); code != 0 {
		return dst, code
	}
	return append(dst, pdu[:5]...), u.Bank.WriteRegisters(b.Address, pdu[6:])
}

// maskWrite is AP clause 6.16: (current AND and) OR (or AND NOT and).
func (u *Unit) maskWrite(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) != 7 {
		return dst, IllegalValue
	}
	b := Block{Address: word(pdu, 1), Count: 1}
	if code := u.check(Holding, b, false); code != 0 {
		return dst, code
	}
	if code := u.check(Holding, b, true); code != 0 {
		return dst, code
	}
	dst, current := extend(append(dst, pdu...), 2)
	end := len(dst) - 2
	if code := u.Bank.ReadRegisters(Holding, b.Address, current); code != 0 {
		return dst, code
	}
	and, or := word(pdu, 3), word(pdu, 5)
	binary.BigEndian.PutUint16(current, word(current, 0)&and|or&^and)
	return dst[:end], u.Bank.WriteRegisters(b.Address, current)
}

// readWrite is AP clause 6.17. Both ranges are checked before anything is
// written, and the write happens before the read.
func (u *Unit) readWrite(dst, pdu []byte) ([]byte, Code) {
	if len(pdu) < 10 {
		return dst, IllegalValue
	}
	read, write := blockAt(pdu, 1), blockAt(pdu, 5)
	size := 2 * int(write.Count)
	if read.Count < 1 || read.Count > ReadRegistersMax || write.Count < 1 ||
		write.Count > ReadWriteRegistersMax || int(pdu[9]) != size || len(pdu) != 10+size {
		return dst, IllegalValue
	}
	if code := u.check(Holding, read, false); code != 0 {
		return dst, code
	}
	if code := u.check(Holding, write, true); code != 0 {
		return dst, code
	}
	if code := u.Bank.WriteRegisters(write.Address, pdu[10:]); code != 0 {
		return dst, code
	}
	dst, added := extend(append(dst, pdu[0], byte(2*read.Count)), 2*int(read.Count))
	return dst, u.Bank.ReadRegisters(Holding, read.Address, added)
}
