package campaign_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/campaign"
	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/interlock"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// The budget is what each layer of the stack adds to a millisecond of virtual
// time, on one core: azimuth and elevation in motion, the polarization axes at
// rest, everything at the plant step of the design.
const (
	stretch = 20 * time.Second // simulated in one go
	cycle   = 20 * time.Millisecond
	degree  = math.Pi / 180
)

// stage is one row of the budget: prepare makes a world and returns what carries
// it on for a stretch, and how long that is.
type stage struct {
	name    string
	prepare func(testing.TB) (run func(), simulated time.Duration)
}

func stages() []stage {
	direct := func(bytes bool) func(testing.TB) (func(), time.Duration) {
		return func(t testing.TB) (func(), time.Duration) {
			return newDirect(t, bytes).run, stretch
		}
	}
	world := func(observed, recorded bool) func(testing.TB) (func(), time.Duration) {
		return func(t testing.TB) (func(), time.Duration) {
			return newWorld(t, observed, recorded).run, stretch
		}
	}
	return []stage{
		{"plant", plantAlone},
		{"and devices", direct(false)},
		{"and bytes", direct(true)},
		{"and stand-in over link", world(false, false)},
		{"and SNMP observer", world(true, false)},
		{"and record", world(true, true)},
		{"scenarios and verdicts", scenarios},
	}
}

func loadDemo(t testing.TB) (*config.Station, *config.Controller) {
	s, err := config.LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	c, err := config.LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	return s, c
}

func plantAlone(t testing.TB) (func(), time.Duration) {
	s, _ := loadDemo(t)
	p, err := plant.New(s.Station().Plant, station.DefaultStep)
	if err != nil {
		t.Fatal(err)
	}
	in := &plant.Input{}
	for m := range in.BrakeCoil {
		in.BrakeCoil[m] = plant.MotorAxis[m].Main()
	}
	n := 0
	return func() {
		for range stretch / station.DefaultStep {
			n++
			swing := 9000 * math.Sin(float64(n)*2*math.Pi/16000)
			in.MotorTorque = [plant.MotorCount]float64{swing + 8000, swing - 8000, swing + 7000,
				swing - 7000}
			p.Step(in)
		}
	}, stretch
}

// directly is the station under the plainest of controllers, which leads the
// drives, feeds the interlock unit and reads everything once a control cycle.
type directly struct {
	t       testing.TB
	s       *station.Station
	devices []exchanger
	rate    float64
}

// exchanger is one device as a controller has it, without any network.
type exchanger struct {
	device registers.Device
	reads  []int // ids of quantities, as those that follow
	writes []int
	values []float64 // to be written
	client *registers.Client
	server *modbus.Server
	bytes  [2][]byte
}

func newDirect(t testing.TB, bytes bool) *directly {
	c, _ := loadDemo(t)
	set := c.Station()
	set.External = [plant.AxisCount]quantity.Torque{} // no integral that would hold against it
	s, err := station.New(set, station.Options{Position: [plant.AxisCount]float64{0, 45 * degree}})
	if err != nil {
		t.Fatal(err)
	}
	d := &directly{t: t, s: s}
	add := func(seat station.Seat, device registers.Device, reads, writes []string) {
		e := newExchanger(device, reads, writes)
		if bytes {
			e.connect(t, seat, reads, writes)
		}
		d.devices = append(d.devices, e)
	}
	for a := range s.Encoders {
		add(set.Encoders[a].Seat, s.Encoders[a], []string{"position_value", "alarms"}, nil)
	}
	for m := range s.Drives {
		add(set.Drives[m].Seat, s.Drives[m],
			[]string{"statusword", "velocity_actual", "torque_actual", "error_code"},
			[]string{"controlword", "target_velocity", "torque_offset"})
	}
	inputs, outputs := interlockWords()
	add(set.Interlock.Seat, s.Interlock, inputs, outputs)
	d.start()
	return d
}

// interlockWords are the bits that the stand-in reads and writes, about.
func interlockWords() (reads, writes []string) {
	all := interlock.Quantities()
	first := slices.Index(all, "enable_azimuth")
	reads = slices.DeleteFunc(slices.Clone(all[:first]), func(q string) bool {
		return q == "reset_button" || q == "arm_button" || q[:4] == "mode"
	})
	return reads, all[first:]
}

func newExchanger(device registers.Device, reads, writes []string) exchanger {
	e := exchanger{device: device, values: make([]float64, len(writes))}
	for _, name := range reads {
		e.reads = append(e.reads, slices.Index(device.Quantities(), name))
	}
	for _, name := range writes {
		e.writes = append(e.writes, slices.Index(device.Quantities(), name))
	}
	return e
}

// connect puts a client and a server between the controller and the device.
func (e *exchanger) connect(t testing.TB, seat station.Seat, reads, writes []string) {
	var err error
	if e.client, err = registers.NewClient(seat.Map, seat.Gear, reads, writes); err != nil {
		t.Fatal(err)
	}
	unit, err := registers.Bind(seat.Map, e.device, seat.Gear)
	if err != nil {
		t.Fatal(err)
	}
	e.server = &modbus.Server{}
	e.server.Attach(e.client.Unit, &modbus.Unit{Bank: unit})
}

// exchange writes and reads everything, by bytes or without.
func (e *exchanger) exchange(t testing.TB) {
	if e.client == nil {
		for i, id := range e.writes {
			if err := e.device.Store(id, e.values[i]); err != nil {
				t.Fatal(err)
			}
		}
		for _, id := range e.reads {
			e.device.Load(id)
		}
		return
	}
	for i, v := range e.values {
		e.client.Set(i, v)
	}
	for i := range e.client.Requests() {
		e.bytes[0] = e.client.AppendRequest(e.bytes[0][:0], i)
		e.bytes[1] = e.server.Respond(e.bytes[1][:0], e.bytes[0])
		if _, err := e.client.Decode(e.bytes[1]); err != nil {
			t.Fatal(err)
		}
	}
}

// start brings the station to where both main axes turn.
func (d *directly) start() {
	d.rate = degree
	d.carry(100 * time.Millisecond)
	d.s.Interlock.Panel.Reset = true
	d.carry(200 * time.Millisecond)
	d.s.Interlock.Panel.Reset = false
	d.carry(3 * time.Second)
	if rate := d.s.Plant.State().Rate[plant.Azimuth]; math.Abs(rate-d.rate) > 0.1*degree {
		d.t.Fatalf("azimuth turns at %g rad/s, was told %g", rate, d.rate)
	}
}

func (d *directly) carry(by time.Duration) {
	for until := d.s.Now() + by; d.s.Now() < until; {
		d.s.Advance(d.s.Now() + cycle)
		for i := range d.devices {
			e := &d.devices[i]
			switch m := i - plant.AxisCount; {
			case m >= plant.MotorCount: // the interlock unit
				for k := range e.values {
					e.values[k] = 1
				}
			case m >= 0:
				e.values[0], e.values[1] = word(d.s.Drives[m].State()), 0
				if plant.MotorAxis[m].Main() {
					e.values[1] = d.rate
				}
			}
			e.exchange(d.t)
		}
	}
}

// word leads a drive on, CiA 402 transitions 2, 3 and 4.
func word(s cia402.State) float64 {
	switch s {
	case cia402.SwitchOnDisabled:
		return 0x06
	case cia402.ReadyToSwitchOn:
		return 0x07
	}
	return 0x0F
}

// run sweeps to and fro, so that no end is met.
func (d *directly) run() {
	d.rate = -d.rate
	d.carry(stretch)
}

// world is the whole stack in virtual time.
type world struct {
	t        testing.TB
	clock    *clock.Virtual
	s        *station.Station
	observer *controller.Observer
	rate     float64
	commands int
}

func newWorld(t testing.TB, observed, recorded bool) *world {
	st, ctl := loadDemo(t)
	set, devices := st.Standin(&ctl.Profile)
	w := &world{t: t, clock: clock.NewVirtual(), rate: degree}
	net := link.NewMemory(w.clock)
	options := station.Options{Position: [plant.AxisCount]float64{0, 45 * degree}}
	if recorded {
		options.Recorder = record.NewRecorder(station.Channels(), nil)
	}
	var err error
	check := func() {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	w.s, err = station.New(st.Station(), options)
	check()
	_, err = w.s.Serve(net)
	check()
	w.observer, err = controller.NewObserver(w.clock, net, ctl.Profile)
	check()
	err = w.observer.Start()
	check()
	_, err = standin.Start(w.clock, net, set, devices)
	check()
	w.begin()
	if !observed {
		err = w.observer.Close()
		check()
		w.observer = nil
	}
	return w
}

// begin resets the relay, arms, and sends both main axes off.
func (w *world) begin() {
	w.carry(300 * time.Millisecond)
	w.s.Interlock.Panel.Reset = true
	w.carry(300 * time.Millisecond)
	w.s.Interlock.Panel.Reset = false
	w.carry(time.Second)
	w.command("arm", -1, 0)
	w.carry(6 * time.Second)
	w.send()
	w.carry(4 * time.Second)
	if rate := w.s.Plant.State().Rate[plant.Azimuth]; math.Abs(rate-w.rate) > 0.1*degree {
		w.t.Fatalf("azimuth turns at %g rad/s, was told %g", rate, w.rate)
	}
}

func (w *world) carry(by time.Duration) {
	w.clock.Run(w.clock.Now()+by, nil)
	w.s.Advance(w.clock.Now())
}

func (w *world) command(verb string, axis int, value float64) {
	v, err := controller.ParseVerb(verb)
	if err != nil {
		w.t.Fatal(err)
	}
	order := w.observer.Command(v, axis, value)
	w.clock.Run(w.clock.Now()+3*time.Second, order.Done)
	if r := order.Report(); r.Outcome != controller.Obeyed {
		w.t.Fatalf("%s: %v, %s", verb, r.Outcome, r.Reason)
	}
}

func (w *world) send() {
	w.command("rate", int(plant.Azimuth), w.rate)
	w.command("rate", int(plant.Elevation), w.rate)
}

// run turns round first where somebody can command; nobody meets an end within
// the first stretches even so.
func (w *world) run() {
	if w.observer != nil {
		w.rate = -w.rate
		w.send()
	}
	w.carry(stretch)
}

// scenarios is every shipped scenario once, from its text to its verdicts.
func scenarios(t testing.TB) (func(), time.Duration) {
	a, err := campaign.Assemble(campaign.Choice{Station: "demo", Controller: "standin"})
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(1, 1, station.DefaultStep, 1)
	play := func() (simulated time.Duration) {
		for i := range p.Examples {
			result := p.Run.Do(&p.Examples[i])
			if result.Err != nil {
				t.Fatal(result.Err)
			}
			if len(campaign.Judge(result.Record, p.Run.Requirements, p.Limits)) == 0 {
				t.Fatalf("%s: nothing is judged", p.Examples[i].Name)
			}
			simulated += result.Simulated
		}
		return simulated
	}
	return func() { play() }, play()
}

// price measures a stage: ns for each simulated millisecond, the best of three.
func price(t testing.TB, s stage) float64 {
	best := math.Inf(1)
	for range 3 {
		run, simulated := s.prepare(t)
		start := time.Now()
		run()
		best = min(best, float64(time.Since(start))/float64(simulated/time.Millisecond))
	}
	return best
}

// BenchmarkStack measures each stage by itself; the fraction is of the speed of
// the plant alone. The demand on the whole is 500 times real time.
func BenchmarkStack(b *testing.B) {
	all := stages()
	alone := price(b, all[0])
	for _, s := range all {
		b.Run(s.name, func(b *testing.B) {
			b.ReportAllocs()
			var simulated time.Duration
			for b.Loop() {
				b.StopTimer()
				run, one := s.prepare(b)
				b.StartTimer()
				run()
				simulated += one
			}
			each := float64(b.Elapsed()) / float64(simulated/time.Millisecond)
			b.ReportMetric(1e6/each, "x_realtime")
			b.ReportMetric(each, "ns/simulated_ms")
			b.ReportMetric(alone/each, "of_plant_alone")
		})
	}
}

// BenchmarkBudget prints the table of DEVELOPERS.md.
func BenchmarkBudget(b *testing.B) {
	for b.Loop() {
		all := stages()
		alone, before := 0.0, 0.0
		fmt.Printf("\n| %-22s | ns a simulated ms | added | x real time | of plant alone |\n",
			"stage")
		fmt.Println("|---|---|---|---|---|")
		for i, s := range all {
			each := price(b, s)
			if i == 0 {
				alone = each
			}
			fmt.Printf("| %-22s | %.0f | %+.0f | %.0f | %.2f |\n", s.name, each, each-before,
				1e6/each, alone/each)
			before = each
		}
	}
}
