package station_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// windy is the demo station in a wind of its own.
func windy(t testing.TB, w *station.Weather, at place, o station.Options,
	plan ...fault.Entry) (*station.Station, *record.Recorder) {
	t.Helper()
	set := demo(t)
	set.Weather = w
	o.Position, o.Faults = at, plan
	o.Recorder = record.NewRecorder(set.Channels(), nil)
	s, err := station.New(set, o)
	if err != nil {
		t.Fatal(err)
	}
	return s, o.Recorder
}

// sampled is a channel of a record, as it was sampled.
func sampled(t testing.TB, rec *record.Recorder, name string) []float64 {
	t.Helper()
	r := rec.Record()
	for i, c := range r.Channels {
		if c.Name == name {
			return r.Values(i)[:len(r.At)]
		}
	}
	t.Fatalf("no channel %s", name)
	return nil
}

// The record has the wind as it blows: speed in m/s and the azimuth it comes from.
func TestWeather_IsRecorded(t *testing.T) {
	s, rec := windy(t, &station.Weather{Mean: 9, From: 240 * deg}, middle(), station.Options{},
		fault.Entry{Start: moment(500 * ms), Fault: mustFault(t, "gust_step", "station",
			map[string]string{"by": "5 m/s"})})
	s.Advance(time.Second)
	speed, from := sampled(t, rec, "wind.speed"), sampled(t, rec, "wind.from")
	for i, want := range map[int]float64{1: 9, 49: 9, 51: 14} {
		if speed[i] != want || math.Abs(from[i]-240*deg) > 1e-12 {
			t.Errorf("row %d: %g m/s from %g deg, want %g from 240", i, speed[i], from[i]/deg, want)
		}
	}
}

// A station that has a cable wrap and a reflector apart from its mount records both,
// and no other one pays for them.
func TestChannels_OfPartsThatAreThere(t *testing.T) {
	set := demo(t)
	bare := len(set.Channels())
	az, el := &set.Plant.Axes[plant.Azimuth], &set.Plant.Axes[plant.Elevation]
	az.Wrap = plant.WrapParameters{Neutral: -5 * deg, Reach: 300 * deg}
	el.Reflector = plant.ReflectorParameters{MountShare: 0.35, Frequency: 7, DampingRatio: 0.01}
	el.Stiffness = plant.StiffnessFromMode(el.LoadInertia, el.Reflector, 3.9)
	r := rigOf(t, set)
	if got := len(set.Channels()); got != bare+2 {
		t.Fatalf("%d channels, want %d", got, bare+2)
	}
	r.rate = [plant.AxisCount]float64{deg, deg}
	r.run(2 * time.Second)
	position, wrap := sampled(t, r.rec, "azimuth.position"), sampled(t, r.rec, "azimuth.wrap")
	bend, most := sampled(t, r.rec, "elevation.reflector_bend"), 0.0
	for i := range wrap {
		if math.Abs(wrap[i]-position[i]-5*deg) > 1e-12 {
			t.Fatalf("row %d: wrap %g deg at %g deg", i, wrap[i]/deg, position[i]/deg)
		}
		most = max(most, math.Abs(bend[i]))
	}
	// Its swing on starting at 1.2 deg/s^2 and the wind's push, both on 45.5 t m^2 held at
	// 7 Hz: some hundredths of a degree at the most.
	if most == 0 || most > 0.1*deg {
		t.Errorf("the reflector bends by up to %g deg", most/deg)
	}
}

func gusty() *station.Weather {
	return &station.Weather{Mean: 15, From: 40 * deg, Intensity: 0.2, Model: plant.ModelKaimal,
		Length: 120}
}

// The station's coefficients (assumed): azimuth 0.0463 sin b - 0.0858 sin 2b of pressure, area and
// diameter; here b is 130 deg, worked by hand: 0.119960. Elevation at 45 deg, 130
// deg off: the pitch is atan2(sin 45, cos 45 cos 130) = 122.73 deg; 0.0386 x
// 0.84122 + 0.0715 x 0.90977 = 0.09752; and its unbalance of 9 kN m.
func TestWeather_SteadyWindPushesByAttitude(t *testing.T) {
	at := place{130 * deg, 45 * deg, 0, 0}
	s, rec := windy(t, &station.Weather{Mean: 20}, at, station.Options{})
	s.Advance(20 * ms)
	const scale = 0.5 * 1.225 * 20 * 20 * math.Pi / 4 * 11 * 11 * 11
	for name, want := range map[string]float64{"azimuth": 0.119960 * scale,
		"elevation": 0.09752*scale + 9000, "polarization_h": 0} {
		for i, got := range sampled(t, rec, name+".external_torque") {
			if math.Abs(got-want) > 1e-3*math.Abs(want) {
				t.Errorf("%s, row %d: %.1f N m, want %.1f", name, i, got, want)
			}
		}
	}
	if now, mean, gust := s.Wind(); now.Speed != 20 || mean != 20 || gust != 20 {
		t.Errorf("wind %v, mean %v, gust %v, want 20 m/s each", now.Speed, mean, gust)
	}
}

// Without weather of its own a station's torque is that of its parameters, to the
// bit, and a wind that a fault brings leaves it so.
func TestWeather_NoneIsTheConstantTorque(t *testing.T) {
	s, rec := windy(t, nil, middle(), station.Options{}, fault.Entry{
		Fault: mustFault(t, "wind_gusts", "station", map[string]string{"mean": "15 m/s"}),
		Start: moment(105 * ms), Lasts: 200 * ms})
	s.Advance(time.Second)
	want := s.Parameters().External
	for a, name := range plant.AxisNames[:plant.MainAxes] {
		torques := sampled(t, rec, name+".external_torque")
		for i, got := range torques {
			inside := i > 10 && i <= 30
			if (got == float64(want[a])) == inside {
				t.Errorf("%s, row %d: %g N m, parameters have %g", name, i, got, float64(want[a]))
			}
		}
	}
	if now, _, _ := s.Wind(); now.Speed != 20 {
		t.Errorf("afterwards it blows at %v", now.Speed)
	}
}

// A gust step changes the torque by the square of the speeds, at its very step
// and back at its end; over a rise it is halfway in the middle.
func TestWeather_GustStep(t *testing.T) {
	for _, rise := range []string{"0 s", "100 ms"} {
		s, rec := windy(t, &station.Weather{Mean: 10, From: 50 * deg}, middle(), station.Options{},
			fault.Entry{Start: moment(100 * ms), Lasts: 200 * ms, Fault: mustFault(t, "gust_step",
				"station", map[string]string{"by": "10 m/s", "rise": rise})})
		s.Advance(400 * ms)
		torque := sampled(t, rec, "azimuth.external_torque")
		first := 4.0
		middle := 4.0
		if rise != "0 s" {
			first, middle = 1, 1.5*1.5
		}
		for row, want := range map[int]float64{0: 1, 9: 1, 10: first, 15: middle, 20: 4, 29: 4,
			30: 1, 39: 1} {
			if got := torque[row] / torque[0]; math.Abs(got-want) > 2e-3 {
				t.Errorf("rise %s, row %d: %.4f of the torque, want %g", rise, row, got, want)
			}
		}
	}
}

// A step of nothing at an odd instant changes no later gust.
func TestWeather_FaultsDrawNoGusts(t *testing.T) {
	var torques [2][]float64
	for i, plan := range [][]fault.Entry{nil, {{Start: moment(103 * ms), Lasts: 44 * ms,
		Fault: mustFault(t, "gust_step", "station", map[string]string{"by": "0 m/s"})}}} {
		s, rec := windy(t, gusty(), middle(), station.Options{}, plan...)
		s.Advance(time.Second)
		torques[i] = sampled(t, rec, "azimuth.external_torque")
	}
	if !slices.Equal(torques[0], torques[1]) {
		t.Error("the wind goes another way after it")
	}
}

// The station's coefficients at the attitude of each row, while the dish turns.
func TestWeather_TorqueFollowsTheDish(t *testing.T) {
	r := newRig(t, place{100 * deg, 30 * deg, 0, 0}, true, fault.Entry{
		Fault: mustFault(t, "wind_constant", "station", map[string]string{"speed": "20 m/s"})})
	r.rate = [plant.AxisCount]float64{2 * deg, deg, 0, 0}
	r.run(6 * time.Second)
	const scale = 0.5 * 1.225 * 20 * 20 * math.Pi / 4 * 11 * 11 * 11
	position := sampled(t, r.rec, "azimuth.position")
	if turned := position[len(position)-1] - position[0]; turned < 8*deg {
		t.Fatalf("the dish turned %g deg", turned/deg)
	}
	for i, torque := range sampled(t, r.rec, "azimuth.external_torque") {
		b := position[i]
		want := scale * (0.0463*math.Sin(b) - 0.0858*math.Sin(2*b))
		if math.Abs(torque-want) > 1e-6*want {
			t.Fatalf("row %d at %.2f deg: %.1f N m, want %.1f", i, b/deg, torque, want)
		}
	}
}

// On the constant wind of the parameters a step acts at the worst attitude:
// The demo station's 30.72 kN m at 20 m/s grow to (28/20)^2 of them.
func TestWeather_GustStepOnTheConstantWind(t *testing.T) {
	s, rec := windy(t, nil, middle(), station.Options{}, fault.Entry{Start: moment(0),
		Fault: mustFault(t, "gust_step", "station", map[string]string{"by": "8 m/s"})})
	s.Advance(20 * ms)
	for name, want := range map[string]float64{"azimuth": 30720 * 1.96,
		"elevation": 25610*1.96 + 9000} {
		got := sampled(t, rec, name+".external_torque")[1]
		if math.Abs(got-want) > 1e-3*want {
			t.Errorf("%s: %.0f N m, want %.0f", name, got, want)
		}
	}
}

// One seed is one motion, looked at or not and at any
// plant step the same wind; another seed is another.
func TestWeather_FollowsItsSeedAndNobodysLooks(t *testing.T) {
	run := func(o station.Options, look time.Duration) (*station.Station, []float64) {
		s, rec := windy(t, gusty(), middle(), o)
		for at := look; look > 0 && at < 3*time.Second; at += look {
			s.Advance(at)
		}
		s.Advance(3 * time.Second)
		return s, sampled(t, rec, "azimuth.external_torque")
	}
	s, torque := run(station.Options{Seed: 5}, 0)
	for _, look := range []time.Duration{step, 700 * time.Microsecond, 130 * ms} {
		looked, same := run(station.Options{Seed: 5}, look)
		if *looked.Plant.State() != *s.Plant.State() || !slices.Equal(same, torque) {
			t.Errorf("looked at each %v it goes another way", look)
		}
	}
	if _, other := run(station.Options{Seed: 6}, 0); slices.Equal(other, torque) {
		t.Error("two seeds, one wind")
	}
	for _, h := range []time.Duration{step / 2, 2 * step} {
		_, got := run(station.Options{Seed: 5, Step: h}, 0)
		for i := range torque {
			// The attitudes differ by what the model of the motion does.
			if math.Abs(got[i]-torque[i]) > 1e-3*math.Abs(torque[i]) {
				t.Fatalf("at a step of %v row %d is %g N m, want %g", h, i, got[i], torque[i])
			}
		}
	}
}

// Over 10 min the told mean and gust stand to the wind as they should: the mean
// near the parameter, the gust above it by 1 to 4 deviations (common practice:
// gust factors of 1.2 to 1.8 at such an intensity).
func TestWeather_MeanAndGustOfTenMinutes(t *testing.T) {
	s, _ := windy(t, gusty(), middle(), station.Options{Seed: seed.Seed(11), Step: 2 * step})
	s.Advance(10 * time.Minute)
	_, mean, gust := s.Wind()
	if mean < 13.5 || mean > 16.5 || gust < mean+3 || gust > mean+12 {
		t.Errorf("mean %v, gust %v, of 15 m/s with a deviation of 3 m/s", mean, gust)
	}
}

// listen reads the sentences of a mast, with their times.
func listen(t *testing.T, w *served, count int) (at []time.Duration, lines []string) {
	t.Helper()
	conn, err := w.net.Dial(w.mast().Endpoint, nmea.Frame)
	if err != nil {
		t.Fatal(err)
	}
	g := w.clock.Group("listener")
	g.Start("reader", func(p clock.Process) {
		for range count {
			line, err := conn.Read(p, p.Now()+5*time.Second)
			if err != nil {
				t.Error(err)
				return
			}
			at, lines = append(at, p.Now()), append(lines, string(line))
		}
	})
	w.clock.Run(w.clock.Now()+time.Duration(count+1)*time.Second, func() bool {
		return len(lines) == count
	})
	g.Stop()
	return at, lines
}

// masted is the demo station in a steady wind, with its mast at the port of the trade.
func masted(t *testing.T) station.Parameters {
	set := demo(t)
	set.Weather = &station.Weather{Mean: 12.5, From: 270 * deg}
	set.Seat(station.RoleMast, 0).Endpoint.Address = "127.0.0.1:10110"
	set.Mast = weather.Parameters{Reference: nmea.True, Unit: nmea.MetresPerSecond}
	return set
}

// The sentence MWV of testdata/SOURCES.md on the wire, 1 Hz; from its fault on it is not valid.
func TestMast_TellsOnTheWire(t *testing.T) {
	set := masted(t)
	w := serve(t, set, fault.Entry{Start: moment(2500 * ms),
		Fault: mustFault(t, "mast_invalid", "mast", nil)})
	at, lines := listen(t, w, 4)
	const sound, invalid = "$WIMWV,270.0,T,12.5,M,A*15\r\n", "$WIMWV,,T,,M,V*31\r\n"
	if want := []string{sound, sound, invalid, invalid}; !slices.Equal(lines, want) {
		t.Errorf("heard %q, want %q", lines, want)
	}
	for i, when := range at {
		late := when - time.Duration(i+1)*time.Second
		if late < 0 || late > ms { // the network's latency
			t.Errorf("line %d heard at %v", i, when)
		}
	}
}

// What does not make a wind or a mast is refused with its reason.
func TestWeather_RefusesWhatMakesNoWind(t *testing.T) {
	refuse := func(reason string, w *station.Weather, m weather.Parameters) {
		t.Helper()
		set := demo(t)
		set.Weather, set.Mast = w, m
		if _, err := station.New(set, station.Options{}); err == nil ||
			!strings.Contains(err.Error(), reason) {
			t.Errorf("%v, want %q", err, reason)
		}
	}
	sound := demo(t).Mast
	refuse("gusts need a mean", &station.Weather{Intensity: 0.1, Length: 100}, sound)
	refuse("a length above 0", &station.Weather{Mean: 10, Intensity: 0.1}, sound)
	refuse("is neither R nor T", nil, weather.Parameters{})
	refuse("unit 'S' is none of N, M", nil,
		weather.Parameters{Reference: nmea.True, Unit: 'S'})
}

// A steady step allocates nothing, gusts or none.
func TestWeather_StepsWithoutAllocation(t *testing.T) {
	set := demo(t)
	set.Weather = gusty()
	s, err := station.New(set, station.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(20, func() { s.Advance(s.Now() + time.Second) }); n != 0 {
		t.Errorf("%g allocations a second", n)
	}
}

// What gusts cost: a simulated second of the demo station at rest.
func BenchmarkWeather(b *testing.B) {
	for _, w := range []struct {
		name    string
		weather *station.Weather
	}{{"constant", nil}, {"steady", &station.Weather{Mean: 15}}, {"gusts", gusty()}} {
		b.Run(w.name, func(b *testing.B) {
			s, _ := windy(b, w.weather, middle(), station.Options{})
			for b.Loop() {
				s.Advance(s.Now() + time.Second)
			}
		})
	}
}
