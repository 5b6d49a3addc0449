package modbus

import (
	"encoding/binary"
	"fmt"
)

// Values of function 5, AP clause 6.5.
const (
	coilOn  = 0xFF00
	coilOff = 0x0000
)

// Block is a range of addresses in one space.
type Block struct {
	Address uint16
	Count   uint16
}

// packedSize is the number of bytes that count bits take.
func packedSize(count uint16) int { return (int(count) + 7) / 8 }

// mustFit panics on a range that no server may accept: a bug of the caller.
func mustFit(b Block, limit int) {
	if b.Count < 1 || int(b.Count) > limit {
		panic(fmt.Sprintf("modbus: quantity %d outside 1 to %d", b.Count, limit))
	}
	if int(b.Address)+int(b.Count) > 1<<16 {
		panic(fmt.Sprintf("modbus: %d addresses from %d pass 65535", b.Count, b.Address))
	}
}

// mustMatch panics on values that do not fill their block: a bug of the caller.
func mustMatch(size, need int) {
	if size != need {
		panic(fmt.Sprintf("modbus: %d bytes of values, need %d", size, need))
	}
}

func appendWords(dst []byte, words ...uint16) []byte {
	for _, w := range words {
		dst = binary.BigEndian.AppendUint16(dst, w)
	}
	return dst
}

// appendBlock appends a block's start and quantity.
func appendBlock(dst []byte, b Block) []byte {
	return append(dst, byte(b.Address>>8), byte(b.Address), byte(b.Count>>8), byte(b.Count))
}

// AppendRead appends a request to read a block of a space: function 1, 2, 3 or
// 4. It panics unless the count is 1 to 2000 bits or 1 to 125 registers.
func AppendRead(dst []byte, h Header, space Space, b Block) []byte {
	limit := ReadRegistersMax
	if space.Bits() {
		limit = ReadBitsMax
	}
	mustFit(b, limit)
	dst = append(appendHeader(dst, h, 5), FunctionReadCoils+byte(space))
	return appendBlock(dst, b)
}

// AppendWriteCoil appends a request to set one coil: function 5.
func AppendWriteCoil(dst []byte, h Header, address uint16, on bool) []byte {
	value := uint16(coilOff)
	if on {
		value = coilOn
	}
	dst = append(appendHeader(dst, h, 5), FunctionWriteCoil)
	return appendWords(dst, address, value)
}

// AppendWriteRegister appends a request to set one register: function 6.
func AppendWriteRegister(dst []byte, h Header, address, value uint16) []byte {
	dst = append(appendHeader(dst, h, 5), FunctionWriteRegister)
	return appendWords(dst, address, value)
}

// AppendWriteCoils appends a request to set a block of coils from packed bits,
// lowest bit first: function 15. It panics unless the count is 1 to 1968 and
// packed has just the bytes for it.
func AppendWriteCoils(dst []byte, h Header, b Block, packed []byte) []byte {
	mustFit(b, WriteBitsMax)
	mustMatch(len(packed), packedSize(b.Count))
	dst = append(appendHeader(dst, h, 6+len(packed)), FunctionWriteCoils)
	dst = append(appendBlock(dst, b), byte(len(packed)))
	return append(dst, packed...)
}

// AppendWriteRegisters appends a request to set registers from values, two
// bytes each, high byte first: function 16. It panics unless there are 1 to
// 123 of them.
func AppendWriteRegisters(dst []byte, h Header, address uint16, values []byte) []byte {
	b := Block{Address: address, Count: uint16(len(values) / 2)}
	mustFit(b, WriteRegistersMax)
	mustMatch(len(values), 2*int(b.Count))
	dst = append(appendHeader(dst, h, 6+len(values)), FunctionWriteRegisters)
	dst = append(appendBlock(dst, b), byte(len(values)))
	return append(dst, values...)
}

// AppendMaskWrite appends a request to change bits of one register: function
// 22. The register becomes (current AND and) OR (or AND NOT and).
func AppendMaskWrite(dst []byte, h Header, address, and, or uint16) []byte {
	dst = append(appendHeader(dst, h, 7), FunctionMaskWrite)
	return appendWords(dst, address, and, or)
}

// AppendReadWrite appends a request that writes values from address on and
// then reads a block, both holding registers: function 23. It panics unless
// 1 to 125 are read and 1 to 121 written.
func AppendReadWrite(dst []byte, h Header, read Block, address uint16, values []byte) []byte {
	write := Block{Address: address, Count: uint16(len(values) / 2)}
	mustFit(read, ReadRegistersMax)
	mustFit(write, ReadWriteRegistersMax)
	mustMatch(len(values), 2*int(write.Count))
	dst = append(appendHeader(dst, h, 10+len(values)), FunctionReadWrite)
	dst = appendBlock(appendBlock(dst, read), write)
	return append(append(dst, byte(len(values))), values...)
}

// AppendReadIdentity appends a request for device identification: function 43,
// MEI type 14.
func AppendReadIdentity(dst []byte, h Header, access Access, object byte) []byte {
	return append(appendHeader(dst, h, 4), FunctionEncapsulated, meiIdentity,
		byte(access), object)
}
