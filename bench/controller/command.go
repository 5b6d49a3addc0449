package controller

import (
	"errors"
	"fmt"
	"math"
	"sync"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/snmp"
)

// Outcome is what became of a command.
type Outcome int

// The outcomes.
const (
	Waiting Outcome = iota
	Obeyed
	Refused // by the controller; Reason says why
	Failed  // no answer, or nothing to send; Reason says what
)

// String is the outcome in a word.
func (o Outcome) String() string {
	return [...]string{"waiting", "obeyed", "refused", "failed"}[o]
}

// Report is a command and what is known of it.
type Report struct {
	Verb     Verb
	Axis     int     // or AllAxes
	Value    float64 // rad, rad/s, or a number
	Token    int32
	Outcome  Outcome
	Reason   string
	Queued   time.Duration // given to the observer
	Sent     time.Duration // first try on its way
	Answered time.Duration // its Set was answered
	Decided  time.Duration // its outcome was known
	Tries    int
}

// Order is a command that was given to the observer.
type Order struct {
	mu     sync.Mutex
	report Report
}

// Report is what is known of the command now.
func (r *Order) Report() Report {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.report
}

// Done reports whether the outcome is known.
func (r *Order) Done() bool { return r.Report().Outcome != Waiting }

func (r *Order) note(change func(*Report)) Report {
	r.mu.Lock()
	defer r.mu.Unlock()
	change(&r.report)
	return r.report
}

// Command gives a command: axis is a plant.Axis or AllAxes, value rad for
// Position, rad/s for Rate, a number for Select, else 0. It returns at once, may
// be called from anywhere, and commands go out in the order given.
func (o *Observer) Command(verb Verb, axis int, value float64) *Order {
	o.mu.Lock()
	o.token++
	order := &Order{report: Report{
		Verb: verb, Axis: axis, Value: value, Token: o.token, Queued: o.clock.Now(),
	}}
	o.queue = append(o.queue, order)
	o.mu.Unlock()
	o.wake.Raise()
	return order
}

func (o *Observer) nextOrder() *Order {
	o.mu.Lock()
	defer o.mu.Unlock()
	if len(o.queue) == 0 {
		return nil
	}
	next := o.queue[0]
	o.queue = o.queue[1:]
	return next
}

// commander is the process that sends commands.
type commander struct {
	*Observer
	conn   link.Conn
	result *snmp.Poll // nil when the profile has none
	buffer []byte
}

func (o *Observer) commands(conn link.Conn) (func(clock.Process), error) {
	c := &commander{Observer: o, conn: conn}
	if r := o.profile.Result; r != nil {
		var err error
		names := []snmp.OID{r.Token, r.Code}
		if c.result, err = snmp.NewPoll(o.profile.ReadCommunity, names); err != nil {
			return nil, err
		}
	}
	return func(p clock.Process) {
		for {
			if order := o.nextOrder(); order != nil {
				c.carryOut(p, order)
				continue
			}
			p.Wait(&o.wake, clock.Never)
		}
	}, nil
}

// carryOut sends a command until it is answered and finds out what became of it.
func (c *commander) carryOut(p clock.Process, order *Order) {
	id := c.ids.Next()
	message, err := c.message(order.Report(), id)
	if err != nil {
		c.decide(p, order, Failed, err.Error())
		return
	}
	answer, err := c.set(p, order, message, id)
	if err != nil {
		c.decide(p, order, Failed, err.Error())
		return
	}
	now := p.Now()
	order.note(func(r *Report) { r.Answered = now })
	switch {
	case answer.Status != snmp.NoError:
		reason := (&snmp.StatusError{Status: answer.Status, Index: answer.Index}).Error()
		if c.result != nil {
			if code, ok := c.readResult(p, order); ok {
				reason = c.reason(code)
			}
		}
		c.decide(p, order, Refused, reason)
	case c.result == nil:
		c.decide(p, order, Obeyed, "")
	default:
		c.awaitResult(p, order)
	}
}

// set sends the message, and again when no answer comes in time. All tries have
// one request-id and one token, so that any answer counts and none acts twice.
func (c *commander) set(
	p clock.Process, order *Order, message []byte, id int32,
) (*snmp.Message, error) {
	var last error
	for try := range c.timing.Tries {
		now := p.Now()
		report := order.note(func(r *Report) {
			r.Tries++
			if try == 0 {
				r.Sent = now
			}
		})
		if try == 0 {
			c.announce(now, report)
		}
		deadline := now + c.timing.Timeout
		if last = c.conn.Write(message); last != nil {
			p.SleepUntil(deadline)
			continue
		}
		var answer *snmp.Message
		if answer, last = c.answer(p, id, deadline); last == nil {
			return answer, nil
		}
		p.SleepUntil(deadline) // an error that came before its time
	}
	return nil, fmt.Errorf("controller: no answer to %d tries: %w", c.timing.Tries, last)
}

// answer reads until the response to that request or the deadline.
func (c *commander) answer(
	p clock.Process, id int32, deadline time.Duration,
) (*snmp.Message, error) {
	for {
		datagram, err := c.conn.Read(p, deadline)
		if err != nil {
			return nil, err
		}
		m, err := snmp.Decode(datagram)
		if err == nil && m.Kind == snmp.Response && m.RequestID == id {
			return m, nil
		}
	}
}

// awaitResult reads the result objects until they tell of this command.
func (c *commander) awaitResult(p clock.Process, order *Order) {
	until := p.Now() + c.timing.ResultTimeout
	for {
		if code, ok := c.readResult(p, order); ok {
			if code == c.profile.Result.Obeyed {
				c.decide(p, order, Obeyed, "")
			} else {
				c.decide(p, order, Refused, c.reason(code))
			}
			return
		}
		if p.Now() >= until {
			c.decide(p, order, Failed, "controller: taken, but never decided")
			return
		}
		p.SleepUntil(p.Now() + c.timing.Poll)
	}
}

// readResult asks for the result once; ok when it is that of the command.
func (c *commander) readResult(p clock.Process, order *Order) (code int, ok bool) {
	var err error
	c.buffer, err = c.exchange(p, c.conn, c.result, c.buffer, p.Now()+c.timing.Timeout)
	v := c.result.Values()
	if err != nil || v[0].Type != snmp.TypeInteger || v[1].Type != snmp.TypeInteger {
		return 0, false
	}
	return int(v[1].Int), v[0].Int == int64(order.Report().Token)
}

func (c *commander) reason(code int) string {
	for _, r := range c.profile.Result.Reasons {
		if r.Code == code {
			return r.Text
		}
	}
	return fmt.Sprintf("result code %d", code)
}

func (c *commander) decide(p clock.Process, order *Order, outcome Outcome, reason string) {
	now := p.Now()
	report := order.note(func(r *Report) { r.Outcome, r.Reason, r.Decided = outcome, reason, now })
	c.announce(now, report)
}

// announce has the command hooks called as an event.
func (o *Observer) announce(at time.Duration, report Report) {
	hooks := o.onCommand
	if len(hooks) == 0 {
		return
	}
	o.clock.At(at, func() {
		for _, h := range hooks {
			h(report)
		}
	})
}

// message encodes the Set of a command.
func (o *Observer) message(r Report, id int32) ([]byte, error) {
	m := snmp.Message{
		Community: o.profile.WriteCommunity, PDU: snmp.PDU{Kind: snmp.Set, RequestID: id},
	}
	for _, c := range o.profile.Commands {
		if c.Verb != r.Verb {
			continue
		}
		for _, w := range c.Set {
			v, err := o.filled(w, r)
			if err != nil {
				return nil, err
			}
			m.Bindings = append(m.Bindings, snmp.Binding{Name: w.OID, Value: v})
		}
	}
	if len(m.Bindings) == 0 {
		return nil, fmt.Errorf("controller: profile %s has no command %v", o.profile.Name, r.Verb)
	}
	return m.Append(nil)
}

// filled is the value of one variable of a command's Set.
func (o *Observer) filled(w Write, r Report) (snmp.Value, error) {
	var n float64
	switch w.Fill {
	case FillFixed:
		return w.Fixed, nil
	case FillToken:
		n = float64(r.Token)
	case FillValue:
		n = math.RoundToEven(r.Value / scaleOf(w.Scale))
	case FillAxis:
		switch {
		case r.Axis == AllAxes:
			n = float64(o.profile.AllAxes)
		case r.Axis >= 0 && r.Axis < int(plant.AxisCount):
			n = float64(o.profile.AxisNumbers[r.Axis])
		default:
			return snmp.Value{}, fmt.Errorf("controller: no axis %d", r.Axis)
		}
	}
	low, high := float64(math.MinInt32), float64(math.MaxInt32)
	switch w.Type {
	case snmp.TypeInteger:
	case snmp.TypeGauge32, snmp.TypeCounter32, snmp.TypeTimeTicks:
		low, high = 0, math.MaxUint32
	default:
		return snmp.Value{}, errors.New("controller: only whole numbers can be filled into a command")
	}
	if !(n >= low && n <= high) {
		return snmp.Value{}, fmt.Errorf("controller: %v with %g does not fit %v", r.Verb, r.Value, w.Type)
	}
	return snmp.Value{Type: w.Type, Int: int64(n)}, nil
}
