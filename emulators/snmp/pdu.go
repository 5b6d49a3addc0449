package snmp

import (
	"encoding/binary"
	"fmt"
	"net/netip"

	"github.com/gosnmp/gosnmp"
)

// Kind is the tag of a PDU (RFC 3416 section 3).
type Kind byte

// The kinds of PDU of version 2c.
const (
	Get        Kind = 0xa0
	GetNext    Kind = 0xa1
	Response   Kind = 0xa2
	Set        Kind = 0xa3
	GetBulk    Kind = 0xa5
	Inform     Kind = 0xa6
	TrapV2     Kind = 0xa7
	reportKind Kind = 0xa8
)

func (k Kind) known() bool { return k >= Get && k < reportKind && k != 0xa4 }

// String is the name of the PDU in RFC 3416.
func (k Kind) String() string {
	switch k {
	case Get:
		return "GetRequest"
	case GetNext:
		return "GetNextRequest"
	case Response:
		return "Response"
	case Set:
		return "SetRequest"
	case GetBulk:
		return "GetBulkRequest"
	case Inform:
		return "InformRequest"
	case TrapV2:
		return "SNMPv2-Trap"
	}
	return fmt.Sprintf("PDU 0x%02x", byte(k))
}

// PDU is a protocol data unit of RFC 3416, the same in versions 2c and 3. NonRepeaters
// (0 to 255) and MaxRepetitions (0 to 2^31-1) belong to GetBulk; Status and Index to
// the other kinds.
type PDU struct {
	Kind           Kind
	RequestID      int32
	Status         ErrorStatus
	Index          int // variable at fault, from 1; 0 none; at most 255
	NonRepeaters   int
	MaxRepetitions int
	Bindings       []Binding
}

// codecHeader stands before every PDU that the codec writes or reads.
func codecHeader() header { return header{[]byte("codec")} }

// encode has the codec write the PDU. It fails on a value that cannot be written.
func (p *PDU) encode() ([]byte, error) {
	if len(p.Bindings) > bindingsMax {
		return nil, fmt.Errorf("snmp: %d variables; at most %d", len(p.Bindings), bindingsMax)
	}
	variables := make([]gosnmp.SnmpPDU, len(p.Bindings))
	for i, b := range p.Bindings {
		v, err := toCodec(b)
		if err != nil {
			return nil, err
		}
		variables[i] = v
	}
	packet := gosnmp.SnmpPacket{
		Version: gosnmp.Version2c, Community: string(codecHeader().community),
		PDUType: gosnmp.PDUType(p.Kind), RequestID: uint32(p.RequestID),
		Error: gosnmp.SNMPError(p.Status), ErrorIndex: uint8(p.Index),
		NonRepeaters: uint8(p.NonRepeaters), MaxRepetitions: uint32(p.MaxRepetitions),
		Variables: variables,
	}
	message, err := packet.MarshalMsg()
	if err != nil {
		return nil, fmt.Errorf("snmp: %w", err)
	}
	_, encoded, err := scanHeader(message)
	if err == nil && p.RequestID < 0 {
		// The codec takes the identifier for unsigned; RFC 3416 has it signed.
		encoded = signRequestID(encoded, p.RequestID)
	}
	return encoded, err
}

// signRequestID puts a negative identifier, in its shortest form, into a PDU.
func signRequestID(encoded []byte, id int32) []byte {
	// The five octets that the codec wrote are no 32-bit INTEGER: write four.
	f := frame{kind: Kind(encoded[0])}
	_, at, _, _ := element(encoded, 0, len(encoded))
	_, _, f.secondT, _ = element(encoded, at, len(encoded))
	contents := binary.BigEndian.AppendUint32(nil, uint32(id))
	for len(contents) > 1 && contents[0] == 0xff && contents[1]&0x80 != 0 {
		contents = contents[1:]
	}
	return f.withRequestID(encoded, contents)
}

// decode has the codec read a PDU that scanPDU has taken; the result shares no memory
// with it.
func (f *frame) decode(encoded []byte) (PDU, error) {
	// A decoder of its own for every call: the codec writes into it.
	decoder := &gosnmp.GoSNMP{Version: gosnmp.Version2c}
	var packet *gosnmp.SnmpPacket
	var err error
	own := codecHeader().append(nil, encoded) // the codec's octet strings alias it
	if f.kind == TrapV2 || f.kind == Inform {
		packet, err = decoder.UnmarshalTrap(own, false)
	} else {
		packet, err = decoder.SnmpDecodePacket(own)
	}
	if err != nil {
		return PDU{}, fmt.Errorf("%w: %w", ErrMalformed, err)
	}
	p := PDU{Kind: f.kind, RequestID: f.requestID}
	// The codec cuts the counts to one octet and forgets signs: the scan's hold.
	if f.kind == GetBulk {
		p.NonRepeaters, p.MaxRepetitions = max(0, int(f.second)), max(0, int(f.third))
	} else if f.second < 0 || f.second > int32(InconsistentName) || f.third < 0 ||
		f.third > bindingsMax {
		return p, fmt.Errorf("%w: error-status %d, error-index %d", ErrMalformed, f.second, f.third)
	} else {
		p.Status, p.Index = ErrorStatus(f.second), int(f.third)
	}
	p.Bindings = make([]Binding, len(packet.Variables))
	for i, v := range packet.Variables {
		if p.Bindings[i], err = fromCodec(v); err != nil {
			return p, err
		}
	}
	return p, nil
}

func toCodec(b Binding) (gosnmp.SnmpPDU, error) {
	out := gosnmp.SnmpPDU{Name: b.Name.String(), Type: gosnmp.Asn1BER(b.Value.Type)}
	v := b.Value
	switch v.Type {
	case TypeInteger:
		out.Value = int(v.Int)
	case TypeCounter32, TypeGauge32, TypeTimeTicks:
		out.Value = uint32(v.Int)
	case TypeCounter64:
		out.Value = uint64(v.Int)
	case TypeOctetString:
		out.Value = v.Octets
	case TypeObjectIdentifier:
		out.Value = v.OID.String()
	case TypeIPAddress:
		if len(v.Octets) != 4 {
			return out, fmt.Errorf("snmp: %v: an IpAddress has 4 octets, not %d", b.Name, len(v.Octets))
		}
		out.Value = v.Octets
	case TypeNull, NoSuchObject, NoSuchInstance, EndOfMibView:
	default:
		return out, fmt.Errorf("snmp: %v: cannot write a value of %v", b.Name, v.Type)
	}
	return out, nil
}

func fromCodec(p gosnmp.SnmpPDU) (Binding, error) {
	name, err := ParseOID(p.Name)
	if err != nil {
		return Binding{}, fmt.Errorf("%w: %w", ErrMalformed, err)
	}
	v := Value{Type: Type(p.Type)}
	switch raw := p.Value.(type) {
	case nil:
	case int:
		v.Int = int64(raw)
	case uint:
		v.Int = int64(raw)
	case uint32:
		v.Int = int64(raw)
	case uint64:
		v.Int = int64(raw)
	case []byte:
		v.Octets = raw
	case string:
		if v.Type == TypeObjectIdentifier {
			v.OID, err = ParseOID(raw)
		} else if a, e := netip.ParseAddr(raw); e == nil && a.Is4() {
			v.Octets = a.AsSlice()
		} else {
			err = fmt.Errorf("address %q", raw)
		}
	default:
		err = fmt.Errorf("value %T", raw)
	}
	if err != nil {
		return Binding{}, fmt.Errorf("%w: %w", ErrMalformed, err)
	}
	return Binding{Name: name, Value: v}, nil
}
