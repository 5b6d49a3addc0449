package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"haltmark/bench/campaign"
	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/link"
	"haltmark/bench/standin"
)

// standinCommand is the stand-in as a process of its own, over the network.
type standinCommand struct {
	Devices    string `required:"" help:"File that serve --json printed."`
	Station    string `default:"demo" help:"Embedded station, or a file."`
	Controller string `default:"standin" help:"Embedded controller sheet, or a file."`
	Defect     string `help:"Seeded defect; see haltmark defects."`
	State      string `help:"Folder for what outlives its power; none forgets."`
	Attached   bool   `hidden:"" help:"End with the process that started it."`
}

// keptFile is the stand-in's memory in its state folder.
const keptFile = "kept.json"

// Run implements the subcommand: it controls until it is interrupted.
func (s *standinCommand) Run(c *console) error {
	settings, devices, err := s.load()
	if err != nil {
		return err
	}
	defect, _ := standin.FindDefect(s.Defect) // load has checked the name
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer cancel()
	wall := clock.NewWall()
	defer wall.Close()
	k, err := defect.Start(wall, link.NewHost(wall), settings, devices)
	if err != nil {
		return fmt.Errorf("the stand-in does not start: %w", err)
	}
	defer k.Stop()
	c.say("The stand-in answers at udp %s. %s", devices.Management.Address, caution)
	return s.watch(ctx, wall, settings.Kept)
}

// load reads what the flags name, all of it before any port opens.
func (s *standinCommand) load() (standin.Settings, standin.Devices, error) {
	var none standin.Settings
	if err := campaign.CheckNames(s.Station, s.Controller); err != nil {
		return none, standin.Devices{}, err
	}
	station, err := config.LoadStation(s.Station)
	if err != nil {
		return none, standin.Devices{}, err
	}
	sheet, err := config.LoadController(s.Controller)
	if err != nil {
		return none, standin.Devices{}, err
	}
	if err := campaign.CheckDefect(s.Defect); err != nil {
		return none, standin.Devices{}, campaign.BadInput{err.Error()}
	}
	settings, devices := station.Standin(&sheet.Profile)
	places, err := campaign.ReadDeviceSheet(s.Devices)
	if err != nil {
		return none, devices, err
	}
	if places.Station != station.Name() {
		return none, devices, campaign.BadInput{fmt.Sprintf("--devices %s: is of station %s, not %s",
			s.Devices, places.Station, station.Name())}
	}
	if err := places.Place(&devices); err != nil {
		return none, devices, err
	}
	settings.Kept, err = s.recall()
	return settings, devices, err
}

// recall reads what an earlier life kept.
func (s *standinCommand) recall() (*standin.Kept, error) {
	kept := &standin.Kept{}
	if s.State == "" {
		return kept, nil
	}
	name := filepath.Join(s.State, keptFile)
	err := config.ReadJSON(name, config.JSONLimit, kept)
	if errors.Is(err, fs.ErrNotExist) {
		return kept, nil
	} else if err != nil {
		return nil, campaign.BadInput{fmt.Sprintf("--state %s: %v", s.State, err)}
	}
	return kept, nil
}

// watch writes down what is kept whenever it has changed, since the plug may be
// pulled at any time, until it is told to end.
func (s *standinCommand) watch(
	ctx context.Context, wall *clock.Wall, kept *standin.Kept,
) error {
	var last standin.Kept
	parent := os.Getppid()
	for ctx.Err() == nil && (!s.Attached || os.Getppid() == parent) {
		wall.Run(wall.Now()+20*time.Millisecond, nil)
		var present standin.Kept
		wall.Do(func() { present = *kept })
		if s.State == "" || present == last {
			continue
		}
		last = present
		var b bytes.Buffer
		if err := json.NewEncoder(&b).Encode(present); err != nil {
			return err
		}
		if err := campaign.WriteWhole(filepath.Join(s.State, keptFile), b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}
