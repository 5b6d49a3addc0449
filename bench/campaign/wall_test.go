package campaign

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/clock"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/record"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

func stop(value float64, v verdict.Verdict) verdict.Outcome {
	return verdict.Outcome{Requirement: "HR-020", Measure: "stop_time", Axis: "azimuth",
		Comparison: verdict.AtMost, Value: value, Limit: 2, Margin: 2 - value, Measured: true,
		Verdict: v}
}

// A stop of the wall clock agrees inside the phase interval widened by both
// uncertainties (2 sqrt(timing^2 + model^2) each): 1.0 to 1.2 s here, and 20 ms
// for 10 ms of timing; the virtual model of 15 ms makes 30 ms, and for the wall
// 36 ms together with its timing. 1.2 + 0.066 = 1.266.
func TestCompared_StopsAgreeInsideTheWidenedInterval(t *testing.T) {
	virtual := stop(1.1, verdict.Pass)
	virtual.Spread = &verdict.Spread{From: 1.0, Until: 1.2}
	virtual.Uncertainty.Model = 0.015
	for _, row := range []struct {
		value float64
		want  verdict.Verdict
	}{
		{1.1, verdict.Pass}, {1.265, verdict.Pass}, {1.267, verdict.Inconclusive},
		{0.935, verdict.Pass}, {0.933, verdict.Inconclusive}, {2.5, verdict.Fail},
	} {
		wall := stop(row.value, verdict.Pass)
		if row.value > 2 {
			wall.Verdict = verdict.Fail
		}
		wall.Uncertainty.Timing = 0.010
		got := compared([]verdict.Outcome{wall}, []verdict.Outcome{virtual})
		if len(got) != 1 || got[0].Verdict != row.want {
			t.Errorf("%v s: %+v; want %v", row.value, got, row.want)
		}
	}
}

func TestCompared_WhatTheWallRunDidNotAskStaysOpen(t *testing.T) {
	watch := stop(1, verdict.Pass)
	watch.Watch = true
	got := compared([]verdict.Outcome{watch}, []verdict.Outcome{stop(1, verdict.Pass)})
	if len(got) != 2 || got[0].Verdict != verdict.Inconclusive || got[0].Reason == "" ||
		!got[1].Watch {
		t.Errorf("%+v; want one that is inconclusive, with a reason, before the watch", got)
	}
}

func TestExcuse_OnlyWhatFailedOnTheWallAlone(t *testing.T) {
	other := stop(3, verdict.Fail)
	other.Requirement = "HR-035"
	wall := []verdict.Outcome{stop(3, verdict.Fail), other}
	virtual := []verdict.Outcome{stop(1, verdict.Pass), other}
	excuse(wall, virtual, 50*time.Millisecond)
	if wall[0].Verdict != verdict.Inconclusive || !strings.Contains(wall[0].Reason, "50ms") {
		t.Errorf("failed on the wall alone: %v, %q", wall[0].Verdict, wall[0].Reason)
	}
	if wall[1].Verdict != verdict.Fail {
		t.Errorf("failed in virtual time too: %v", wall[1].Verdict)
	}
}

// How late the machine was stands in the record, so that who judges it anew excuses the same.
func TestOnWall_ExcusesByTheRecord(t *testing.T) {
	const cycle = 20 * time.Millisecond
	virtual := []verdict.Outcome{stop(1, verdict.Pass)}
	for late, want := range map[time.Duration]verdict.Verdict{
		cycle: verdict.Fail, 2 * cycle: verdict.Inconclusive,
	} {
		for _, name := range []string{channel.Lateness, channel.EventLateness} {
			wall := &Phase{Outcomes: []verdict.Outcome{stop(3, verdict.Fail)}, Record: &record.Record{}}
			addLateness(wall.Record, name, []clock.LateWindow{{At: 1, Largest: 0}, {At: 2, Largest: late}})
			if got := onWall(wall, virtual, cycle)[0].Verdict; got != want {
				t.Errorf("%s of %v: %v, want %v", name, late, got, want)
			}
		}
	}
}

func TestAddLateness_KeepsEdgesInOrder(t *testing.T) {
	rec := &record.Record{Edges: []record.Edge{{At: 1, Channel: "a", Value: 1},
		{At: 5, Channel: "a", Value: 0}}}
	addLateness(rec, channel.Lateness, []clock.LateWindow{{At: 0, Largest: 7}, {At: 5, Largest: 9}})
	if !slices.IsSortedFunc(rec.Edges, func(a, b record.Edge) int { return int(a.At - b.At) }) {
		t.Errorf("edges out of order: %v", rec.Edges)
	}
	at, late, _ := rec.EdgesOf("bench.lateness")
	if !slices.Equal(at, []time.Duration{0, 5}) || !slices.Equal(late, []int64{7, 9}) {
		t.Errorf("late by %d at %v; want 7 and 9 ns", late, at)
	}
}

func TestFreePorts_SharedAddressesStayShared(t *testing.T) {
	var s station.Parameters
	for _, d := range station.Devices() { // those of a role behind one address
		at := fmt.Sprintf("127.0.0.1:%d", 1+slices.Index(roles(), d.Role))
		s.Seats = append(s.Seats, station.Seat{Device: d,
			Endpoint: link.Endpoint{Network: "tcp", Address: at}})
	}
	before := slices.Clone(s.Seats)
	profile := controller.Profile{Agent: link.Endpoint{Network: "udp", Address: "127.0.0.1:1"},
		Notify: link.Endpoint{Network: "udp", Address: "127.0.0.1:2"}}
	others := s // whose seats are the same list
	if err := freePorts(&s, &profile); err != nil {
		t.Fatal(err)
	}
	taken := map[link.Endpoint]station.Role{}
	for i, seat := range s.Seats {
		if seat.Endpoint == before[i].Endpoint || others.Seats[i].Endpoint != before[i].Endpoint {
			t.Errorf("%v is at %v, and with the other owners at %v", seat.Device, seat.Endpoint,
				others.Seats[i].Endpoint)
		}
		if r, ok := taken[seat.Endpoint]; ok && r != seat.Role {
			t.Errorf("%v has the port of a %s", seat.Device, r)
		}
		taken[seat.Endpoint] = seat.Role
	}
	if len(taken) != len(roles()) || profile.Agent == profile.Notify {
		t.Errorf("%d addresses for %d roles; agent and notifications at %v and %v", len(taken),
			len(roles()), profile.Agent, profile.Notify)
	}
}

func roles() []station.Role {
	var all []station.Role
	for _, k := range station.Kinds() {
		all = append(all, k.Role)
	}
	return all
}

// A device sheet carries addresses and unit ids from station to stand-in; what
// else a controller knows must be the same on both sides.
func TestDeviceSheet_Place(t *testing.T) {
	a, err := Assemble(Choice{Station: "demo", Controller: "standin", Tags: "@smoke"})
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(1, 1, 0, 1)
	seats := slices.Clone(p.Run.Station.Seats)
	seats[5].Endpoint.Address, seats[5].Unit = "127.0.0.1:7", 9
	sheet := NewDeviceSheet("demo", seats, &a.Controller.Profile)
	_, devices := a.Station.Standin(&a.Controller.Profile)
	if err := sheet.Place(&devices); err != nil {
		t.Fatal(err)
	}
	want := seats[5]
	if got := devices.Drives[1]; got.Endpoint != want.Endpoint || got.Unit != 9 {
		t.Errorf("the second drive at %v unit %d", got.Endpoint, got.Unit)
	}
	sheet.Devices[5].Map = "another"
	sheet.Devices = sheet.Devices[:10]
	bad, ok := sheet.Place(&devices).(BadInput)
	if !ok || len(bad) != 3 || !strings.Contains(bad[0], "another") ||
		!strings.Contains(bad[1], "no interlock") || !strings.Contains(bad[2], "no mast") {
		t.Errorf("said %v; want the map, the interlock unit and the mast", bad)
	}
}
