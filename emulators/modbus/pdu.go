package modbus

import "fmt"

// Function codes, AP clause 5.1.
const (
	FunctionReadCoils          = 1
	FunctionReadDiscreteInputs = 2
	FunctionReadHolding        = 3
	FunctionReadInput          = 4
	FunctionWriteCoil          = 5
	FunctionWriteRegister      = 6
	FunctionWriteCoils         = 15
	FunctionWriteRegisters     = 16
	FunctionMaskWrite          = 22
	FunctionReadWrite          = 23
	FunctionEncapsulated       = 43
)

// exceptionFlag is added to the function code of an exception reply, AP
// clause 4.1.
const exceptionFlag = 0x80

// Largest quantities of one request, AP clauses 6.1 to 6.17.
const (
	ReadBitsMax           = 2000 // functions 1 and 2
	ReadRegistersMax      = 125  // functions 3, 4 and the reading half of 23
	WriteBitsMax          = 1968 // function 15
	WriteRegistersMax     = 123  // function 16
	ReadWriteRegistersMax = 121  // the writing half of 23
)

// PDUMax is the largest protocol data unit in bytes, AP clause 4.1.
const PDUMax = 253

// Space is one of the four tables of AP clause 4.3.
type Space uint8

// The four tables. The first two hold bits, the others 16-bit registers; the
// first and third can be written.
const (
	Coils Space = iota
	DiscreteInputs
	Holding
	Input
	SpaceCount = 4
)

var spaceNames = [SpaceCount]string{"coils", "discrete_inputs", "holding", "input"}

// String returns the name that register maps use.
func (s Space) String() string {
	if s < SpaceCount {
		return spaceNames[s]
	}
	return fmt.Sprintf("Space(%d)", uint8(s))
}

// MarshalText returns the name that register maps use.
func (s Space) MarshalText() ([]byte, error) {
	if s >= SpaceCount {
		return nil, fmt.Errorf("modbus: no space %d", uint8(s))
	}
	return []byte(spaceNames[s]), nil
}

// UnmarshalText accepts coils, discrete_inputs, holding and input.
func (s *Space) UnmarshalText(text []byte) error {
	for i, name := range spaceNames {
		if string(text) == name {
			*s = Space(i)
			return nil
		}
	}
	return fmt.Errorf("modbus: no space %q; need one of %v", text, spaceNames)
}

// Bits reports whether the space holds single bits.
func (s Space) Bits() bool { return s == Coils || s == DiscreteInputs }

// Writable reports whether the protocol can write to the space.
func (s Space) Writable() bool { return s == Coils || s == Holding }

// Code is an exception code, AP clause 7. Zero means that all is well.
type Code uint8

// The exception codes of AP pages 48 and 49.
const (
	IllegalFunction     Code = 0x01
	IllegalAddress      Code = 0x02
	IllegalValue        Code = 0x03 // structure of the request, not a process value
	DeviceFailure       Code = 0x04
	Acknowledge         Code = 0x05
	DeviceBusy          Code = 0x06
	MemoryParity        Code = 0x08
	GatewayPath         Code = 0x0A
	GatewayTargetSilent Code = 0x0B
)

// String returns the code's meaning and its number.
func (c Code) String() string {
	name := "reserved code"
	switch c {
	case IllegalFunction:
		name = "illegal function"
	case IllegalAddress:
		name = "illegal data address"
	case IllegalValue:
		name = "illegal data value"
	case DeviceFailure:
		name = "server device failure"
	case Acknowledge:
		name = "acknowledge"
	case DeviceBusy:
		name = "server device busy"
	case MemoryParity:
		name = "memory parity error"
	case GatewayPath:
		name = "gateway path unavailable"
	case GatewayTargetSilent:
		name = "gateway target device failed to respond"
	}
	return fmt.Sprintf("%s (%02X)", name, uint8(c))
}

// Exception is the error of an exception reply. It proves that the transport
// works: the server heard the request and refused it (TCP p. 24).
type Exception struct {
	Function byte // of the request, without the exception flag
	Code     Code
}

// Error names the function and the reason.
func (e Exception) Error() string {
	return fmt.Sprintf("modbus: function %d refused: %v", e.Function, e.Code)
}
