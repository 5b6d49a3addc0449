package campaign_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"haltmark/bench/campaign"
	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/standin"
	"haltmark/bench/station"
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
			w := demoWorld
			w.observed = observed
			if recorded {
				w.room = usedRoom(t)
			}
			return w.once(t), stretch
		}
	}
	return []stage{
		{"plant", plantAlone},
		{"plant, direct bytes", plantByBytes},
		{"plant, register maps", plantByMaps},
		{"and devices", direct(false)},
		{"and bytes", direct(true)},
		{"and stand-in over link", world(false, false)},
		{"and SNMP observer", world(true, false)},
		{"and record", world(true, true)},
		{"scenarios and verdicts", scenarios},
	}
}

func loadDemo(t testing.TB) (*config.Station, *config.Controller) { return load(t, "demo") }

func load(t testing.TB, name string) (*config.Station, *config.Controller) {
	s, err := config.LoadStation(name)
	if err != nil {
		t.Fatal(err)
	}
	c, err := config.LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	return s, c
}

// plan is what a world of the budget has.
type plan struct {
	station  string
	observed bool
	room     *record.Pool // for a record; nil for none
	axes     int          // in motion, the first ones
	pollers  int          // of one device each, every cycle, beside the controller
}

// demoWorld is the demo station with both main axes in motion.
var demoWorld = plan{station: "demo", axes: plant.MainAxes}

// world is the whole stack in virtual time.
type world struct {
	t        testing.TB
	clock    *clock.Virtual
	s        *station.Station
	observer *controller.Observer
	recorder *record.Recorder
	rates    []float64 // rad/s, of the axes in motion
}

// begin makes the world, with its axes under way.
func (o plan) begin(t testing.TB) *world {
	st, ctl := load(t, o.station)
	set, devices := st.Standin(&ctl.Profile)
	w := &world{t: t, clock: clock.NewVirtual()}
	fastest := st.Station().FullRate
	for _, full := range fastest[:o.axes] {
		w.rates = append(w.rates, min(degree, float64(full)/2))
	}
	net := link.NewMemory(w.clock)
	options := station.Options{Position: [plant.AxisCount]float64{0, 45 * degree}}
	if o.room != nil { // as in a campaign, of runs before
		built := st.Station()
		w.recorder = record.NewRecorder(built.Channels(), nil)
		w.recorder.Use(o.room)
		options.Recorder = w.recorder
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
	w.poll(net, o.pollers)
	w.setOut()
	if !o.observed {
		err = w.observer.Close()
		check()
		w.observer = nil
	}
	return w
}

// once makes a world that ends with its first run.
func (o plan) once(t testing.TB) func() {
	w := o.begin(t)
	return func() {
		w.run()
		w.clock.Close()
		if w.recorder != nil {
			w.recorder.Close()
		}
	}
}

// usedRoom is what another run of a minute has left for a recorder.
func usedRoom(t testing.TB) *record.Pool {
	c, _ := loadDemo(t)
	built := c.Station()
	channels := built.Channels()
	spare := &record.Pool{}
	r := record.NewRecorder(channels, nil)
	r.Use(spare)
	tracked := 0
	for _, c := range channels {
		if c.Extremes {
			tracked++
		}
	}
	row, extremes := make([]float64, len(channels)), make([]float64, tracked)
	for at := time.Duration(0); at < time.Minute; at += 10 * time.Millisecond {
		r.Sample(at, row, extremes, extremes)
	}
	r.Close()
	return spare
}

// setOut resets the relay, arms, and sends the axes off.
func (w *world) setOut() {
	w.carry(300 * time.Millisecond)
	w.s.Interlock.Panel.Reset = true
	w.carry(300 * time.Millisecond)
	w.s.Interlock.Panel.Reset = false
	w.carry(time.Second)
	w.command("arm", -1, 0)
	w.carry(6 * time.Second)
	w.send()
	w.carry(8 * time.Second)
	for a, want := range w.rates {
		if is := w.s.Plant.State().Rate[a]; math.Abs(is-want) > 0.1*math.Abs(want) {
			w.t.Fatalf("%v turns at %g rad/s, was told %g", plant.Axis(a), is, want)
		}
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
	for a, rate := range w.rates {
		w.command("rate", a, rate)
	}
}

// run turns round first where somebody can command; nobody meets an end within
// the first stretches even so.
func (w *world) run() {
	if w.observer != nil {
		for a := range w.rates {
			w.rates[a] = -w.rates[a]
		}
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
			if len(campaign.Judge(result.Record, p.Run.Rules)) == 0 {
				t.Fatalf("%s: nothing is judged", p.Examples[i].Name)
			}
			simulated += result.Simulated
			result.Close()
		}
		return simulated
	}
	return func() { play() }, play()
}

// price measures a stage: ns for each simulated millisecond, the best of as many
// runs as make half an hour, as others may want the processor too.
func price(b *testing.B, s stage) float64 {
	best := math.Inf(1)
	for spent := time.Duration(0); spent < 100*stretch; {
		run, simulated := s.prepare(b)
		spent += simulated
		start := b.Elapsed()
		run()
		best = min(best, float64(b.Elapsed()-start)/float64(simulated/time.Millisecond))
	}
	return best
}

// BenchmarkStack measures each stage by itself; the fraction is of the speed of
// the plant alone. The demand on the whole is 1500 times real time.
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
