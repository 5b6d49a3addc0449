package station_test

import (
	"errors"
	"math"
	"os"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
	"haltmark/emulators/registers"
)

// served is a station on a network in memory.
type served struct {
	t     *testing.T
	clock *clock.Virtual
	net   *link.Memory
	s     *station.Station
}

func serve(t *testing.T, set station.Parameters, plan ...fault.Entry) *served {
	t.Helper()
	w := &served{t: t, clock: clock.NewVirtual()}
	t.Cleanup(w.clock.Close)
	w.net = link.NewMemory(w.clock)
	var err error
	w.s, err = station.New(set, station.Options{Position: middle(), Faults: plan})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.s.Serve(w.net); err != nil {
		t.Fatal(err)
	}
	return w
}

// mast is the seat of the weather mast.
func (w *served) mast() station.Seat {
	seats := w.s.Seats()
	return seats[slices.IndexFunc(seats, func(s station.Seat) bool {
		return s.Role == station.RoleMast
	})]
}

// polled are the seats behind register maps.
func (w *served) polled() []station.Seat {
	return slices.DeleteFunc(w.s.Seats(), func(s station.Seat) bool { return s.Role.Kind().Unasked })
}

// client is one device's own connection.
type client struct {
	*registers.Client
	w    *served
	seat station.Seat
	conn link.Conn
}

// dial connects to a seat, to read these quantities and write those.
func (w *served) dial(seat station.Seat, read, write []string) *client {
	w.t.Helper()
	c, err := registers.NewClient(seat.Map, seat.Gear, read, write)
	if err != nil {
		w.t.Fatalf("%s: %v", seat.Name, err)
	}
	c.Unit = seat.Unit
	conn, err := w.net.Dial(seat.Endpoint, link.ModbusTCP)
	if err != nil {
		w.t.Fatalf("%s: %v", seat.Name, err)
	}
	return &client{c, w, seat, conn}
}

// exchange asks everything and waits for it; the error is the first there was.
func (c *client) exchange(patience time.Duration) error {
	var failed error
	done := false
	g := c.w.clock.Group("client of " + c.seat.Name)
	g.Start("exchange", func(p clock.Process) {
		defer func() { done = true }()
		for i := range c.Requests() {
			if failed = c.conn.Write(c.AppendRequest(nil, i)); failed != nil {
				return
			}
			reply, err := c.conn.Read(p, p.Now()+patience)
			if err == nil {
				_, err = c.Decode(reply)
			}
			if failed = err; failed != nil {
				return
			}
		}
	})
	c.w.clock.Run(c.w.clock.Now()+time.Minute, func() bool { return done })
	return failed
}

func stationOf(t *testing.T, name string) station.Parameters {
	t.Helper()
	c, err := config.LoadStation(name)
	if err != nil {
		t.Fatal(err)
	}
	return c.Station()
}

// load asks a device itself.
func load(s *station.Station, d station.Device, quantity string) float64 {
	device := s.Registers(d)
	return device.Load(slices.Index(device.Quantities(), quantity))
}

// Every quantity of every map of the shipped stations, read over the wire, is
// what the device itself says, to half a count of the map.
func TestServe_EveryQuantityOfEveryMap(t *testing.T) {
	for _, name := range []string{"demo", "small", "large"} {
		w := serve(t, stationOf(t, name))
		w.clock.Run(time.Second, nil)
		for _, seat := range w.polled() {
			var names []string
			counts := map[string]float64{}
			for _, p := range seat.Map.Points {
				if slices.Contains(names, p.Quantity) {
					continue
				}
				names = append(names, p.Quantity)
				counts[p.Quantity] = p.Scale
				if p.Side == registers.SideMotor {
					counts[p.Quantity] /= seat.Gear
				}
			}
			c := w.dial(seat, names, nil)
			if err := c.exchange(10 * ms); err != nil {
				t.Fatalf("%s: %s: %v", name, seat.Name, err)
			}
			for k, quantity := range names {
				want := load(w.s, seat.Device, quantity)
				if off := math.Abs(c.Value(k) - want); off > 0.5001*counts[quantity] {
					t.Errorf("%s: %s: %s reads %g, is %g", name, seat.Name, quantity, c.Value(k), want)
				}
			}
		}
	}
}

// What is written by wire reaches its device and no other, also where two stand
// behind one address.
func TestServe_TwoUnitsBehindOneAddress(t *testing.T) {
	w := serve(t, demo(t))
	seats := w.s.Seats()
	h, v := seats[plant.AxisCount+4], seats[plant.AxisCount+5]
	if h.Endpoint != v.Endpoint || h.Unit == v.Unit {
		t.Fatalf("%+v and %+v do not share an address", h, v)
	}
	for k, seat := range []station.Seat{h, v} {
		c := w.dial(seat, []string{"statusword"}, []string{"target_velocity"})
		c.Set(0, float64(k+1)*deg)
		if err := c.exchange(10 * ms); err != nil {
			t.Fatal(err)
		}
	}
	for m, want := range [plant.MotorCount]float64{0, 0, 0, 0, 1, 2} {
		got := w.s.Drives[m].Load(drive.TargetVelocity) / deg
		if math.Abs(got-want) > 1e-3 {
			t.Errorf("%s was told %g deg/s, want %g", plant.MotorNames[m], got, want)
		}
	}
	third := h
	third.Unit = 3
	if err := w.dial(third, []string{"statusword"}, nil).exchange(10 * ms); !errors.Is(err,
		os.ErrDeadlineExceeded) {
		t.Errorf("a unit that is not there: %v, want silence", err)
	}
}

// Port 0 asks for a port for each seat, whatever its unit.
func TestServe_PortZeroIsNeverShared(t *testing.T) {
	set := demo(t)
	for a := range set.Encoders {
		set.Seat(station.RoleEncoder, a).Endpoint.Address = "127.0.0.1:0"
	}
	w := serve(t, set)
	var seen []link.Endpoint
	for _, seat := range w.s.Seats()[:plant.AxisCount] {
		if slices.Contains(seen, seat.Endpoint) {
			t.Errorf("%s shares %v", seat.Name, seat.Endpoint)
		}
		seen = append(seen, seat.Endpoint)
		c := w.dial(seat, []string{"position_value"}, nil)
		err := c.exchange(10 * ms)
		if err != nil || c.Value(0) != load(w.s, seat.Device, "position_value") {
			t.Errorf("%s: %v", seat.Name, err)
		}
	}
}

func TestServe_RefusesATakenUnitAndPort(t *testing.T) {
	set := demo(t)
	set.Seat(station.RoleDrive, 5).Unit = set.Seat(station.RoleDrive, 4).Unit
	s, err := station.New(set, station.Options{})
	if err != nil {
		t.Fatal(err)
	}
	net := link.NewMemory(clock.NewVirtual())
	if _, err = s.Serve(net); err == nil || !strings.Contains(err.Error(), "unit 1") {
		t.Errorf("%v, want the taken unit", err)
	}
	if _, err = net.Dial(set.Seat(station.RoleDrive, 0).Endpoint, link.ModbusTCP); !errors.Is(err,
		syscall.ECONNREFUSED) {
		t.Errorf("after a failure something still listens: %v", err)
	}
}

// Each fault of the wire, on each of its targets: seen there from its step on,
// by nobody else, and gone when it is over.
func TestFaults_OnTheWire(t *testing.T) {
	for _, k := range station.Faults() {
		if k.Place != fault.PlaceWire {
			continue
		}
		for _, target := range k.On.Targets() {
			if target == "mast" {
				continue // it is not polled: mast_test.go
			}
			w := serve(t, demo(t), fault.Entry{Start: moment(100 * ms), Lasts: time.Second,
				Fault: mustFault(t, k.Name, target, k.Example())})
			w.wireFault(k, target)
		}
	}
}

// status is a quantity that a device has to read.
func status(seat station.Seat) []string { return []string{seat.Map.Points[0].Quantity} }

func (w *served) wireFault(k fault.Kind, target string) {
	seats := w.polled()
	clients := make([]*client, len(seats))
	for i, seat := range seats {
		clients[i] = w.dial(seat, status(seat), nil)
		if err := clients[i].exchange(10 * ms); err != nil {
			w.t.Fatalf("%s %s: %s is lost before: %v", k.Name, target, seat.Name, err)
		}
	}
	w.clock.Run(100*ms, nil)
	w.s.Advance(100*ms + step) // the step of the fault is done
	hit := slices.IndexFunc(seats, func(s station.Seat) bool {
		return s.Device.String() == deviceOf(k, target)
	})
	for i, seat := range seats {
		// A cable, a connection and a delay belong to the whole address.
		shared := seat.Endpoint == seats[hit].Endpoint && !strings.Contains(k.Name, "silen")
		if i == hit || shared {
			clients[i].suffers(expected(k.Name), k.Name+" "+target)
		} else if err := clients[i].exchange(10 * ms); err != nil {
			w.t.Errorf("%s %s: %s gives %v too", k.Name, target, seat.Name, err)
		}
	}
	w.clock.Run(2*time.Second, nil)
	w.s.Advance(2 * time.Second)
	for _, seat := range seats {
		if err := w.dial(seat, status(seat), nil).exchange(10 * ms); err != nil {
			w.t.Errorf("%s %s: %s does not come back: %v", k.Name, target, seat.Name, err)
		}
	}
}

// deviceOf names the device that a target of a wire fault is.
func deviceOf(k fault.Kind, target string) string {
	switch k.Name {
	case "encoder_silent":
		return target + ".encoder"
	case "drive_silent":
		return target + ".drive"
	}
	return target
}

// One direction of silence leaves the other: a device that is not heard hears.
func TestFaults_SilenceOfOneDirection(t *testing.T) {
	for _, target := range []string{"azimuth.1.drive", "polarization_v.1.drive"} {
		m := slices.Index(plant.MotorNames[:], strings.TrimSuffix(target, ".drive"))
		for direction, hears := range map[string]bool{"to_device": false, "to_controller": true} {
			w := serve(t, demo(t), fault.Entry{Start: moment(0),
				Fault: mustFault(t, "silence", target, map[string]string{"direction": direction})})
			w.s.Advance(step)
			c := w.dial(w.s.Seats()[plant.AxisCount+m], nil, []string{"target_velocity"})
			c.Set(0, deg)
			if err := c.exchange(10 * ms); !errors.Is(err, os.ErrDeadlineExceeded) {
				t.Errorf("%s %s: %v, want silence", target, direction, err)
			}
			if got := w.s.Drives[m].Load(drive.TargetVelocity) != 0; got != hears {
				t.Errorf("%s %s: heard %v, want %v", target, direction, got, hears)
			}
		}
	}
}

// Overlapping faults of one wire: the narrower one neither clears the wider at its
// start nor at its end.
func TestFaults_SilenceWithinSilence(t *testing.T) {
	w := serve(t, demo(t),
		fault.Entry{Fault: mustFault(t, "encoder_silent", "azimuth", nil)},
		fault.Entry{Start: moment(50 * ms), Lasts: 100 * ms, Fault: mustFault(t, "silence",
			"azimuth.encoder", map[string]string{"direction": "to_device"})})
	for _, at := range []time.Duration{10 * ms, 100 * ms, 200 * ms} {
		w.clock.Run(at, nil)
		w.s.Advance(at)
		l := w.dial(w.s.Seats()[0], []string{"position_value"}, nil)
		if err := l.exchange(10 * ms); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("at %v: %v, want silence", at, err)
		}
	}
}

// A station that nobody serves has no wire to break.
func TestFaults_OnTheWireOfAStationUnserved(t *testing.T) {
	for _, k := range station.Faults() {
		if k.Place != fault.PlaceWire {
			continue
		}
		r := newRig(t, middle(), true, fault.Entry{Lasts: ms,
			Fault: mustFault(t, k.Name, k.On.Targets()[0], k.Example())})
		r.s.Advance(10 * ms)
		if got := len(r.edgesOfFault(k.Name, k.On.Targets()[0])); got == 0 {
			t.Errorf("%s left no mark", k.Name)
		}
	}
}
