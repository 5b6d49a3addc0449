package campaign

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/clock"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// Wall is how an example is run on the wall clock, after its virtual phases if it
// has any.
type Wall struct {
	// Command is the stand-in's program and arguments; the device sheet and the
	// state folder are added. Empty where the controller is somebody's own.
	Command []string
	Output  io.Writer // of the controller's program; nil for nowhere
}

// wallRun makes the one run of a case on the wall clock. It becomes the phase that
// is judged, with what the virtual ones tell of spread and model.
func (p *Plan) wallRun(c *Case) error {
	dir, err := os.MkdirTemp("", "haltmark-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }() // what stays is the system's to clear
	run, world, err := p.wallWorld(dir)
	if err != nil {
		return err
	}
	virtual, reason := c.Outcomes, c.Reason
	undone := c.Verdict
	t := trial{run: run, seed: phaseSeed(c.Seed, len(c.Phases)), step: p.Step}
	t.late = func(rec *record.Record) {
		addLateness(rec, channel.Lateness, world.net.Lateness().Windows())
		addLateness(rec, channel.EventLateness, world.clock.Lateness().Windows())
	}
	err = p.onWorld(c, t, world)
	if err == nil && p.stopped() {
		err = ErrStopped // a signal may have reached the controller's program first
	}
	if err != nil {
		return err
	}
	c.Worst = len(c.Phases) - 1
	wall := &c.Phases[c.Worst]
	c.Record, c.Steps = wall.Record, wall.result.Steps
	c.Outcomes = onWall(wall, virtual, p.Run.Cycle)
	if c.Verdict = merged(c.Outcomes); len(c.Phases) > 1 {
		c.Verdict = verdict.Merge(c.Verdict, undone)
		c.Reason = reason
	}
	c.undone(wall)
	return nil
}

// onWall are the outcomes of a run on the wall clock beside those in virtual time, which
// are none where there was no such run.
func onWall(wall *Phase, virtual []verdict.Outcome, cycle time.Duration) []verdict.Outcome {
	out := compared(wall.Outcomes, virtual)
	if virtual == nil || wall.Record == nil {
		return out
	}
	if late := latest(wall.Record); late > cycle {
		excuse(out, virtual, late)
	}
	return out
}

// latest is how late anything was on the machine of a record: exchanges or events.
func latest(rec *record.Record) time.Duration {
	var late int64
	for _, name := range []string{channel.Lateness, channel.EventLateness} {
		_, values, _ := rec.EdgesOf(name)
		for _, v := range values {
			late = max(late, v)
		}
	}
	return time.Duration(late)
}

// onWorld makes one run on the wall clock, and ends clock and controller however the
// run ended.
func (p *Plan) onWorld(c *Case, t trial, world *wallWorld) error {
	defer world.close()
	return p.tryPhase(c, t)
}

// compared is the wall clock's outcomes with spread and model of the virtual ones.
// A stop that lies outside its phase interval is not the stop that the phases
// showed, which leaves it open. An outcome that only the phases have stays.
func compared(wall, virtual []verdict.Outcome) []verdict.Outcome {
	byKey := map[string]verdict.Outcome{}
	for _, o := range virtual {
		byKey[o.Key()] = o
	}
	seen := map[string]bool{}
	var out []verdict.Outcome
	for _, o := range wall {
		seen[o.Key()] = true
		v, known := byKey[o.Key()]
		if known {
			o = o.Widened(v.Uncertainty.Model)
			o.Spread = v.Spread
		}
		if stop := o.Measure == "stop_time" || o.Measure == "stop_travel"; stop && !o.Watch &&
			known && o.Verdict == verdict.Pass && !verdict.Agrees(o, v) {
			o.Verdict, o.Reason = verdict.Inconclusive, disagreement(&o)
		}
		out = append(out, o)
	}
	for _, o := range virtual {
		if !seen[o.Key()] {
			o.Verdict = verdict.Merge(o.Verdict, verdict.Inconclusive)
			o.Reason = cmp.Or(o.Reason, "the run on the wall clock did not ask for it")
			out = append(out, o)
		}
	}
	return verdict.AsksFirst(out)
}

// excuse leaves open what failed on the wall clock alone while this machine was
// late by more than a control cycle: supervision times then run out by its fault.
func excuse(wall, virtual []verdict.Outcome, late time.Duration) {
	failed := map[string]bool{}
	for _, o := range virtual {
		failed[o.Key()] = o.Verdict == verdict.Fail
	}
	for i := range wall {
		if o := &wall[i]; o.Verdict == verdict.Fail && !failed[o.Key()] {
			o.Verdict = verdict.Inconclusive
			o.Reason = fmt.Sprintf("this machine was late by up to %v, more than a control cycle; "+
				"try again on a quieter one", late.Round(time.Millisecond))
		}
	}
}

// addLateness writes into a record how late something was. A stamp is as wide as the
// latest exchange in its window.
func addLateness(rec *record.Record, name string, windows []clock.LateWindow) {
	for _, w := range windows {
		rec.Edges = append(rec.Edges, record.Edge{At: w.At, Channel: name,
			Value: int64(w.Largest)})
	}
	slices.SortStableFunc(rec.Edges, func(a, b record.Edge) int { return cmp.Compare(a.At, b.At) })
}

func disagreement(o *verdict.Outcome) string {
	if o.Spread == nil {
		return "the phases in virtual time gave no value"
	}
	return fmt.Sprintf("outside the phase interval %s to %s of virtual time",
		Value(o, o.Spread.From), Value(o, o.Spread.Until))
}

// wallWorld is the wall clock and the network of one run.
type wallWorld struct {
	clock      *clock.Wall
	net        *link.Host
	controller controller.Controller
}

func (w *wallWorld) close() {
	if w.clock != nil {
		w.clock.Close()
	}
	if w.controller != nil {
		_ = w.controller.Stop() // ended already, unless the run broke off
	}
}

// wallWorld makes what a run on the wall clock needs: real time, real sockets and
// a controller in a process of its own. The stand-in meets the station at ports
// that are free just now; somebody's own controller where its files say.
func (p *Plan) wallWorld(dir string) (scenario.Run, *wallWorld, error) {
	run, world := p.Run, &wallWorld{}
	parameters := *p.Run.Station
	run.Station = &parameters
	if run.Profile.Launch == controller.LaunchStandin {
		if err := freePorts(&parameters, &run.Profile); err != nil {
			return run, nil, err
		}
	}
	run.World = func(s seed.Seed) (clock.Clock, link.Network) {
		world.clock = clock.NewWall()
		world.net = link.NewHost(world.clock)
		world.net.Seed = s
		return breakable{world.clock, p.stopped}, world.net
	}
	profile := run.Profile
	run.Control = func(
		_ clock.Clock, _ link.Network, seats []station.Seat,
	) controller.Controller {
		switch profile.Launch {
		case controller.LaunchCommand:
			world.controller = &controller.Program{Args: profile.Command, Output: p.Wall.Output}
		case controller.LaunchExternal:
			world.controller = controller.External{}
		default:
			world.controller = p.process(dir, NewDeviceSheet(parameters.Name, seats, &profile))
		}
		return world.controller
	}
	return run, world, nil
}

// process is the stand-in as a process of its own, told by files where things are.
func (p *Plan) process(dir string, sheet DeviceSheet) controller.Controller {
	name := filepath.Join(dir, "devices.json")
	args := append([]string(nil), p.Wall.Command...)
	args = append(args, "--devices", name, "--state", filepath.Join(dir, "state"))
	return &sheeted{Program: controller.Program{Args: args, Output: p.Wall.Output},
		sheet: sheet, name: name}
}

// sheeted is a program that finds its device sheet when it starts.
type sheeted struct {
	controller.Program
	sheet DeviceSheet
	name  string
}

// Start implements controller.Controller.
func (s *sheeted) Start() error {
	if err := s.sheet.WriteFile(s.name); err != nil {
		return err
	}
	return s.Program.Start()
}

// freePorts gives every address of a station and of the supervisory system a port of
// this machine that is free just now. Devices that shared an address still do.
func freePorts(s *station.Parameters, profile *controller.Profile) error {
	f := &portFinder{given: map[string]string{}}
	s.Seats = slices.Clone(s.Seats) // whose other owners keep their ports
	for i := range s.Seats {
		f.move(&s.Seats[i].Endpoint)
	}
	f.move(&profile.Agent)
	f.move(&profile.Notify)
	return f.release()
}

// portFinder holds ports until all are found, so that none is found twice.
type portFinder struct {
	given map[string]string
	held  []io.Closer
	errs  []error
}

func (f *portFinder) move(e *link.Endpoint) {
	if address, ok := f.given[e.String()]; ok {
		e.Address = address
		return
	}
	key := e.String()
	if e.Network == "udp" {
		l, err := net.ListenPacket("udp", "127.0.0.1:0")
		if err != nil {
			f.errs = append(f.errs, err)
			return
		}
		f.held = append(f.held, l)
		e.Address = l.LocalAddr().String()
	} else {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			f.errs = append(f.errs, err)
			return
		}
		f.held = append(f.held, l)
		e.Address = l.Addr().String()
	}
	f.given[key] = e.Address
}

func (f *portFinder) release() error {
	for _, l := range f.held {
		f.errs = append(f.errs, l.Close())
	}
	return errors.Join(f.errs...)
}
