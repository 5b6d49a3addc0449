package standin

import (
	"errors"
	"fmt"
	"math"
	"os"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/emulators/cia402"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// replyTime is how long an exchange may take within a cycle; a later answer is
// stale and dropped by its transaction id.
const replyTime = 6 * time.Millisecond

// redialTime is the pause between attempts to connect again.
const redialTime = 500 * time.Millisecond

// device is one device on its own connection.
type device struct {
	seat    Seat
	client  *registers.Client
	conn    link.Conn
	heard   time.Duration // last whole answer
	fresh   bool          // answered in this cycle
	waiting int           // requests not yet answered
	redial  time.Duration
	buffer  []byte
}

func newDevice(seat Seat, read, write []string) (*device, error) {
	client, err := registers.NewClient(seat.Map, seat.Gear, read, write)
	if err != nil {
		return nil, fmt.Errorf("standin: %s: %w", seat.Name, err)
	}
	client.Unit = seat.Unit
	return &device{seat: seat, client: client}, nil
}

func (d *device) close() error {
	if d.conn == nil {
		return nil
	}
	err := d.conn.Close()
	d.conn = nil
	return err
}

// request sends every request of an exchange; collect awaits the answers.
func (d *device) request(c *Controller, now time.Duration) {
	d.fresh, d.waiting = false, 0
	if d.conn == nil && !d.connect(c, now) {
		return
	}
	for i := range d.client.Requests() {
		d.buffer = d.client.AppendRequest(d.buffer[:0], i)
		if d.conn.Write(d.buffer) != nil {
			d.disconnect(now)
			return
		}
		d.waiting++
	}
}

func (d *device) connect(c *Controller, now time.Duration) bool {
	if now < d.redial {
		return false
	}
	conn, err := c.net.Dial(d.seat.Endpoint, link.ModbusTCP)
	if err != nil {
		d.redial = now + redialTime
		return false
	}
	d.conn = conn
	d.client.Reset()
	return true
}

func (d *device) disconnect(now time.Duration) {
	// What is broken has nothing left to close.
	_ = d.close()
	d.waiting = 0
	d.redial = now + redialTime
}

// collect reads until everything asked is answered or the deadline has come. Stale
// answers are dropped; an exception is an answer without values.
func (d *device) collect(p clock.Process, deadline time.Duration) {
	whole := d.waiting > 0
	for d.waiting > 0 {
		reply, err := d.conn.Read(p, deadline)
		if errors.Is(err, os.ErrDeadlineExceeded) {
			d.waiting = 0
			return
		}
		if err != nil {
			d.disconnect(p.Now())
			return
		}
		_, err = d.client.Decode(reply)
		if errors.Is(err, modbus.ErrStale) {
			continue
		}
		whole = whole && err == nil
		d.waiting--
	}
	if whole {
		d.fresh, d.heard = true, p.Now()
	}
}

// silent reports whether a device has been unheard for too long.
func (c *Controller) silent(d *device, now time.Duration) bool {
	return now-d.heard >= c.set.Timing.Silence
}

// Quantities read from and written to each kind of device.
func encoderReads() []string { return []string{"position_value", "alarms"} }

func driveReads() []string {
	return []string{"statusword", "velocity_actual", "torque_actual", "error_code"}
}

func driveWrites() []string { return []string{"controlword", "target_velocity", "torque_offset"} }

// encoderLink is an encoder with what is kept between its readings.
type encoderLink struct {
	*device
	counts     float64 // last accepted, wrapped
	unwrapped  float64 // counts
	jumps      int     // readings in a row that were too far away
	good       int     // readings since the last jump
	alarm      bool
	referenced bool
	lastAt     time.Duration
}

// Check tells what this controller reads or writes and a device's register map has not.
func (d Devices) Check() error {
	var none Controller
	return none.connect(d)
}

// connect makes a device of every seat.
func (c *Controller) connect(seats Devices) error {
	var err error
	for i := range c.encoders {
		d, e := newDevice(seats.Encoders[i], encoderReads(), nil)
		c.encoders[i].device, err = d, errors.Join(err, e)
	}
	for m := range c.drives {
		d, e := newDevice(seats.Drives[m], driveReads(), driveWrites())
		c.drives[m], err = d, errors.Join(err, e)
	}
	d, e := newDevice(seats.Interlock, interlockReads(), interlockWrites())
	c.interlock = d
	return errors.Join(err, e)
}

// readInputs exchanges with the encoders and the interlock unit. All requests go
// out before any answer is awaited, so that one slow device delays no other.
func (c *Controller) readInputs(p clock.Process) {
	now := p.Now()
	c.interlock.request(c, now)
	for i := range c.encoders {
		c.encoders[i].request(c, now)
	}
	deadline := now + replyTime
	c.interlock.collect(p, deadline)
	for i := range c.encoders {
		c.encoders[i].collect(p, deadline)
	}
}

// writeOutputs sends the drives their words, and takes their answers.
func (c *Controller) writeOutputs(p clock.Process) {
	now := p.Now()
	for i := range c.axes {
		a := &c.axes[i]
		first, count := motorsOf(i)
		for m := range count {
			d := c.drives[first+m]
			word := a.out[m].word
			if c.clearDrives > 0 && a.motors[m].state == cia402.Fault {
				word = cia402.CommandFaultReset
			}
			d.client.Set(0, float64(word))
			d.client.Set(1, a.out[m].rate)
			d.client.Set(2, a.out[m].offset/float64(a.set.RatedTorque)*1000)
			d.request(c, now)
		}
	}
	if c.clearDrives > 0 {
		c.clearDrives--
	}
	if c.setOutputs() { // what has changed does not wait for the next cycle
		c.interlock.request(c, now)
		c.interlock.collect(p, now+replyTime)
	}
	for _, d := range c.drives {
		d.collect(p, now+replyTime)
	}
}

// takeReadings turns what was heard into positions, rates and states.
func (c *Controller) takeReadings(time.Duration) {
	dt := c.set.Timing.Cycle.Seconds()
	for i := range c.axes {
		c.takePosition(i, dt)
		a := &c.axes[i]
		first, count := motorsOf(i)
		for m := range count {
			d, status := c.drives[first+m], &a.motors[m]
			status.heard = d.fresh
			if d.heard == 0 {
				status.decoded = true // nothing heard yet is silence, not a fault
				continue
			}
			status.state, status.decoded = cia402.Decode(uint16(d.client.Value(0)))
			status.rate = d.client.Value(1)
			status.torque = d.client.Value(2) / 1000 * float64(a.set.RatedTorque)
			status.code = uint16(d.client.Value(3))
			status.brakeSet = c.inputs.brakeSet[first+m]
		}
	}
	if c.interlock.fresh {
		c.takeInterlock()
	}
}

// goodReadings on end make up for a jump; one between two does not.
const goodReadings = 5

// takePosition unwraps a reading: a step of less than half the range is taken the
// short way (common practice), one that the axis cannot have made is kept out. dt is
// the cycle in seconds.
func (c *Controller) takePosition(i int, dt float64) {
	e, a := &c.encoders[i], &c.axes[i]
	if !e.fresh { // until it is lost for good, the motors tell how far the axis went
		a.position += float64(a.motorRate() * dt)
		return
	}
	counts := e.client.Value(0)
	e.alarm = e.client.Value(1) != 0
	total, angle := float64(a.set.EncoderCounts), float64(a.set.EncoderCountAngle)
	if !e.referenced {
		e.referenced = true
		e.counts, e.unwrapped, e.lastAt = counts, c.nearest(i, counts), e.heard
		a.position = float64(a.set.EncoderZero) + e.unwrapped*angle
		return
	}
	step := math.Remainder(counts-e.counts, total)
	span := math.Max(dt, (e.heard - e.lastAt).Seconds())
	reach := c.thresholds.jump*float64(a.set.FullRate)*span + 2*math.Abs(angle)
	if math.Abs(step*angle) > reach {
		e.jumps, e.good = e.jumps+1, 0
		return
	}
	if e.good++; e.good >= goodReadings {
		e.jumps = 0
	}
	e.counts, e.unwrapped, e.lastAt = counts, e.unwrapped+step, e.heard
	a.rate = step * angle / span
	a.position = float64(a.set.EncoderZero) + e.unwrapped*angle
}

// nearest is the unwrapped count of a first reading: the one inside the travel.
func (c *Controller) nearest(i int, counts float64) float64 {
	a := &c.axes[i]
	total, angle := float64(a.set.EncoderCounts), float64(a.set.EncoderCountAngle)
	middle := float64(a.set.SoftwareLimits[0]+a.set.SoftwareLimits[1]) / 2
	turns := math.Round(((middle-float64(a.set.EncoderZero))/angle - counts) / total)
	return counts + turns*total
}
