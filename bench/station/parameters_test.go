package station_test

import (
	"reflect"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/station"
)

// What a station returns as its parameters is what it was assembled of, whatever has moved
// since: addresses that the network gave, switches that a fault shifted.
func TestParameters_AsAssembled(t *testing.T) {
	ask := func() station.Parameters {
		set := demo(t)
		for i := range set.Seats {
			set.Seats[i].Endpoint.Address = "127.0.0.1:0"
		}
		return set
	}
	given := ask()
	w := serve(t, given, fault.Entry{Fault: mustFault(t, "limit_chain_shifted", "azimuth.upper",
		map[string]string{"inward": "20 deg"})})
	w.clock.Run(time.Second, nil)
	w.s.Advance(time.Second)
	want := ask()
	seats := w.s.Seats()
	given.Seats[0].Name = "somebody else's"
	w.s.Parameters().Seats[1].Name = "somebody else's"
	if got := w.s.Parameters(); !reflect.DeepEqual(got, want) {
		t.Errorf("has become\n%+v\nwas\n%+v", got, want)
	}
	built := want.Plant.Axes[plant.Azimuth].Limits.FinalLimit[plant.Upper]
	if now := w.s.Limits(plant.Azimuth).FinalLimit[plant.Upper]; now >= built {
		t.Errorf("the final limit stands at %v and was built at %v; want it further in", now, built)
	}
	for i, seat := range seats {
		if seat.Endpoint == want.Seats[i].Endpoint || seat.Device != want.Seats[i].Device {
			t.Errorf("%v is said to be at %v", seat.Device, seat.Endpoint)
		}
	}
}

// A station lacks a device by having no seat for it: one that it may lack is then nowhere
// on the network, of any other it is told which.
func TestSeats_WhatAStationLacks(t *testing.T) {
	for i, d := range station.Devices() {
		set := demo(t)
		set.Seats = append(set.Seats[:i:i], set.Seats[i+1:]...)
		s, err := station.New(set, station.Options{})
		if d.Role.Kind().Optional {
			if err != nil || len(s.Seats()) != len(station.Devices())-1 {
				t.Errorf("without %v: %v", d, err)
			}
			continue
		}
		if err == nil || err.Error() != "station demo: 0 seats for "+d.String()+"; need one" {
			t.Errorf("without %v: says %v", d, err)
		}
		set.Seats = append(demo(t).Seats, demo(t).Seats[i])
		if _, err = station.New(set, station.Options{}); err == nil ||
			err.Error() != "station demo: 2 seats for "+d.String()+"; need one" {
			t.Errorf("with two of %v: says %v", d, err)
		}
	}
}
