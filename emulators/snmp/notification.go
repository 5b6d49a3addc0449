package snmp

import (
	"fmt"
	"time"
)

// The names that open every notification (RFC 3416 section 4.2.6, RFC 3418).
const (
	sysUpTimeName   = "1.3.6.1.2.1.1.3.0"
	snmpTrapOIDName = "1.3.6.1.6.3.1.1.4.1.0"
)

// SysUpTime is the name sysUpTime.0.
func SysUpTime() OID { return OID{1, 3, 6, 1, 2, 1, 1, 3, 0} }

// SnmpTrapOID is the name snmpTrapOID.0.
func SnmpTrapOID() OID { return OID{1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0} }

// Notification is what an agent says unasked.
type Notification struct {
	// UpTime is how long the agent had been up, in steps of 10 ms, modulo
	// 2^32 of them.
	UpTime   time.Duration
	Name     OID // what it is, the value of snmpTrapOID.0
	Bindings []Binding
	// Inform tells that the agent waits for a Response.
	Inform bool
}

// Message makes the message that carries a notification.
func (n *Notification) Message(community string, id int32) *Message {
	m := &Message{community, PDU{Kind: TrapV2, RequestID: id}}
	if n.Inform {
		m.Kind = Inform
	}
	m.Bindings = append([]Binding{
		{Name: SysUpTime(), Value: TimeTicks(n.UpTime)},
		{Name: SnmpTrapOID(), Value: Identifier(n.Name)},
	}, n.Bindings...)
	return m
}

// Notification reads a received trap or inform. It fails with ErrMalformed when
// the first two variables are not sysUpTime.0 and snmpTrapOID.0.
func (p *PDU) Notification() (*Notification, error) {
	if p.Kind != TrapV2 && p.Kind != Inform {
		return nil, fmt.Errorf("%w: %v is no notification", ErrMalformed, p.Kind)
	}
	if len(p.Bindings) < 2 ||
		!p.Bindings[0].Name.Equal(SysUpTime()) || p.Bindings[0].Value.Type != TypeTimeTicks ||
		!p.Bindings[1].Name.Equal(SnmpTrapOID()) ||
		p.Bindings[1].Value.Type != TypeObjectIdentifier {
		return nil, fmt.Errorf("%w: a notification begins with sysUpTime.0 (%s) and snmpTrapOID.0 (%s)",
			ErrMalformed, sysUpTimeName, snmpTrapOIDName)
	}
	return &Notification{
		UpTime:   time.Duration(p.Bindings[0].Value.Int) * 10 * time.Millisecond,
		Name:     p.Bindings[1].Value.OID,
		Bindings: p.Bindings[2:],
		Inform:   p.Kind == Inform,
	}, nil
}
