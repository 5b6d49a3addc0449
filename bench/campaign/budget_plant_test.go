package campaign_test

import (
	"encoding/binary"
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// bytesEvery is the pace of the exchanges, and at which the torque of a plant
// alone changes.
const bytesEvery = 10 * time.Millisecond

// exchangesEach is how many exchanges there are each time.
const exchangesEach = 10

// bare is the plant of the demo station with nothing round it: main axes swing to
// and fro on a torque that changes every 10 ms, polarization axes are braked.
type bare struct {
	p  *plant.Plant
	in plant.Input
	n  int
}

func newBare(t testing.TB) *bare {
	c, _ := loadDemo(t)
	p, err := plant.New(c.Station().Plant, station.DefaultStep)
	if err != nil {
		t.Fatal(err)
	}
	b := &bare{p: p}
	for m := range b.in.BrakeCoil {
		b.in.BrakeCoil[m] = plant.MotorAxis[m].Main()
	}
	return b
}

// swing is the torque of a motor for the next 10 ms, N m.
func (b *bare) swing(m int) float64 {
	if !plant.MotorAxis[m].Main() {
		return 0
	}
	bias := float64(8000 - 16000*(m%2))
	return bias + 9000*math.Sin(float64(b.n)*2*math.Pi/16000)
}

// steps carries the plant on for 10 ms.
func (b *bare) steps() {
	for range bytesEvery / station.DefaultStep {
		b.n++
		b.p.Step(&b.in)
	}
}

// leads makes a run of a stretch in which a controller acts every 10 ms.
func (b *bare) leads(act func()) func() {
	return func() {
		for range stretch / bytesEvery {
			act()
			b.steps()
		}
	}
}

func plantAlone(t testing.TB) (func(), time.Duration) {
	b := newBare(t)
	return b.leads(func() {
		for m := range b.in.MotorTorque {
			b.in.MotorTorque[m] = b.swing(m)
		}
	}), stretch
}

// table is a device that is nothing but its registers.
type table struct {
	names  []string
	values []float64
}

func (t *table) Quantities() []string          { return t.names }
func (t *table) Load(id int) float64           { return t.values[id] }
func (t *table) Store(id int, v float64) error { t.values[id] = v; return nil }

// tabled puts a table behind the map of a seat.
func tabled(t testing.TB, seat *station.Seat, reads, writes []string) exchanger {
	all := map[string]bool{}
	d := &table{}
	for _, p := range seat.Map.Points {
		if !all[p.Quantity] {
			all[p.Quantity] = true
			d.names = append(d.names, p.Quantity)
		}
	}
	d.values = make([]float64, len(d.names))
	e := newExchanger(d, reads, writes)
	e.connect(t, *seat, reads, writes)
	return e
}

var _ registers.Device = (*table)(nil)

// tableDrives are the main axes' drives, one exchange each, and one of two more.
const tableDrives = 5

// plantByMaps is the plant with ten Modbus exchanges every 10 ms, both sides, whose
// registers mean quantities by the demo station's maps: drives take their torques
// and tell their motors' rates, four encoders tell their axes' positions.
func plantByMaps(t testing.TB) (func(), time.Duration) {
	b := newBare(t)
	c, _ := loadDemo(t)
	set := c.Station()
	var drives [tableDrives]exchanger
	var encoders [plant.AxisCount]exchanger
	for m := range drives {
		drives[m] = tabled(t, set.Seat(station.RoleDrive, m),
			[]string{"statusword", "velocity_actual", "torque_actual", "error_code"},
			[]string{"controlword", "target_velocity", "torque_offset"})
	}
	for a := range encoders {
		encoders[a] = tabled(t, set.Seat(station.RoleEncoder, a),
			[]string{"position_value", "alarms"}, nil)
	}
	exchanges := 0
	for _, e := range slices.Concat(drives[:], encoders[:]) {
		exchanges += e.client.Requests()
	}
	if exchanges != exchangesEach {
		t.Fatalf("%d exchanges, want %d", exchanges, exchangesEach)
	}
	return b.leads(func() {
		state := b.p.State()
		for a := range encoders {
			e := &encoders[a]
			d := e.device.(*table)
			angle := float64(set.Encoders[a].CountAngle())
			d.values[e.reads[0]] = math.Round((state.Position[a] + 2*math.Pi) / angle)
			e.exchange(t)
		}
		for m := range drives {
			e := &drives[m]
			d, rated := e.device.(*table), float64(set.Drives[m].RatedTorque)
			d.values[e.reads[1]] = state.MotorRate[m]
			e.values[0] = float64(cia402.CommandEnableOperation)
			e.values[2] = b.swing(m) / rated * 1000
			e.exchange(t)
			b.in.MotorTorque[m] = d.values[e.writes[2]] / 1000 * rated
		}
	}), stretch
}

// registersOf is a bank of holding registers and nothing more.
type registersOf [32]byte

func (r *registersOf) Check(s modbus.Space, address, count uint16, _ bool) modbus.Code {
	if s != modbus.Holding || 2*(int(address)+int(count)) > len(r) {
		return modbus.IllegalAddress
	}
	return 0
}

func (r *registersOf) ReadRegisters(_ modbus.Space, address uint16, dst []byte) modbus.Code {
	copy(dst, r[2*address:])
	return 0
}

func (r *registersOf) WriteRegisters(address uint16, src []byte) modbus.Code {
	copy(r[2*address:], src)
	return 0
}

func (r *registersOf) ReadBits(modbus.Space, uint16, uint16, []byte) modbus.Code {
	return modbus.IllegalFunction
}

func (r *registersOf) WriteBits(uint16, uint16, []byte) modbus.Code {
	return modbus.IllegalFunction
}

// byteWire is a client and a server of one bank. In its registers stand, written:
// word, rate, torque (2, 4, 2 bytes); read: word, rate or position, torque, error.
type byteWire struct {
	bank           registersOf
	server         modbus.Server
	header         modbus.Header
	written        [8]byte
	request, reply []byte
}

const readAt, readCount = 8, 5

// exchange writes, where there is anything to be written, and reads.
func (w *byteWire) exchange(t testing.TB, writes bool) []byte {
	w.header.Transaction++
	block := modbus.Block{Address: readAt, Count: readCount}
	if writes {
		w.request = modbus.AppendReadWrite(w.request[:0], w.header, block, 0, w.written[:])
	} else {
		w.request = modbus.AppendRead(w.request[:0], w.header, modbus.Holding, block)
	}
	w.reply = w.server.Respond(w.reply[:0], w.request)
	data, err := modbus.Decode(w.request, w.reply)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// plantByBytes is plantByMaps with nothing between plant and bytes: six drives, four
// encoders, every register a whole number of what it counts.
func plantByBytes(t testing.TB) (func(), time.Duration) {
	const countsPerRad, perNm = 1e6, 0.5
	b := newBare(t)
	wires := make([]byteWire, plant.MotorCount+plant.AxisCount)
	for i := range wires {
		wires[i].server.Attach(0, &modbus.Unit{Bank: &wires[i].bank})
	}
	var told [plant.MotorCount + plant.AxisCount]int32 // what the controller's side hears
	order := binary.BigEndian
	return b.leads(func() {
		state := b.p.State()
		for i := range wires {
			w, m := &wires[i], i-plant.AxisCount
			if m < 0 {
				order.PutUint32(w.bank[2*readAt+2:], uint32(int32(countsPerRad*state.Position[i])))
			} else {
				order.PutUint32(w.bank[2*readAt+2:], uint32(int32(countsPerRad*state.MotorRate[m])))
				order.PutUint16(w.written[6:], uint16(int16(perNm*b.swing(m))))
			}
			told[i] = int32(order.Uint32(w.exchange(t, m >= 0)[2:]))
			if m >= 0 {
				b.in.MotorTorque[m] = float64(int16(order.Uint16(w.bank[6:]))) / perNm
			}
		}
	}), stretch
}
