package controller

import (
	"errors"
	"math"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/snmp"
)

// exchange asks a poll's question and waits for its answer until the deadline.
// Late answers to earlier questions are read over.
func (o *Observer) exchange(
	p clock.Process, conn link.Conn, poll *snmp.Poll, request []byte, deadline time.Duration,
) ([]byte, error) {
	id := o.ids.Next()
	request = poll.AppendRequest(request[:0], id)
	if err := conn.Write(request); err != nil {
		return request, err
	}
	for {
		m, err := conn.Read(p, deadline)
		if err != nil {
			return request, err
		}
		if _, err = poll.Decode(m, id); err == nil || refusal(err) {
			return request, err
		}
	}
}

// refusal reports whether the agent answered, but with an error-status.
func refusal(err error) bool {
	var refused *snmp.StatusError
	return errors.As(err, &refused)
}

// pace calls turn at every multiple of the period, skipping those that have
// passed while a turn took its time.
func pace(p clock.Process, period time.Duration, turn func(due time.Duration)) {
	for due := p.Now(); ; {
		p.SleepUntil(due)
		turn(due)
		due += max(1, (p.Now()-due+period-1)/period) * period
	}
}

// statusPoll is the process that asks for status word and cycle counter.
func (o *Observer) statusPoll(conn link.Conn) (func(clock.Process), error) {
	names := []snmp.OID{o.profile.Status, o.profile.Counter}
	poll, err := snmp.NewPoll(o.profile.ReadCommunity, names)
	if err != nil {
		return nil, err
	}
	return func(p clock.Process) {
		var request []byte
		pace(p, o.timing.Poll, func(due time.Duration) {
			var err error
			request, err = o.exchange(p, conn, poll, request, due+o.timing.Poll)
			now := p.Now()
			o.count(now - due)
			v := poll.Values()
			if err != nil || v[0].Type != snmp.TypeInteger || v[1].Type != snmp.TypeCounter32 {
				o.miss(now)
				return
			}
			o.learn(now, int32(v[0].Int), uint32(v[1].Int), ByPoll)
		})
	}, nil
}

func (o *Observer) count(lateness time.Duration) {
	o.mu.Lock()
	o.counters.Polls++
	o.counters.LatenessMax = max(o.counters.LatenessMax, lateness)
	o.mu.Unlock()
}

// cell is one object of the table.
type cell struct {
	axis  int
	name  string
	scale float64
}

// tablePoll is the process that asks for the table of axes and the version. It
// is nil when the profile has neither.
func (o *Observer) tablePoll(conn link.Conn) (func(clock.Process), error) {
	var names []snmp.OID
	var cells []cell
	for _, c := range o.profile.Columns {
		for axis, name := range c.OIDs {
			if name == nil {
				continue
			}
			names = append(names, name)
			cells = append(cells, cell{axis, c.Name, scaleOf(c.Scale)})
		}
	}
	if o.profile.Version != nil {
		names = append(names, o.profile.Version)
	}
	if len(names) == 0 {
		return nil, nil
	}
	poll, err := snmp.NewPoll(o.profile.ReadCommunity, names)
	if err != nil {
		return nil, err
	}
	return func(p clock.Process) {
		var request []byte
		pace(p, o.timing.Table, func(due time.Duration) {
			var err error
			request, err = o.exchange(p, conn, poll, request, due+o.timing.Table)
			if err == nil {
				o.fill(p.Now(), cells, poll.Values())
			}
		})
	}, nil
}

func scaleOf(scale float64) float64 {
	if scale == 0 {
		return 1
	}
	return scale
}

// unseen is an axis of which nothing is known.
func unseen() AxisView {
	return AxisView{Position: math.NaN(), Rate: math.NaN(), Target: math.NaN(), State: -1}
}

// fill takes in an answered table.
func (o *Observer) fill(now time.Duration, cells []cell, values []snmp.Value) {
	var axes [plant.AxisCount]AxisView
	for i := range axes {
		axes[i] = unseen()
		axes[i].At = now
	}
	for i, c := range cells {
		if values[i].Type != snmp.TypeInteger {
			continue
		}
		v, a := float64(values[i].Int)*c.scale, &axes[c.axis]
		switch c.name {
		case "position":
			a.Position = v
		case "rate":
			a.Rate = v
		case "target":
			a.Target = v
		case "state":
			a.State = int(values[i].Int)
		}
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	o.axes = axes
	if v := values[len(values)-1]; o.profile.Version != nil && v.Type == snmp.TypeOctetString &&
		string(v.Octets) != o.version {
		o.version = string(v.Octets)
	}
}
