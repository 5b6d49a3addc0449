package cia402

import "testing"

// Object 6502 by bit: CiA 402, secondary (sample headers).
func TestSupports_BitsOf6502(t *testing.T) {
	bits := map[int8]uint32{1: 0x1, 2: 0x2, ModeProfileVelocity: 0x4, ModeProfileTorque: 0x8,
		6: 0x20, 7: 0x40, 8: 0x80, ModeCyclicVelocity: 0x100, ModeCyclicTorque: 0x200}
	for mode, bit := range bits {
		if !Supports(bit, mode) || Supports(^bit, mode) {
			t.Errorf("mode %d is not bit %#x alone", mode, bit)
		}
	}
	for _, mode := range []int8{-128, -1, 0, 33, 127} {
		if Supports(^uint32(0), mode) {
			t.Errorf("mode %d is supported", mode)
		}
	}
	if SupportedModes != 0xC || KnownModes != 0x30C {
		t.Errorf("supported %#x, known %#x", SupportedModes, KnownModes)
	}
}

// Every code that the profile does not have is a manufacturer's, FF00 to FFFF (CiA 402,
// secondary); 8130 is CiA 301's, from memory.
func TestErrorCodes_HouseCodesAreManufacturers(t *testing.T) {
	for _, code := range []uint16{ErrorPartner, ErrorSafeStand, ErrorSafeSpeed,
		ErrorSafeDirection} {
		if code < 0xFF00 || Severe(code) {
			t.Errorf("code %04X", code)
		}
	}
}
