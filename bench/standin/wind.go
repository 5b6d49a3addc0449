package standin

import (
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/emulators/nmea"
)

// The wind as the trade measures it (WMO-No. 8): the mean over 10 min, which needs a
// minute at least to be one, and the gust over 3 s, of a reading a second.
const (
	windReadings     = 600
	windReadingsMean = 60
	gustReadings     = 3
	// calmSpeed is a wind that may well stand still, m/s. Above it a reading that
	// never changes is no wind.
	calmSpeed = 2.0
	// mastTimeout is how long a reading is awaited before the mast is dialled anew.
	mastTimeout = 5 * time.Second
)

// windData is what the mast has reported.
type windData struct {
	mast         link.Endpoint
	conn         link.Conn
	speeds       [windReadings]float64 // a ring, m/s
	count        int
	mean         float64 // over 10 min, or what there is of it, m/s
	gust         float64 // over 3 s, m/s; zero until there are so many readings
	gustReadings int
	fresh        time.Duration // last valid reading that differed from the one before
	angle        float64
}

func (w *windData) close() error {
	if w.conn == nil {
		return nil
	}
	err := w.conn.Close()
	w.conn = nil
	return err
}

// listenToMast takes in the readings of the mast as they come.
func (c *Controller) listenToMast(p clock.Process) {
	w := &c.wind
	for {
		if w.conn == nil {
			conn, err := c.net.Dial(w.mast, nmea.Frame)
			if err != nil {
				p.SleepUntil(p.Now() + redialTime)
				continue
			}
			w.conn = conn
		}
		line, err := w.conn.Read(p, p.Now()+mastTimeout)
		if err != nil {
			// What is broken or silent has nothing left to close.
			_ = w.close()
			p.SleepUntil(p.Now() + redialTime)
			continue
		}
		if wind, err := nmea.ParseWind(line); err == nil {
			w.take(wind, p.Now())
		}
	}
}

// take keeps a valid reading.
func (w *windData) take(reading nmea.Wind, now time.Duration) {
	speed, valid := reading.MetresPerSecond()
	if !valid {
		return
	}
	if w.count == 0 || float64(speed) != w.latest(0) || reading.Angle.Value != w.angle ||
		float64(speed) < calmSpeed {
		w.fresh = now
	}
	w.angle = reading.Angle.Value
	w.speeds[w.count%windReadings] = float64(speed)
	w.count++
	w.mean = w.over(min(w.count, windReadings))
	if w.count >= w.gustReadings {
		w.gust = w.over(w.gustReadings)
	}
}

// latest is the speed so many readings ago.
func (w *windData) latest(ago int) float64 { return w.speeds[(w.count-1-ago)%windReadings] }

// over is the mean of the last readings.
func (w *windData) over(readings int) float64 {
	sum := 0.0
	for ago := range readings {
		sum += w.latest(ago)
	}
	return sum / float64(readings)
}

// exceeds reports whether the wind is at the limit of its mean or of its gust.
func (w *windData) exceeds(set *WindSettings) bool {
	return w.gust >= float64(set.Gust) ||
		w.count >= windReadingsMean && w.mean >= float64(set.Mean)
}

// superviseWind has the antenna drive to its stow attitude at the wind's limits, and
// where the mast can no longer be trusted.
func (c *Controller) superviseWind(now time.Duration) {
	w, set := &c.wind, &c.set.Wind
	if w.mast.Address == "" {
		return
	}
	if w.exceeds(set) {
		c.raise(causeWind, allAxes, now)
	}
	if now-w.fresh >= set.Silence {
		c.raise(causeWindDoubtful, allAxes, now)
	}
}
