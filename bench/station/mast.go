package station

import (
	"fmt"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// Mast is a weather mast and its seat, which has neither unit nor map.
type Mast struct {
	Seat Seat
	weather.Parameters
}

// feel tells the mast the wind. The constant wind of the parameters is a load that the
// axes are tried under, and no weather: without any other the air is still.
func (s *Station) feel() {
	if a := &s.air; len(a.winds)+len(a.steps) > 0 {
		s.Mast.Feel(a.now.Speed, a.now.From)
		return
	}
	s.Mast.Feel(0, 0)
}

// leastOfMean is how much of a wind there must be to have a mean at all.
const leastOfMean = time.Minute

// becalmed counts the still air before the first wind, so that this one's beginning
// is no gust by itself.
func (a *air) becalmed(until time.Duration) {
	if a.told.Taken() > 0 {
		return
	}
	for range min(until, plant.WindMeanSpan) / plant.WindSamplePeriod {
		a.told.Add(0)
	}
}

// weigh takes a sample of the wind, and marks where it passes a limit for stowing as
// the stop cause that it is: a gust counts from its beginning.
func (s *Station) weigh(now time.Duration) {
	a, limit := &s.air, &s.set.StowWind
	a.told.Add(a.now.Speed)
	strong := limit.Gust > 0 && a.told.Latest() >= limit.Gust ||
		limit.Mean > 0 && a.told.Taken() >= leastOfMean && a.told.Mean() >= limit.Mean
	if strong && now >= a.strongUntil && s.watch != nil {
		s.watch.to.Mark(max(now-plant.WindGustSpan, 0), record.Cause, "wind", "", "")
	}
	if strong {
		a.strongUntil = now + strongLasts
	}
}

// strongLasts is how long a wind that eases for a moment is still the same one.
const strongLasts = time.Minute

// serveMast puts the weather mast on the network, where the station has one.
func (s *Station) serveMast(net link.Network) (link.Listener, error) {
	mast := s.set.Mast
	if mast == nil {
		return nil, nil
	}
	l, err := net.Serve(link.Service{
		Name: mast.Seat.Name, Endpoint: mast.Seat.Endpoint, Framing: nmea.Frame,
		Open:    func() link.Session { return s.Mast.Open() },
		Advance: s.Advance,
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", mast.Seat.Name, err)
	}
	s.mastFront = &front{listener: l, units: 1}
	return l, nil
}

// MastSeat is where the weather mast answers; false without one.
func (s *Station) MastSeat() (Seat, bool) {
	if s.set.Mast == nil {
		return Seat{}, false
	}
	seat := s.set.Mast.Seat
	if s.mastFront != nil {
		seat.Endpoint = s.mastFront.listener.Endpoint()
	}
	return seat, true
}
