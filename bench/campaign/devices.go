package campaign

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/standin"
	"haltmark/bench/station"
)

// DeviceSheet is everything a controller needs to find its devices, as `serve
// --json` prints it and `standin --devices` reads it.
type DeviceSheet struct {
	Station    string          `json:"station"`
	Devices    []DeviceRow     `json:"devices"`
	Management ManagementPlace `json:"management"`
}

// DeviceRow is one device.
type DeviceRow struct {
	Role     string `json:"role"`           // encoder, drive, interlock or mast
	For      string `json:"for,omitempty"`  // axis or motor, such as azimuth or azimuth.1
	Name     string `json:"name"`           // what the station calls it
	Protocol string `json:"protocol"`       // modbus-tcp; nmea-0183 of a mast
	Network  string `json:"network"`        // tcp
	Address  string `json:"address"`        // host and port
	Unit     byte   `json:"unit"`           // unit id; of a mast 0
	Map      string `json:"map,omitempty"`  // name of its register map; a mast has none
	Gear     string `json:"gear,omitempty"` // motor turns for one of the axis
}

// The protocols of devices, as the station files name them.
const (
	protocolModbus = "modbus-tcp"
	protocolMast   = "nmea-0183"
)

// ManagementPlace tells where the controller's agent answers, and where its
// notifications are awaited.
type ManagementPlace struct {
	Agent         string `json:"agent"` // UDP, host and port
	Notifications string `json:"notifications"`
}

// NewDeviceSheet lists the seats of a station, in its own order.
func NewDeviceSheet(
	name string, seats []station.Seat, profile *controller.Profile,
) DeviceSheet {
	sheet := DeviceSheet{Station: name, Management: ManagementPlace{
		Agent: profile.Agent.Address, Notifications: profile.Notify.Address}}
	for i, seat := range seats {
		role, of := roleOf(i)
		sheet.Devices = append(sheet.Devices, DeviceRow{Role: role, For: of, Name: seat.Name,
			Protocol: protocolModbus, Network: seat.Endpoint.Network,
			Address: seat.Endpoint.Address, Unit: seat.Unit, Map: seat.Map.Name,
			Gear: fmt.Sprintf("%.6g", seat.Gear)})
	}
	return sheet
}

// AddMast lists the weather mast behind the other devices.
func (s *DeviceSheet) AddMast(seat station.Seat) {
	s.Devices = append(s.Devices, DeviceRow{Role: "mast", Name: seat.Name, Protocol: protocolMast,
		Network: seat.Endpoint.Network, Address: seat.Endpoint.Address})
}

// deviceCount is how many seats a station has: encoders by axis, drives by motor,
// the interlock unit.
const deviceCount = plant.AxisCount + plant.MotorCount + 1

func roleOf(i int) (role, of string) {
	switch {
	case i < plant.AxisCount:
		return "encoder", plant.AxisNames[i]
	case i < plant.AxisCount+plant.MotorCount:
		return "drive", plant.MotorNames[i-plant.AxisCount]
	}
	return "interlock", ""
}

// Write prints the sheet as JSON.
func (s *DeviceSheet) Write(to io.Writer) error {
	e := json.NewEncoder(to)
	e.SetIndent("", "  ")
	return e.Encode(s)
}

// WriteFile leaves the sheet in a file, whole or not at all.
func (s *DeviceSheet) WriteFile(name string) error {
	var b bytes.Buffer
	if err := s.Write(&b); err != nil {
		return err
	}
	return WriteWhole(name, b.Bytes())
}

// WriteWhole writes a file that is either as before or whole.
func WriteWhole(name string, text []byte) error {
	part := name + ".part"
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(part, text, 0o644); err != nil {
		return err
	}
	return os.Rename(part, name)
}

// ReadDeviceSheet reads a sheet from a file.
func ReadDeviceSheet(name string) (DeviceSheet, error) {
	var s DeviceSheet
	text, err := os.ReadFile(name)
	if err != nil {
		return s, BadInput{fmt.Sprintf("--devices %s: cannot be read; name what "+
			"`haltmark serve --json` printed", name)}
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err = d.Decode(&s)
	if err == nil && s.Station == "" {
		err = errors.New("it names no station")
	}
	if err != nil {
		return s, BadInput{fmt.Sprintf("--devices %s: is not what `haltmark serve --json` "+
			"prints: %v", name, err)}
	}
	return s, nil
}

// Place puts the addresses of a sheet into what the stand-in knows of its devices.
// The rest must be as the station's own files say.
func (s *DeviceSheet) Place(d *standin.Devices) error {
	var bad BadInput
	for i := range deviceCount {
		role, of := roleOf(i)
		row := s.find(role, of)
		if row == nil {
			bad = append(bad, fmt.Sprintf("the device sheet has no %s %s", role, of))
			continue
		}
		seat := seatOf(d, i)
		if row.Map != seat.Map.Name {
			bad = append(bad, fmt.Sprintf("the device sheet gives %s the register map %s; station "+
				"%s has %s; serve and stand-in need the same station", row.Name, row.Map, s.Station,
				seat.Map.Name))
		}
		seat.Endpoint = link.Endpoint{Network: row.Network, Address: row.Address}
		seat.Unit = row.Unit
	}
	d.Management = link.Endpoint{Network: "udp", Address: s.Management.Agent}
	d.Notify = link.Endpoint{Network: "udp", Address: s.Management.Notifications}
	if bad != nil {
		return bad
	}
	return nil
}

func (s *DeviceSheet) find(role, of string) *DeviceRow {
	for i := range s.Devices {
		if s.Devices[i].Role == role && s.Devices[i].For == of {
			return &s.Devices[i]
		}
	}
	return nil
}

func seatOf(d *standin.Devices, i int) *standin.Seat {
	switch {
	case i < plant.AxisCount:
		return &d.Encoders[i]
	case i < plant.AxisCount+plant.MotorCount:
		return &d.Drives[i-plant.AxisCount]
	}
	return &d.Interlock
}
