package cia402

// Error codes of object 603F: CiA 402, secondary.
const (
	ErrorNone             uint16 = 0x0000
	ErrorShortInside      uint16 = 0x2230
	ErrorOverCurrent      uint16 = 0x2310
	ErrorShortMotor       uint16 = 0x2320
	ErrorI2t              uint16 = 0x2350
	ErrorMainsOver        uint16 = 0x3110
	ErrorMainsUnder       uint16 = 0x3120
	ErrorPhase            uint16 = 0x3130
	ErrorLinkOver         uint16 = 0x3210
	ErrorLinkUnder        uint16 = 0x3220
	ErrorDeviceHot        uint16 = 0x4210
	ErrorDriveHot         uint16 = 0x4310
	ErrorControlSupply    uint16 = 0x5112
	ErrorContacts         uint16 = 0x5441
	ErrorSoftwareWatchdog uint16 = 0x6010
	ErrorParameter        uint16 = 0x6320
	ErrorBrakeChopper     uint16 = 0x7110
	ErrorMotorBlocked     uint16 = 0x7121
	ErrorCommutation      uint16 = 0x7122
	ErrorSensor           uint16 = 0x7300
	ErrorResolver         uint16 = 0x7303
	ErrorIncremental      uint16 = 0x7305
	ErrorSpeed            uint16 = 0x7310
	ErrorPosition         uint16 = 0x7320
	ErrorCommunication    uint16 = 0x7500
	ErrorExcessTorque     uint16 = 0x8311
	ErrorTorque           uint16 = 0x8331
	ErrorVelocity         uint16 = 0x8400
	ErrorPositionLoop     uint16 = 0x8500
	ErrorFollowing        uint16 = 0x8611
	ErrorDeceleration     uint16 = 0xF001
	// ErrorConnection is the life guard or heartbeat error of CiA 301 (from
	// memory), which a drive shows when its controller falls silent.
	ErrorConnection uint16 = 0x8130
	// ErrorManufacturer is the first of the codes left to manufacturers.
	ErrorManufacturer uint16 = 0xFF00

	// Codes of this house, among those left to manufacturers.
	ErrorPartner       uint16 = 0xFF01 // the other drive of the axis is in fault
	ErrorSafeStand     uint16 = 0xFF11 // SOS: left its window
	ErrorSafeSpeed     uint16 = 0xFF12 // SLS: too fast
	ErrorSafeDirection uint16 = 0xFF13 // SDI: the wrong way
)

// Severe reports whether a fault of this code forbids a controlled stop, because
// the power stage or the motor's own feedback cannot be trusted: such a fault
// removes torque at once, whatever object 605E says. Common practice.
func Severe(code uint16) bool {
	switch code >> 8 {
	case 0x73, 0x84:
		return true
	}
	switch code >> 12 {
	case 0x2, 0x3, 0x5:
		return true
	}
	return code == ErrorMotorBlocked || code == ErrorCommutation || code == ErrorTorque
}
