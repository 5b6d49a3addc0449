package standin

import (
	"errors"
	"math"
	"slices"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/quantity"
	"haltmark/emulators/snmp"
)

// State is the controller's state as the MIB names it.
type State int

// The states, with the numbers of the MIB.
const (
	StateResting State = iota
	StateArmed
	StateMoving
	StateFollowing
	StateHolding
	StateStowing
	StateStopped
)

// Version is what the stand-in says of itself.
const Version = "haltmark stand-in 1"

// Communities of the agent until management has its own security.
const (
	ReadCommunity  = "watch"
	WriteCommunity = "steer"
)

// enterprise is the documentation number of RFC 5612: for examples only, a
// deployed controller needs its owner's own.
func enterprise() snmp.OID { return snmp.OID{1, 3, 6, 1, 4, 1, 32473} }

// agent is the supervisory system's view of the controller. Its session runs with
// the controller held still, so both may touch the same fields.
type agent struct {
	c        *Controller
	codec    *snmp.Agent
	listener link.Listener
	receiver link.Conn // of notifications
	now      time.Duration
	started  time.Duration
	status   int32
	written  [4]int32  // verb, axis, value, token
	decided  int32     // token of the last command decided
	past     [32]int32 // the last ones
	pasts    int
	result   int32
	queue    []order
	taken    []order
	notified uint32
	text     string
	requests int32
	buffer   []byte
}

// Results of a command, as the MIB numbers them.
const (
	resultObeyed     = 1
	resultUnknown    = 8
	notifyStopped    = 1
	notifyChanged    = 2
	notifyCauseGone  = 3
	microdegreeTurns = 1e6
)

func newAgent(c *Controller, seats Devices) (*agent, error) {
	a := &agent{c: c}
	var err error
	a.codec, err = snmp.NewAgent(snmp.AgentOptions{
		ReadCommunity: ReadCommunity, WriteCommunity: WriteCommunity, CheckSet: a.checkSet,
		Committed: a.committed,
	}, a.objects())
	if err != nil {
		return nil, err
	}
	a.listener, err = c.net.Serve(link.Service{
		Name: "controller", Endpoint: seats.Management, Framing: link.SNMPDatagram,
		Open:    func() link.Session { return a },
		Advance: func(now time.Duration) { a.now = now },
	})
	if err != nil {
		return nil, err
	}
	if seats.Notify.Address != "" {
		a.receiver, err = c.net.Dial(seats.Notify, link.SNMPDatagram)
	}
	return a, err
}

// Respond answers one datagram.
func (a *agent) Respond(dst, request []byte) []byte {
	return a.c.rules.answer(dst, request)
}

func (c *Controller) answerRequest(dst, request []byte) []byte {
	return c.agent.codec.Respond(dst, request)
}

func (a *agent) close() error {
	err := a.listener.Close()
	if a.receiver != nil {
		err = errors.Join(err, a.receiver.Close())
	}
	return err
}

func number(get func() int32) func() snmp.Value {
	return func() snmp.Value { return snmp.Integer(get()) }
}

// objects is the whole tree.
func (a *agent) objects() []snmp.Object {
	c, base := a.c, enterprise()
	read := func(get func() int32, sub ...uint32) snmp.Object {
		return snmp.Object{Name: base.Append(sub...), Type: snmp.TypeInteger, Get: number(get)}
	}
	objects := []snmp.Object{
		read(func() int32 { return a.status }, 1, 1, 0),
		{Name: base.Append(1, 2, 0), Type: snmp.TypeCounter32,
			Get: func() snmp.Value { return snmp.Counter32(c.cycles) }},
		{Name: base.Append(1, 3, 0), Type: snmp.TypeOctetString,
			Get: func() snmp.Value { return snmp.Text(Version) }},
		read(func() int32 { return [3]int32{2, 1, 3}[c.inputs.mode] }, 1, 4, 0),
		read(func() int32 { return a.decided }, 3, 5, 0),
		read(func() int32 { return a.result }, 3, 6, 0),
		{Name: base.Append(4, 1, 0), Type: snmp.TypeCounter32,
			Get: func() snmp.Value { return snmp.Counter32(a.notified) }},
		{Name: base.Append(4, 2, 0), Type: snmp.TypeOctetString,
			Get: func() snmp.Value { return snmp.Text(a.text) }},
		{Name: snmp.SysUpTime(), Type: snmp.TypeTimeTicks,
			Get: func() snmp.Value { return snmp.TimeTicks(a.now - a.started) }},
	}
	for i := range a.written {
		objects = append(objects, snmp.Object{
			Name: base.Append(3, uint32(i+1), 0), Type: snmp.TypeInteger,
			Get: number(func() int32 { return a.written[i] }),
			Write: func(v snmp.Value) error {
				a.written[i] = int32(v.Int)
				return nil
			},
		})
	}
	for k := range c.axes {
		objects = append(objects, a.axisObjects(k)...)
	}
	return objects
}

func (a *agent) axisObjects(k int) []snmp.Object {
	axis, n := &a.c.axes[k], uint32(k+1)
	column := func(col uint32, get func() int32) snmp.Object {
		return snmp.Object{Name: enterprise().Append(2, col, n), Type: snmp.TypeInteger,
			Get: number(get)}
	}
	return []snmp.Object{
		column(1, func() int32 { return microdegrees(axis.position) }),
		column(2, func() int32 { return microdegrees(axis.rate) }),
		column(3, func() int32 { return int32(axis.phase) }),
		column(4, func() int32 { return microdegrees(axis.goal.value) }),
	}
}

func microdegrees(rad float64) int32 {
	return int32(math.Round(quantity.Angle(rad).Degrees() * microdegreeTurns))
}

// command is the token and the order in a Set; token 0 is no order.
func (a *agent) command(set []snmp.Binding) (token int32, o order) {
	fields := a.written
	fields[3] = 0
	for _, b := range set {
		for i := range fields {
			if b.Name.Equal(enterprise().Append(3, uint32(i+1), 0)) {
				fields[i] = int32(b.Value.Int)
			}
		}
	}
	value := quantity.Angle(float64(fields[2])/microdegreeTurns) * quantity.Degree
	o = order{verb: Verb(fields[0]), axis: int(fields[1]) - 1, value: float64(value)}
	return fields[3], o
}

// checkSet refuses at once what cannot be obeyed as the controller stands.
func (a *agent) checkSet(set []snmp.Binding) (snmp.ErrorStatus, int) {
	token, o := a.command(set)
	if token == 0 || a.known(token) || a.queued(token) {
		return snmp.NoError, 0
	}
	if err := a.c.rules.accept(o, a.now); err != nil {
		a.remember(token, err)
		return snmp.InconsistentValue, 0
	}
	return snmp.NoError, 0
}

func (a *agent) queued(token int32) bool {
	for _, o := range a.queue {
		if o.token == token {
			return true
		}
	}
	return false
}

// committed queues the command of a Set for the next cycle.
func (a *agent) committed(set []snmp.Binding) {
	token, o := a.command(set)
	if token != 0 && !a.known(token) && !a.queued(token) {
		o.token = token
		a.queue = append(a.queue, o)
	}
}

// takeOrders hands the queue over.
func (a *agent) takeOrders() []order {
	orders := a.queue
	a.queue, a.taken = a.taken[:0], orders
	return orders
}

// decide notes what became of a command.
func (a *agent) decide(o order, err error) {
	a.remember(o.token, err)
}

// remember keeps the token of a command that has been decided: one that comes again, late or
// replayed, is no new command.
func (a *agent) remember(token int32, err error) {
	a.decided, a.result = token, resultOf(err)
	a.past[a.pasts%len(a.past)] = token
	a.pasts++
}

// known reports whether a command has been decided.
func (a *agent) known(token int32) bool { return slices.Contains(a.past[:], token) }

func resultOf(err error) int32 {
	if err == nil {
		return resultObeyed
	}
	for i, refusal := range []error{
		errLatched, errNotArmed, errLocal, errOutside, errInward, errPresent,
	} {
		if errors.Is(err, refusal) {
			return int32(i + 2)
		}
	}
	return resultUnknown
}

// publish composes the status word; a change of state or cause is notified.
func (a *agent) publish(now time.Duration) {
	c := a.c
	a.now = now
	first, on := c.rules.report(now)
	word := int32(c.state(now)) | int32(first)<<8
	if first != causeNone {
		word |= int32(on+1) << 4
	}
	if c.armed(now) {
		word |= 1 << 18
	}
	if first.latches() && !c.acknowledged {
		word |= 1 << 19
	}
	changed := (word^a.status)&0xFF0F != 0
	was := a.status
	a.status = word
	if !changed || a.receiver == nil {
		return
	}
	switch {
	case word>>8&0xFF != was>>8&0xFF && first != causeNone:
		a.send(notifyStopped, first.String(), now)
	case was>>8&0xFF != 0 && first == causeNone:
		a.send(notifyCauseGone, "cause gone", now)
	default:
		a.send(notifyChanged, "state changed", now)
	}
}

// firstCause is the first cause and its axis, or allAxes.
func (c *Controller) firstCause(time.Duration) (cause, int) { return c.first, c.firstAxis }

// send sends one notification; it never waits for the supervisory system.
func (a *agent) send(kind uint32, text string, now time.Duration) {
	a.notified++
	a.text = text
	a.requests++
	base := enterprise()
	n := snmp.Notification{
		UpTime: now - a.started, Name: base.Append(4, 0, kind),
		Bindings: []snmp.Binding{
			{Name: base.Append(1, 1, 0), Value: snmp.Integer(a.status)},
			{Name: base.Append(1, 2, 0), Value: snmp.Counter32(a.c.cycles)},
			{Name: base.Append(4, 1, 0), Value: snmp.Counter32(a.notified)},
			{Name: base.Append(4, 2, 0), Value: snmp.Text(text)},
		},
	}
	out, err := n.Message(ReadCommunity, a.requests).Append(a.buffer[:0])
	if err != nil {
		return // its own constants are always writable
	}
	a.buffer = out
	// A lost notification is seen by the poll; nothing waits for it.
	_ = a.receiver.Write(out)
}
