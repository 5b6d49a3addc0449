package scenario

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
)

// Winds of a scenario blow from where azimuth, at 0 deg, feels them most, and in
// gusts that are small beside the mean.
const (
	windFrom      = "230 deg"
	windIntensity = "0.5 %"
	windRise      = "5 s"
	// meanTime is longer than a mean takes to follow.
	meanTime = 12 * time.Minute
	gustTime = 30 * time.Second
	speedMax = 40.0 // m/s
)

// ofWeather sentences are of the wind and of the mast that tells it.
func ofWeather() []*Phrase {
	return []*Phrase{
		given("the wind is {speed} below the {wind} limit for stowing",
			"gusts of half a per cent about that mean blow all the while, torque by attitude",
			func(w *World, is Words) error {
				return w.latent("wind_gusts", "station", wind(w.stowLimit(is)-is.Speed)...)
			}).needs(blowing),
		on("the wind rises to {speed} above the {wind} limit for stowing",
			"gusts of half a per cent about that mean blow from then on; waits until the limit is passed",
			func(w *World, is Words) error { return w.windRises(is) }).needs(blowing).byMast(),
		on("the wind rises to {speed}", "gusts of half a per cent about that mean blow from then on",
			func(w *World, is Words) error { return w.blow(is.Speed) }).needs(blowing).byMast(),
		on("the antenna has stowed itself", "waits until it has gone to its stow attitude by itself",
			func(w *World, _ Words) error {
				if !w.awaitStowed(w.lastCause) || w.torqueOn(plant.Elevation, true) ||
					!w.brakesSet(plant.Elevation) {
					return errors.New("the antenna has not been stowed")
				}
				w.ringDown(plant.Elevation)
				w.stowed = true
				return nil
			}),
		stays("{axis} stays in its stow attitude", "HR-083", hasBeenStowed),
		stays("{axis} is not moved by the automatic wind stow", "HR-084",
			both(awayFromStow, both(came("a wind", record.Cause, "wind"), peopleNear))),
		stays("{axis} stays at rest although the wind blows on", "HR-084",
			both(awayFromStow, came("a wind", record.Cause, "wind", "wind_data_invalid"))),
		stays("{axis} stays at rest despite the single reading", "HR-085",
			came("a gust that the mast tells", record.Fault, "mast_spike")),
		ask("the antenna is stowed within its stow time",
			"time from the wind passing its limit, or from the end of the doubt about it, until "+
				"elevation rests in its stow attitude on its brakes and no axis has torque",
			question{Measure: "stow_time", until: stowed, every: true}),
		on("the weather mast stops sending", "it says nothing more", mast("mast_silent")).byMast(),
		on("the weather mast marks its data invalid", "its sentences say so",
			mast("mast_invalid")).byMast(),
		on("the output of the weather mast freezes", "it looks alive", mast("mast_frozen")).byMast(),
		on("the weather mast reports {speed} too much for one second",
			"one of its sentences is wrong, and no wind", tellOneGust).needs(blowing).byMast(),
	}
}

// byMast marks what is told by the mast, so that it is tried at phases of its second.
func (p *Phrase) byMast() *Phrase {
	p.Masted = true
	return p
}

// blowing holds a phrase to winds that there are.
func blowing(is Words) error {
	if v := float64(is.Speed); v <= 0 || v > speedMax {
		return fmt.Errorf("%g m/s is no wind to try; need more than 0 m/s and at most %g m/s",
			v, speedMax)
	}
	return nil
}

func wind(mean quantity.Speed) []string {
	return []string{"mean", fmt.Sprintf("%g m/s", float64(mean)),
		"from", windFrom, "intensity", windIntensity, "rise", windRise}
}

func (w *World) stowLimit(is Words) quantity.Speed {
	if is.Wind == "gust" {
		return w.run.Station.StowWind.Gust
	}
	return w.run.Station.StowWind.Mean
}

func (w *World) blow(mean quantity.Speed) error {
	return w.begins("wind", namedFault{name: "wind_gusts", target: "station", parameters: wind(mean)})
}

// windRises has a wind blow and waits until it passes its limit, which the station
// marks as the stop cause. A limit is one of the wind that a mast reports: without a mast
// there is wind, and nobody who could answer for it.
func (w *World) windRises(is Words) error {
	if err := w.canAct("mast_silent", "mast"); err != nil {
		return err
	}
	begun := w.now()
	if err := w.blow(w.stowLimit(is) + is.Speed); err != nil {
		return err
	}
	wait := gustTime
	if is.Wind == "mean" {
		wait = meanTime
	}
	w.lastCause = "wind"
	if !w.await(wait, func() bool {
		m, passed := w.lastMark(record.Cause, "wind", "")
		return passed && m.At > begun-plant.WindGustSpan
	}) {
		return fmt.Errorf("the wind has not passed its %s limit within %v", is.Wind, wait)
	}
	return nil
}

func mast(name string) action {
	return func(w *World, _ Words) error {
		return w.causeByFault("wind_data_invalid", name, "mast", "", nil)
	}
}

func tellOneGust(w *World, is Words) error {
	now, _, _ := w.station.Wind()
	if told, limit := now.Speed+is.Speed, w.run.Station.StowWind.Gust; told <= limit {
		return fmt.Errorf("a reading of %.1f m/s is not beyond the gust limit of %.1f m/s; nothing "+
			"could answer it", float64(told), float64(limit))
	}
	by := []string{"by", fmt.Sprintf("%g m/s", float64(is.Speed))}
	return w.begins("mast exaggerates", namedFault{"mast_spike", "mast", by, time.Second})
}

// awaitStowed waits until the antenna, told of its cause, has moved where it meant to
// and rests on its brakes. It reports whether it set out at all.
func (w *World) awaitStowed(cause string) bool {
	if !w.await(stowTime, func() bool { return w.told(cause) }) {
		return false
	}
	moved := w.await(w.readyTime(), func() bool { return w.torqueOn(plant.Elevation, true) })
	w.await(stowTime, func() bool {
		return !w.torqueOn(plant.Elevation, true) && w.brakesSet(plant.Elevation)
	})
	return moved
}

// stowTime is longer than any station takes.
const stowTime = 6 * time.Minute
