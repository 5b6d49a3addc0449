package campaign

import (
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/record"
	"haltmark/bench/standin"
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
	got := compared(nil, []verdict.Outcome{stop(1, verdict.Pass)})
	if len(got) != 1 || got[0].Verdict != verdict.Inconclusive || got[0].Reason == "" {
		t.Errorf("%+v; want one that is inconclusive, with a reason", got)
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

func TestAddLateness_KeepsEdgesInOrder(t *testing.T) {
	rec := &record.Record{Edges: []record.Edge{{At: 1, Channel: "a", Value: 1},
		{At: 5, Channel: "a", Value: 0}}}
	addLateness(rec, []clock.LateWindow{{At: 0, Largest: 7}, {At: 5, Largest: 9}})
	if !slices.IsSortedFunc(rec.Edges, func(a, b record.Edge) int { return int(a.At - b.At) }) {
		t.Errorf("edges out of order: %v", rec.Edges)
	}
	if v, ok := rec.LevelAt("bench.lateness", 4); !ok || v != 7 {
		t.Errorf("late by %d at 4; want 7", v)
	}
}

func TestFreePorts_SharedAddressesStayShared(t *testing.T) {
	var s station.Parameters
	seat := func(address string) link.Endpoint {
		return link.Endpoint{Network: "tcp", Address: address}
	}
	for i := range s.Encoders {
		s.Encoders[i].Seat.Endpoint = seat("127.0.0.1:1")
	}
	for i := range s.Drives {
		s.Drives[i].Seat.Endpoint = seat("127.0.0.1:2")
	}
	s.Interlock.Seat.Endpoint = seat("127.0.0.1:3")
	mast := &station.Mast{Seat: station.Seat{Endpoint: seat("127.0.0.1:4")}}
	s.Mast = mast
	profile := controller.Profile{Agent: link.Endpoint{Network: "udp", Address: "127.0.0.1:1"},
		Notify: link.Endpoint{Network: "udp", Address: "127.0.0.1:2"}}
	if err := freePorts(&s, &profile); err != nil {
		t.Fatal(err)
	}
	a, b, c := s.Encoders[0].Seat.Endpoint, s.Drives[0].Seat.Endpoint, s.Interlock.Seat.Endpoint
	if s.Encoders[3].Seat.Endpoint != a || s.Drives[5].Seat.Endpoint != b {
		t.Error("devices behind one address were parted")
	}
	if moved := s.Mast.Seat.Endpoint; moved == mast.Seat.Endpoint ||
		mast.Seat.Endpoint.Address != "127.0.0.1:4" {
		t.Errorf("the mast is at %v, and that of its other owners at %v", moved, mast.Seat.Endpoint)
	}
	if a == b || b == c || a == c || profile.Agent == profile.Notify {
		t.Errorf("one port for two: %v %v %v %v %v", a, b, c, profile.Agent, profile.Notify)
	}
}

// A device sheet carries addresses and unit ids from station to stand-in; what
// else a controller knows must be the same on both sides.
func TestDeviceSheet_Place(t *testing.T) {
	a, err := Assemble(Choice{Station: "demo", Controller: "standin", Tags: "@smoke"})
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(1, 1, 0, 1)
	var seats []station.Seat
	for i := range p.Run.Station.Encoders {
		seats = append(seats, p.Run.Station.Encoders[i].Seat)
	}
	for i := range p.Run.Station.Drives {
		seats = append(seats, p.Run.Station.Drives[i].Seat)
	}
	seats = append(seats, p.Run.Station.Interlock.Seat)
	seats[5].Endpoint.Address, seats[5].Unit = "127.0.0.1:7", 9
	sheet := NewDeviceSheet("demo", seats, &a.Controller.Profile)
	_, devices := a.Station.Standin(&a.Controller.Profile)
	if err := sheet.Place(&devices); err != nil {
		t.Fatal(err)
	}
	want := standin.Seat(seats[5])
	if got := devices.Drives[1]; got.Endpoint != want.Endpoint || got.Unit != 9 {
		t.Errorf("the second drive at %v unit %d", got.Endpoint, got.Unit)
	}
	sheet.Devices[5].Map = "another"
	sheet.Devices = sheet.Devices[:10]
	bad, ok := sheet.Place(&devices).(BadInput)
	if !ok || len(bad) != 2 || !strings.Contains(bad[0], "another") ||
		!strings.Contains(bad[1], "no interlock") {
		t.Errorf("said %v; want the map and the interlock unit", bad)
	}
}
