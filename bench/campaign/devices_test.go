package campaign

import (
	"fmt"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/link"
	"haltmark/bench/standin"
)

// dialled is a network that notes who was dialled.
type dialled struct {
	link.Network
	at map[string]bool
}

func (d dialled) Dial(e link.Endpoint, f link.Framing) (link.Conn, error) {
	d.at[e.Address] = true
	return d.Network.Dial(e, f)
}

// A device that a sheet puts elsewhere is dialled there and nowhere else, whatever it is,
// also where the station's own file has it at another address.
func TestDeviceSheet_EveryDeviceIsDialledWhereItIs(t *testing.T) {
	s, err := config.LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := config.LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	seats := s.Station().Seats
	for i := range seats {
		seats[i].Endpoint.Address = fmt.Sprintf("127.0.0.1:%d", 20000+i)
	}
	set, devices := s.Standin(&sheet.Profile)
	places := NewDeviceSheet("demo", seats, &sheet.Profile)
	if err := places.Place(&devices); err != nil {
		t.Fatal(err)
	}
	c := clock.NewVirtual()
	defer c.Close()
	net := dialled{link.NewMemory(c), map[string]bool{}}
	k, err := standin.Start(c, net, set, devices)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Stop()
	c.Run(time.Second, nil)
	delete(net.at, sheet.Notify.Address)
	for _, seat := range seats {
		uses := devices.Seat(string(seat.Role), seat.Index) != nil
		if net.at[seat.Endpoint.Address] != uses {
			t.Errorf("%v at %v was dialled: %v; want %v", seat.Device, seat.Endpoint,
				net.at[seat.Endpoint.Address], uses)
		}
		delete(net.at, seat.Endpoint.Address)
	}
	if len(net.at) > 0 {
		t.Errorf("dialled at %v too, where nothing is", net.at)
	}
}
