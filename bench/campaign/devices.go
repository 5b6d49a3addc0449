package campaign

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"haltmark/bench/config"
	"haltmark/bench/controller"
	"haltmark/bench/link"
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
	Role     string `json:"role"`           // such as encoder; a station's device has it
	For      string `json:"for,omitempty"`  // axis or motor, such as azimuth or azimuth.1
	Name     string `json:"name"`           // what the station calls it
	Protocol string `json:"protocol"`       // such as modbus-tcp
	Network  string `json:"network"`        // tcp or udp
	Address  string `json:"address"`        // host and port
	Unit     byte   `json:"unit"`           // unit id; 0 where its protocol has none
	Map      string `json:"map,omitempty"`  // name of its register map, where it has one
	Gear     string `json:"gear,omitempty"` // motor turns for one of the axis
}

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
	for _, seat := range seats {
		row := DeviceRow{Role: string(seat.Role), For: seat.Of(), Name: seat.Name,
			Protocol: seat.Role.Kind().Protocol.Name, Network: seat.Endpoint.Network,
			Address: seat.Endpoint.Address, Unit: seat.Unit, Map: seat.Map.Name}
		if row.Map != "" {
			row.Gear = fmt.Sprintf("%.6g", seat.Gear)
		}
		sheet.Devices = append(sheet.Devices, row)
	}
	return sheet
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

// WriteWhole writes a file atomically: it is either as before or whole.
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
	err := config.ReadJSON(name, config.FixtureLimit, &s)
	var unread *fs.PathError
	if errors.As(err, &unread) {
		return s, BadInput{fmt.Sprintf("--devices %s: cannot be read; %s; name what "+
			"`haltmark serve --json` printed", name, config.Reason(err))}
	}
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
	for _, one := range station.Devices() {
		role, of := string(one.Role), one.Of()
		seat := d.Seat(role, one.Index)
		if seat == nil || seat.Endpoint.Address == "" {
			continue // it does not use it, or the station has none
		}
		row := s.find(role, of)
		if row == nil {
			bad = append(bad, fmt.Sprintf("the device sheet has no %v", one))
			continue
		}
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
