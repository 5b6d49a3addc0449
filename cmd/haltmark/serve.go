package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"text/tabwriter"
	"time"

	"haltmark/bench/campaign"
	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/emulators/interlock"
)

// serveCommand serves the emulated station to a controller outside.
type serveCommand struct {
	Station    string `default:"demo" help:"Embedded station, or a file."`
	Controller string `default:"standin" help:"Embedded controller sheet, or a file."`
	Seed       string `default:"1" help:"Seed of noise and impairments."`
	Step       string `default:"0.25 ms" help:"Plant step: 0.125 ms, 0.25 ms or 0.5 ms."`
	JSON       bool   `name:"json" help:"Print the device sheet as JSON."`
	Devices    string `help:"Also write the device sheet to this file."`
}

// Run implements the subcommand: it serves until it is interrupted.
func (s *serveCommand) Run(c *console) error {
	parameters, sheet, options, err := s.load()
	if err != nil {
		return err
	}
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer cancel()
	wall := clock.NewWall()
	defer wall.Close()
	st, err := station.New(*parameters, options)
	if err != nil {
		return err
	}
	st.Interlock.Panel.Mode = interlock.Remote
	listeners, err := st.Serve(link.NewHost(wall))
	if err != nil {
		return fmt.Errorf("%w; is it served already?", err)
	}
	devices := campaign.NewDeviceSheet(parameters.Name, st.Seats(), &sheet.Profile)
	if err := s.show(c, &devices); err != nil {
		return err
	}
	pushes := make(chan struct{})
	go readPushes(ctx, os.Stdin, pushes)
	s.stand(ctx, wall, st, pushes)
	var errs []error
	for _, l := range listeners {
		errs = append(errs, l.Close())
	}
	return errors.Join(errs...)
}

func (s *serveCommand) load() (
	*station.Parameters, *config.Controller, station.Options, error,
) {
	var options station.Options
	if err := campaign.CheckNames(s.Station, s.Controller); err != nil {
		return nil, nil, options, err
	}
	loaded, err := config.LoadStation(s.Station)
	if err != nil {
		return nil, nil, options, err
	}
	sheet, err := config.LoadController(s.Controller)
	if err != nil {
		return nil, nil, options, err
	}
	if options.Seed, err = seed.Parse(s.Seed); err != nil {
		return nil, nil, options, campaign.BadInput{"--seed: " + err.Error()}
	}
	if options.Step, err = plantStep(s.Step); err != nil {
		return nil, nil, options, campaign.BadInput{"--step: " + err.Error()}
	}
	parameters := loaded.Station()
	for axis := range options.Position {
		limits := parameters.Plant.Axes[axis].Limits.Software
		if !plant.Axis(axis).Main() {
			limits = parameters.Plant.Axes[axis].Travel
		}
		options.Position[axis] = float64(limits[0]+limits[1]) / 2
	}
	return &parameters, sheet, options, nil
}

// show prints where everything is.
func (s *serveCommand) show(c *console, d *campaign.DeviceSheet) error {
	if s.Devices != "" {
		if err := d.WriteFile(s.Devices); err != nil {
			return err
		}
	}
	if s.JSON {
		return d.Write(c.out)
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	line := func(cells ...string) {
		for i := range cells {
			cells[i] = printable(cells[i])
		}
		_, _ = fmt.Fprintln(w, strings.Join(cells, "\t"))
	}
	line("DEVICE", "ROLE", "OF", "PROTOCOL", "ADDRESS", "UNIT", "MAP")
	for _, row := range d.Devices {
		unit := fmt.Sprint(row.Unit)
		if row.Map == "" {
			unit = "" // it has neither
		}
		line(row.Name, row.Role, row.For, row.Protocol, row.Network+" "+row.Address, unit, row.Map)
	}
	line("controller's agent", "management", "", "snmp v2c", "udp "+d.Management.Agent)
	line("notifications", "management", "", "snmp v2c", "udp "+d.Management.Notifications)
	if err := w.Flush(); err != nil {
		return err
	}
	c.say("The mode selector is at remote. Enter pushes the reset button of the interlock unit.")
	c.say(caution)
	return nil
}

// readPushes turns each line of input into a push of the reset button.
func readPushes(ctx context.Context, from io.Reader, pushes chan<- struct{}) {
	lines := bufio.NewScanner(from)
	for lines.Scan() {
		select {
		case pushes <- struct{}{}:
		case <-ctx.Done():
			return
		}
	}
}

// The reset button is pushed once by itself, so that a controller can begin, and
// each push lasts for a moment.
const (
	firstPush = time.Second
	pushTime  = 100 * time.Millisecond
)

// stand lets the station's time go on until the end.
func (s *serveCommand) stand(
	ctx context.Context, wall *clock.Wall, st *station.Station, pushes <-chan struct{},
) {
	push := func(at time.Duration) {
		set := func(pushed bool) func() {
			return func() {
				st.Advance(wall.Now())
				st.Interlock.Panel.Reset = pushed
			}
		}
		wall.At(at, set(true))
		wall.At(at+pushTime, set(false))
	}
	push(firstPush)
	for ctx.Err() == nil {
		wall.Run(wall.Now()+pushTime, func() bool {
			st.Advance(wall.Now())
			select {
			case <-pushes:
				push(wall.Now())
			default:
			}
			return ctx.Err() != nil
		})
	}
}
