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
	for name, want := range map[string]station.Mast{
		"demo": {Seat: seatAt("127.0.0.1:15051"),
			Parameters: weather.Parameters{Reference: nmea.True, Unit: nmea.MetresPerSecond}},
		"small": {Seat: seatAt("127.0.0.1:15251"), Parameters: weather.Parameters{
			Reference: nmea.Relative, Unit: nmea.Knots, Heading: 30 * quantity.Degree}},
	} {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(&want, s.Station().Mast); diff != "" {
			t.Errorf("%s: -want +got\n%s", name, diff)
		}
	}
}

func seatAt(address string) station.Seat {
	return station.Seat{Name: "mast", Gear: 1,
		Endpoint: link.Endpoint{Network: "tcp", Address: address}}
}
