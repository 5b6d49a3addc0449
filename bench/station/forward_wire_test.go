package station_test

import (
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/seed"
	"haltmark/bench/standin"
	"haltmark/bench/station"
)

// What goes wrong on a wire reaches the station through whoever talks to it: here the
// stand-in, which arms, moves and stops an axis while somebody else looks by chance.
func TestFastForward_EveryFaultOfTheWire(t *testing.T) {
	for _, name := range []string{"demo", "small", "large"} {
		c, err := config.LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		ctl, err := config.LoadController("standin")
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range station.Faults() {
			if kind.Place != fault.PlaceWire {
				continue
			}
			t.Run(name+"/"+kind.Name, func(t *testing.T) {
				t.Parallel()
				x := newTrial(t, c.Station(), kind, seed.Seed(2).Derive(name, kind.Name))
				x.at = middle()
				x.compare(t, func(t testing.TB, every bool, stops []time.Duration) *played {
					return x.steer(t, c, ctl, x.assemble(t, every, stops))
				})
			})
		}
	}
}

// steer carries a trial through under the stand-in.
func (x *trial) steer(
	t testing.TB, c *config.Station, ctl *config.Controller, p *played,
) *played {
	t.Helper()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	world := clock.NewVirtual()
	defer world.Close()
	net := link.NewMemory(world)
	_, err := p.s.Serve(net)
	check(err)
	observer, err := controller.NewObserver(world, net, ctl.Profile)
	check(err)
	check(observer.Start())
	set, devices := c.Standin(&ctl.Profile)
	_, err = standin.Start(world, net, set, devices)
	check(err)

	chance := x.seed.Stream("looks")
	var look func()
	look = func() {
		p.look(world.Now())
		world.At(world.Now()+pause(chance), look)
	}
	world.At(0, look)
	world.Run(300*ms, nil)
	p.s.Interlock.Panel.Reset = true
	world.Run(700*ms, nil)
	p.s.Interlock.Panel.Reset = false
	command := func(verb string, value float64, until time.Duration) {
		v, err := controller.ParseVerb(verb)
		check(err)
		observer.Command(v, int(plant.Azimuth), value)
		world.Run(until, nil)
	}
	command("arm", 0, 1200*ms)
	command("rate", 0.5*deg, 5*time.Second)
	command("stop", 0, 7*time.Second)
	p.look(world.Now())
	return p
}
