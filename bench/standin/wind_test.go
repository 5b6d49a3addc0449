package standin

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/link"
	"haltmark/emulators/nmea"
)

// windy is a controller at rest in remote with a mast: limits 20 m/s and 25 m/s.
func windy(t *testing.T) *Controller {
	c := ready(t)
	c.disarm()
	c.set.Wind = WindSettings{Mean: 20, Gust: 25, Silence: 5 * time.Second}
	c.wind.mast = link.Endpoint{Network: "tcp", Address: "127.0.0.1:15010"}
	c.set.Stow = math.Pi / 2
	return c
}

// reportWind has the mast report a wind in m/s from an angle in deg.
func (c *Controller) reportWind(speed, angle float64, now time.Duration) {
	c.wind.take(nmea.Wind{Angle: nmea.Given(angle), Speed: nmea.Given(speed),
		Unit: nmea.MetresPerSecond, Valid: true}, now)
}

// WMO-No. 8 (from memory): a gust is the highest mean over 3 s, a mean one over 10 min.
func TestWind_LimitsOfGustAndMean(t *testing.T) {
	for _, one := range []struct {
		name   string
		speeds func(second int) float64
		first  int // second at which the wind is a cause; 0 for never
	}{
		{"two strong readings are no gust", func(s int) float64 {
			return map[bool]float64{true: 30, false: 10}[s == 100 || s == 101]
		}, 0},
		{"three are", func(s int) float64 {
			return map[bool]float64{true: 25, false: 10}[s >= 100]
		}, 102},
		{"a mean needs a minute", func(int) float64 { return 20 }, 60},
		{"a mean below its limit", func(s int) float64 { return 19.8 + 0.1*float64(s%2) }, 0},
		{"a gale after a calm counts once its mean does", func(s int) float64 {
			return map[bool]float64{true: 24, false: 0}[s > 600]
		}, 1100},
	} {
		c := windy(t)
		first := 0
		for second := 1; second <= 1300 && first == 0; second++ {
			now := time.Duration(second) * time.Second
			c.reportWind(one.speeds(second), float64(second%360), now)
			c.superviseWind(now)
			if c.latched[causeWind] {
				first = second
			}
		}
		if first != one.first || c.latched[causeWindDoubtful] {
			t.Errorf("%s: a cause after %d s, want %d s", one.name, first, one.first)
		}
	}
}

func TestWind_AMastThatCannotBeTrusted(t *testing.T) {
	for _, one := range []struct {
		name  string
		speed float64
		fails bool
		say   func(c *Controller, second int, now time.Duration)
	}{
		{"silent", 10, true, func(*Controller, int, time.Duration) {}},
		{"readings not valid", 10, true, func(c *Controller, s int, now time.Duration) {
			c.wind.take(nmea.Wind{Speed: nmea.Given(float64(s)), Unit: nmea.MetresPerSecond}, now)
		}},
		{"the same for ever", 10, true, func(c *Controller, _ int, now time.Duration) {
			c.reportWind(10, 0, now)
		}},
		{"a calm", 0, false, func(c *Controller, _ int, now time.Duration) {
			c.reportWind(0, 0, now)
		}},
		{"the direction changes", 10, false, func(c *Controller, s int, now time.Duration) {
			c.reportWind(10, float64(s), now)
		}},
	} {
		c := windy(t)
		c.reportWind(one.speed, 0, time.Second)
		for second := 2; second <= 20; second++ {
			now := time.Duration(second) * time.Second
			one.say(c, second, now)
			c.superviseWind(now)
			// The last good reading came after 1 s; 5 s without another are allowed.
			if want := one.fails && second >= 6; c.latched[causeWindDoubtful] != want {
				t.Errorf("%s: after %d s latched %v", one.name, second, !want)
				break
			} else if want != (c.autoStow == autoStowWarning) {
				t.Errorf("%s: on its way to the stow attitude %v", one.name, !want)
				break
			}
		}
	}
}

// The way to the stow attitude (common practice): warning, motion, a category 1 stop.
func TestAutoStow_WarnsMovesAndStops(t *testing.T) {
	c := windy(t)
	now := time.Minute
	at := func(want autoStow, powered bool, what string) {
		t.Helper()
		if c.autoStow != want || c.powered() != powered {
			t.Fatalf("%s: stage %d, powered %v", what, c.autoStow, c.powered())
		}
	}
	c.raise(causeWind, allAxes, now)
	c.stowByItself(now)
	at(autoStowWarning, false, "raised")
	now += c.set.Timing.Horn
	c.stowByItself(now)
	at(autoStowWarning, false, "the horn owes what its outputs take")
	now += 2 * c.set.Timing.Cycle
	c.stowByItself(now)
	at(autoStowMoving, true, "the horn has ended")
	el := &c.axes[1]
	if el.goal != (goal{goalPosition, math.Pi / 2, c.fullRate(1)}) || c.axes[0].started() {
		t.Fatalf("elevation has the goal %+v, azimuth started %v", el.goal, c.axes[0].started())
	}
	el.enter(running, now)
	el.ref.position = math.Pi/2 - 0.2*deg
	c.stowByItself(now)
	at(autoStowMoving, true, "not there yet")
	el.ref.position = math.Pi / 2
	c.stowByItself(now)
	at(autoStowStopping, true, "in place")
	if el.phase != ramping {
		t.Fatalf("elevation in phase %d", el.phase)
	}
	el.enter(off, now)
	c.stowByItself(now)
	at(autoStowOver, false, "at rest")
	c.raise(causeWind, allAxes, now)
	at(autoStowOver, false, "the wind blows on")
}

// Nothing sets off by itself where people may be (common practice).
func TestAutoStow_NotWherePeopleMayBe(t *testing.T) {
	for name, set := range map[string]func(*Controller){
		"local":          func(c *Controller) { c.inputs.mode = modeLocal },
		"maintenance":    func(c *Controller) { c.inputs.mode = modeMaintenance },
		"access open":    func(c *Controller) { c.inputs.accessOpen = true },
		"relay open":     func(c *Controller) { c.inputs.relayClosed = false },
		"emergency stop": func(c *Controller) { c.latched[causeEmergencyStop] = true },
		"in place":       func(c *Controller) { c.axes[1].position = math.Pi / 2 },
	} {
		c := windy(t)
		set(c)
		c.raise(causeWind, allAxes, time.Minute)
		if c.autoStow != autoStowOver || c.hornUntil != 0 {
			t.Errorf("%s: stage %d, horn until %v", name, c.autoStow, c.hornUntil)
		}
		if name == "in place" {
			continue
		}
		c = windy(t)
		c.raise(causeWind, allAxes, time.Minute)
		set(c)
		c.stowByItself(time.Minute + 10*time.Second)
		if c.powered() {
			t.Errorf("%s while the horn sounds: sets off all the same", name)
		}
	}
}

func TestAutoStow_AnotherCauseEndsIt(t *testing.T) {
	c := windy(t)
	c.raise(causeWind, allAxes, time.Minute)
	c.stowByItself(time.Minute + 6*time.Second)
	c.axes[1].enter(running, time.Minute+6*time.Second)
	c.raise(causeEmergencyStop, allAxes, time.Minute+7*time.Second)
	if c.autoStow != autoStowOver || c.axes[1].phase != ramping {
		t.Errorf("stage %d, elevation in phase %d", c.autoStow, c.axes[1].phase)
	}
}
