package cia402

// The usual words of the commands in the controlword, object 6040. Switch on and
// disable operation are one word; the state tells which of the two it is.
const (
	CommandDisableVoltage   uint16 = 0x00
	CommandQuickStop        uint16 = 0x02
	CommandShutdown         uint16 = 0x06
	CommandSwitchOn         uint16 = 0x07
	CommandDisableOperation uint16 = 0x07
	CommandEnableOperation  uint16 = 0x0F
	CommandFaultReset       uint16 = 0x80
)

// The bits of the controlword that stand beside its commands.
const (
	BitFaultReset uint16 = 1 << 7
	BitHalt       uint16 = 1 << 8
)

// Commanded tells the command in a controlword, as its usual word. Commands are
// told by mask, so the bits that no command looks at may be anything. While bit 7
// is high no other command is heard; whether it resets a fault is a matter of its
// edge, which Next judges.
func Commanded(word uint16) uint16 {
	switch {
	case word&0x80 != 0:
		return CommandFaultReset
	case word&0x82 == 0x00:
		return CommandDisableVoltage
	case word&0x86 == 0x02:
		return CommandQuickStop
	case word&0x87 == 0x06:
		return CommandShutdown
	case word&0x8F == 0x07:
		return CommandSwitchOn
	default:
		return CommandEnableOperation
	}
}

// ResetEdge reports whether bit 7 rises from one controlword to the next.
func ResetEdge(before, word uint16) bool {
	return word&^before&BitFaultReset != 0
}
