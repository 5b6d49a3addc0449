package modbus

import "testing"

// small is a bank of few registers, so that a benchmark measures the codec.
type small struct{ registers [64]byte }

func (s *small) Check(_ Space, address, count uint16, _ bool) Code {
	if int(address)+int(count) > 32 {
		return IllegalAddress
	}
	return 0
}
func (s *small) ReadBits(Space, uint16, uint16, []byte) Code { return 0 }
func (s *small) ReadRegisters(_ Space, address uint16, dst []byte) Code {
	copy(dst, s.registers[2*address:])
	return 0
}
func (s *small) WriteBits(uint16, uint16, []byte) Code { return 0 }
func (s *small) WriteRegisters(address uint16, src []byte) Code {
	copy(s.registers[2*address:], src)
	return 0
}

func TestExchange_AllocatesNothing(t *testing.T) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &small{}})
	r, reply := make([]byte, 0, ADUMax), make([]byte, 0, ADUMax)
	values := make([]byte, 20)
	block := Block{2, 10}
	for name, call := range map[string]func(){
		"coils read":        func() { r = AppendRead(r[:0], header, Coils, block) },
		"registers read":    func() { r = AppendRead(r[:0], header, Input, block) },
		"coil written":      func() { r = AppendWriteCoil(r[:0], header, 1, true) },
		"register written":  func() { r = AppendWriteRegister(r[:0], header, 1, 2) },
		"coils written":     func() { r = AppendWriteCoils(r[:0], header, block, values[:2]) },
		"registers written": func() { r = AppendWriteRegisters(r[:0], header, 2, values) },
		"masked":            func() { r = AppendMaskWrite(r[:0], header, 1, 2, 3) },
		"read and written":  func() { r = AppendReadWrite(r[:0], header, block, 2, values) },
	} {
		if n := testing.AllocsPerRun(100, func() {
			call()
			reply = s.Respond(reply[:0], r)
			if _, err := Decode(r, reply); err != nil {
				t.Fatal(err)
			}
		}); n != 0 {
			t.Errorf("%s: %v allocations, want 0", name, n)
		}
	}
}

// BenchmarkExchange is both sides of function 23 with 10 registers each way.
func BenchmarkExchange(b *testing.B) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &small{}})
	request, reply := make([]byte, 0, ADUMax), make([]byte, 0, ADUMax)
	values := make([]byte, 20)
	b.ReportAllocs()
	for b.Loop() {
		request = AppendReadWrite(request[:0], header, Block{2, 10}, 2, values)
		reply = s.Respond(reply[:0], request)
		if _, err := Decode(request, reply); err != nil {
			b.Fatal(err)
		}
	}
}
