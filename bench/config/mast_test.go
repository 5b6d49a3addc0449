package config

import (
	"os"
	"path/filepath"
	"strings"
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

func TestMast_Refuses(t *testing.T) {
	demo, err := os.ReadFile("../../fixtures/stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "masted.yaml")
	for _, row := range []struct{ from, to, want string }{
		{"nmea-0183", "nmea-2000", `:215: mast.protocol: "nmea-2000" is not known here; ` +
			"need nmea-0183"},
		{"reference: true", "reference: north", `:215: mast.reference: "north" is not ` +
			"known here; need relative or true"},
		{"unit: m/s", "unit: mph", `:216: mast.unit: "mph" is not known here; need knots, ` +
			"m/s or km/h"},
		{"127.0.0.1:15051", "127.0.0.1", `:215: mast.endpoint: "127.0.0.1" is not an address ` +
			"with a port; need such as 127.0.0.1:15021"},
		{"127.0.0.1:15051", "127.0.0.1:15041", ":215: mast is at 127.0.0.1:15041, where " +
			"interlock_unit is already; two devices never share address, port and unit; give it " +
			"another port (rule 10)"},
	} {
		at := strings.LastIndex(string(demo), row.from)
		text := string(demo[:at]) + row.to + string(demo[at+len(row.from):])
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := LoadStation(path)
		if err == nil || !strings.HasSuffix(strings.SplitN(err.Error(), "\n", 2)[0], row.want) {
			t.Errorf("%s: says\n%v\nwant\n%s", row.to, err, row.want)
		}
	}
}
