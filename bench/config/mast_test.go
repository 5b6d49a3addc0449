package config

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/link"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

func TestMast_AsWritten(t *testing.T) {
	for name, want := range map[string]struct {
		at   string
		mast weather.Parameters
	}{
		"demo": {"127.0.0.1:15051",
			weather.Parameters{Reference: nmea.True, Unit: nmea.MetresPerSecond}},
		"small": {"127.0.0.1:15251", weather.Parameters{Reference: nmea.Relative,
			Unit: nmea.Knots, Heading: 30 * quantity.Degree}},
	} {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		made := s.Station()
		if diff := cmp.Diff(want.mast, made.Mast); diff != "" {
			t.Errorf("%s: -want +got\n%s", name, diff)
		}
		seat := station.Seat{Device: station.Device{Role: station.RoleMast}, Name: "mast", Gear: 1,
			Endpoint: link.Endpoint{Network: "tcp", Address: want.at}}
		if diff := cmp.Diff(&seat, made.Seat(station.RoleMast, 0)); diff != "" {
			t.Errorf("%s: -want +got\n%s", name, diff)
		}
	}
}
