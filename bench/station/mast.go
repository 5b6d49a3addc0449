package station

import (
	"fmt"

	"haltmark/bench/link"
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
	s.mastAt = l.Endpoint()
	return l, nil
}

// MastSeat is where the weather mast answers; false without one.
func (s *Station) MastSeat() (Seat, bool) {
	if s.set.Mast == nil {
		return Seat{}, false
	}
	seat := s.set.Mast.Seat
	if s.mastAt != (link.Endpoint{}) {
		seat.Endpoint = s.mastAt
	}
	return seat, true
}
