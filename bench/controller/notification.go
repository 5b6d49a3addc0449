package controller

import (
	"time"

	"haltmark/emulators/snmp"
)

// Notice is a notification as it was received.
type Notice struct {
	At     time.Duration
	Name   string // of the profile, or the dotted object identifier
	Status Status // by the status word that came along; else what was known
	Number int64  // serial number that came along, -1 for none
	Text   string
	Repeat bool // the number is that of an earlier one
	Raw    *snmp.Notification
}

// receiver is the session of the notification port.
type receiver struct{ o *Observer }

// Respond takes one datagram in. Only informs are answered.
func (r receiver) Respond(dst, datagram []byte) []byte {
	o := r.o
	m, err := snmp.Decode(datagram)
	p := &o.profile
	if err != nil || m.Community != p.ReadCommunity && m.Community != p.WriteCommunity {
		return o.undecodable(dst)
	}
	n, err := m.Notification()
	if err != nil {
		return o.undecodable(dst)
	}
	o.receive(n)
	if n.Inform {
		if out, err := m.Acknowledge().Append(dst); err == nil {
			return out
		}
	}
	return dst
}

func (o *Observer) undecodable(dst []byte) []byte {
	o.mu.Lock()
	o.counters.Undecodable++
	o.mu.Unlock()
	return dst
}

// receive learns from a notification and tells the hooks.
func (o *Observer) receive(n *snmp.Notification) {
	notice := Notice{At: o.arrived, Name: n.Name.String(), Number: -1, Raw: n}
	for _, k := range o.profile.Notifications {
		if k.OID.Equal(n.Name) {
			notice.Name = k.Name
		}
	}
	word, counter := -1, -1
	for i, b := range n.Bindings {
		switch {
		case b.Name.Equal(o.profile.Status) && b.Value.Type == snmp.TypeInteger:
			word = i
		case b.Name.Equal(o.profile.Counter) && b.Value.Type == snmp.TypeCounter32:
			counter = i
		case o.profile.NotificationNumber != nil && b.Name.Equal(o.profile.NotificationNumber):
			notice.Number = b.Value.Int
		case o.profile.NotificationText != nil && b.Name.Equal(o.profile.NotificationText):
			notice.Text = string(b.Value.Octets)
		}
	}
	if word >= 0 && counter >= 0 {
		o.learnNews(int32(n.Bindings[word].Value.Int), uint32(n.Bindings[counter].Value.Int))
	}
	o.mu.Lock()
	o.counters.Notifications++
	notice.Status = o.latest
	if word >= 0 {
		o.words.read(&o.profile.Layout, int32(n.Bindings[word].Value.Int), &notice.Status)
	}
	if notice.Number >= 0 {
		notice.Repeat = notice.Number <= o.number
		o.number = max(o.number, notice.Number)
	}
	hooks := o.onNotification
	o.mu.Unlock()
	for _, h := range hooks {
		h(notice)
	}
}

// learnNews learns from a notification unless a poll has told of a later cycle.
func (o *Observer) learnNews(word int32, counter uint32) {
	o.mu.Lock()
	older := o.latest.Heard && int32(counter-o.latest.Counter) < 0
	o.mu.Unlock()
	if !older {
		o.learn(o.arrived, word, counter, ByNotification)
	}
}
