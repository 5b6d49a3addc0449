package standin

import (
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/emulators/nmea"
)

// How the trade tells a wind (HAZARDS.md, common practice): the mean over 10 min,
// which needs a minute at least to be one, and the gust over 3 s, of a word a second.
const (
	windWords     = 600
	windWordsMean = 60
	windWordsGust = 3
	// calmSpeed is a wind that may well stand still, m/s. Above it the same word
	// for ever is no wind.
	calmSpeed = 2.0
	// mastPatience is how long a word is awaited before the mast is dialled anew.
	mastPatience = 5 * time.Second
)

// windSeen is what the mast has told.
type windSeen struct {
	mast   link.Endpoint
	conn   link.Conn
	speeds [windWords]float64 // a ring, m/s
	count  int
	mean   float64       // over 10 min, or what there is of it, m/s
	gust   float64       // over 3 s, m/s; nought until there are so many words
	heard  time.Duration // last valid word
	fresh  time.Duration // last valid word that was another than the one before
	angle  float64
}

func (w *windSeen) close() error {
	if w.conn == nil {
		return nil
	}
	err := w.conn.Close()
	w.conn = nil
	return err
}

// listenToMast takes in the words of the mast as they come.
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
		line, err := w.conn.Read(p, p.Now()+mastPatience)
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

// take keeps a valid word; what is not valid is no word.
func (w *windSeen) take(said nmea.Wind, now time.Duration) {
	speed, valid := said.MetresPerSecond()
	if !valid {
		return
	}
	if w.count == 0 || float64(speed) != w.latest(0) || said.Angle.Value != w.angle ||
		float64(speed) < calmSpeed {
		w.fresh = now
	}
	w.angle, w.heard = said.Angle.Value, now
	w.speeds[w.count%windWords] = float64(speed)
	w.count++
	w.mean = w.over(min(w.count, windWords))
	if w.count >= windWordsGust {
		w.gust = w.over(windWordsGust)
	}
}

// latest is the speed that was told so many words ago.
func (w *windSeen) latest(ago int) float64 { return w.speeds[(w.count-1-ago)%windWords] }

// over is the mean of the last words.
func (w *windSeen) over(words int) float64 {
	sum := 0.0
	for ago := range words {
		sum += w.latest(ago)
	}
	return sum / float64(words)
}

// exceeds tells whether the wind is at its mean or, with its gust, at the gust limit.
func (w *windSeen) exceeds(set *WindSettings, gust float64) bool {
	return gust >= float64(set.Gust) || w.count >= windWordsMean && w.mean >= float64(set.Mean)
}

// superviseWind has the antenna seek its stow attitude at the wind's limits, and
// where the mast can no longer be trusted.
func (c *Controller) superviseWind(now time.Duration) {
	w, set := &c.wind, &c.set.Wind
	if w.mast.Address == "" {
		return
	}
	gust := w.gust
	if c.flaw.stowsAtOnce && w.count > 0 {
		gust = w.latest(0)
	}
	if w.exceeds(set, gust) {
		c.raise(causeWind, allAxes, takeRefuge, now)
	}
	if now-w.heard >= set.Doubt || now-w.fresh >= set.Doubt {
		c.raise(causeWindDoubtful, allAxes, takeRefuge, now)
	}
}
