package station

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/emulators/drive"
	"haltmark/emulators/interlock"
)

// Options are what a run chooses beside the station itself.
type Options struct {
	Step     time.Duration // plant step; 0 means 0.25 ms
	Position [plant.AxisCount]float64
	Seed     seed.Seed
	Faults   []fault.Entry
	Recorder *record.Recorder
}

// DefaultStep is the plant step of the design, 0.25 ms.
const DefaultStep = 250 * time.Microsecond

// Station is one assembled station at one instant. It is not safe for concurrent
// use: its clock's lock is the station's one lock.
type Station struct {
	Plant *plant.Plant
	emulators

	set       Parameters
	step      time.Duration
	n         int64 // plant steps done
	in        plant.Input
	unit      interlock.Input
	field     field
	plan      fault.Plan
	planned   []*faultKind // of each entry of the plan
	everyStep bool         // no fast-forward: what tests compare it with
	agenda    agenda
	watch     *watch
	fronts    []*front // by seat; nil before it is served
	air       air      // the wind as it blows
	supply    supply
	pins      pins

	steps []func(s *Station, now time.Duration) // of the devices, in their order
	dues  []func() time.Duration

	limits   [plant.AxisCount]plant.LimitChain // as they are, shifts and all
	standing []fault.Edge                      // scratch

	safe       [plant.AxisCount]drive.SafeRequest // at the last ordinary step
	driving    driving
	unread     unread
	regimes    [plant.MotorCount]drive.Regime // after the last ordinary step
	steady     steady
	standstill [plant.AxisCount]standstill
	stillRate  [plant.AxisCount]float64 // rad/s
}

// New assembles a station at rest. Errors name the parameter at fault.
func New(set Parameters, o Options) (*Station, error) {
	s := &Station{set: set, step: o.Step}
	if s.step == 0 {
		s.step = DefaultStep
	}
	for _, e := range o.Faults {
		if _, err := s.Plan(e); err != nil {
			return nil, err
		}
	}
	var err error
	if s.Plant, err = plant.New(set.Plant, s.step); err != nil {
		return nil, fmt.Errorf("station %s: %w", set.Name, err)
	}
	if s.set.Seats, err = set.ordered(); err != nil {
		return nil, err
	}
	s.fronts = make([]*front, len(s.set.Seats))
	if err := s.assemble(); err != nil {
		return nil, err
	}
	external, err := s.newAir(o)
	if err != nil {
		return nil, err
	}
	for a := range s.Encoders {
		s.Plant.Place(plant.Axis(a), o.Position[a])
		s.Plant.WindUp(plant.Axis(a), external[a])
		// An encoder tells its position before the first plant step is done.
		s.stepEncoder(a, 0)
		s.field.external[a] = external[a]
		s.field.ratio[a] = 1
		s.limits[a] = set.Plant.Axes[a].Limits
		s.standstill[a].reached = true
		s.stillRate[a] = float64(set.Standstill[a].Rate)
	}
	s.field.readAt = [plant.MainAxes]float64{math.NaN(), math.NaN()}
	s.gearUp()
	s.feed(0)
	if o.Recorder != nil {
		s.watch = newWatch(s, o.Recorder)
	}
	return s, nil
}

// Now is the instant at which the station stands: a multiple of the plant step.
func (s *Station) Now() time.Duration { return time.Duration(s.n) * s.step }

// Step is the plant step.
func (s *Station) Step() time.Duration { return s.step }

// Parameters is the station as it was assembled, whatever became of it since.
func (s *Station) Parameters() Parameters {
	set := s.set
	set.Seats = slices.Clone(set.Seats)
	return set
}

// Limits is the limit chain of an axis where it stands now.
func (s *Station) Limits(a plant.Axis) plant.LimitChain { return s.limits[a] }

// Advance brings the station to the last multiple of its step that is not after
// now. What is written to it then acts in the step that follows.
func (s *Station) Advance(now time.Duration) {
	if now < s.Now()+s.step {
		return
	}
	until := int64(now / s.step)
	for s.n < until {
		s.advance()
		if !s.everyStep {
			s.fastForward(until)
		}
	}
}

// At has do called at the first plant step not before when.
func (s *Station) At(when time.Duration, do func(now time.Duration)) { s.agenda.at(when, do) }

// When has do called at the first plant step at which the condition holds.
func (s *Station) When(condition func() bool, do func(now time.Duration)) {
	s.agenda.when(condition, do)
}

// advance is one plant step. The order is fixed: agenda, wind, switches, then the devices
// place by place, the watch, the plant.
func (s *Station) advance() {
	now := s.Now()
	s.agenda.run(now)
	s.carryOut(now)
	s.blow(now)
	s.readField()
	for _, step := range s.steps {
		step(s, now)
	}
	s.watchStandstill(now)
	s.watchPins(now)
	s.watch.look(s, now)
	s.Plant.Step(&s.in)
	s.n++
}

// Close gives back what the station holds: nothing but its watch's last rows.
func (s *Station) Close() error {
	if s.watch == nil {
		return nil
	}
	return s.watch.to.Flush()
}

// Serve puts every emulated device on the network; devices that share an
// endpoint share a listener and are told apart by unit id.
func (s *Station) Serve(net link.Network) ([]link.Listener, error) {
	listeners, err := s.serve(net)
	if err != nil {
		for _, l := range listeners {
			err = errors.Join(err, l.Close())
		}
		return nil, fmt.Errorf("station %s: %w", s.set.Name, err)
	}
	return listeners, nil
}
