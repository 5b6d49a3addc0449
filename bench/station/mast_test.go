package station_test

import (
	"errors"
	"os"
	"slices"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/fault"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
)

// heard is what a connection to a mast hears from 0 to 6 s.
type heard struct {
	at    []time.Duration
	lines []string
	dial  error
	end   error
	after error // of a connection once the fault is over
}

// wind is one sentence a second.
const wind = "$WIMWV,270.0,T,12.5,M,A*15\r\n"

// listenThrough connects to the mast at zero, to listen through a fault that stands
// from 1.5 s to 7 s, tries a new connection meanwhile, and another one behind it.
func listenThrough(t *testing.T, plan ...fault.Entry) (h heard) {
	set := masted(t)
	w := serve(t, set, plan...)
	seat := w.mast()
	conn, err := w.net.Dial(seat.Endpoint, nmea.Frame)
	if err != nil {
		t.Fatal(err)
	}
	g := w.clock.Group("listener")
	g.Start("reader", func(p clock.Process) {
		for p.Now() < 6*time.Second {
			var line []byte
			line, h.end = conn.Read(p, 6*time.Second)
			if h.end != nil {
				return
			}
			h.at, h.lines = append(h.at, p.Now()), append(h.lines, string(line))
		}
	})
	w.clock.Run(1600*ms, nil)
	w.s.Advance(1600 * ms)
	_, h.dial = w.net.Dial(seat.Endpoint, nmea.Frame)
	w.clock.Run(7500*ms, nil)
	w.s.Advance(7500 * ms)
	fresh, err := w.net.Dial(seat.Endpoint, nmea.Frame)
	if err != nil {
		t.Fatal(err)
	}
	g.Start("new one", func(p clock.Process) {
		line, err := fresh.Read(p, 9*time.Second)
		if h.after = err; err == nil && string(line) != wind {
			h.after = errors.New("hears " + string(line))
		}
	})
	w.clock.Run(10*time.Second, nil)
	g.Stop()
	return h
}

// sane tells a line that whoever reads it takes for a wind.
func sane(line string) bool {
	_, err := nmea.ParseWind([]byte(line))
	return err == nil
}

// Every fault of the wire that the mast takes: what a listener hears of it, and that
// it is over when it is over. The faults are those of package link's conditions; what
// NMEA 0183 makes of an impaired line.
func TestMast_OnAnImpairedWire(t *testing.T) {
	sound := listenThrough(t)
	if len(sound.lines) != 5 || sound.dial != nil || sound.after != nil {
		t.Fatalf("a sound mast: %+v", sound)
	}
	unreadable := func(h heard) bool {
		return len(h.lines) > 0 && !slices.ContainsFunc(h.lines[1:], sane)
	}
	nothing := func(h heard) bool {
		return len(h.lines) == 1 && errors.Is(h.end, os.ErrDeadlineExceeded)
	}
	mute := map[string]func(heard) bool{
		"silence": nothing, "messages_lost": nothing, "half_open": nothing,
		"pulled_cable": nothing,
		"refuse": func(h heard) bool {
			return len(h.lines) == 5 && errors.Is(h.dial, syscall.ECONNREFUSED)
		},
		"reset": func(h heard) bool { return len(h.lines) == 1 && errors.Is(h.end, syscall.ECONNRESET) },
		"delay": func(h heard) bool { return len(h.lines) == 5 && h.at[1] == sound.at[1]+50*ms },
		"slow_bytes": func(h heard) bool {
			return len(h.lines) == 5 && h.at[1] > sound.at[1]+10*ms
		},
		"messages_repeated": func(h heard) bool {
			return len(h.lines) == 9 && h.at[1] == h.at[2] && h.lines[1] == h.lines[2]
		},
		"messages_truncated": unreadable, "messages_corrupted": unreadable,
		"messages_merged": func(h heard) bool { return len(h.lines) == 5 && h.at[1] == h.at[2] },
		"answers_late":    func(h heard) bool { return len(h.lines) == 4 },
	}
	tried := 0
	for _, k := range station.Faults() {
		if k.Place != fault.PlaceWire || !slices.Contains(k.On.Targets(), "mast") {
			continue
		}
		tried++
		h := listenThrough(t, fault.Entry{Start: moment(1500 * ms), Lasts: 5500 * ms,
			Fault: mustFault(t, k.Name, "mast", k.Example())})
		if shows := mute[k.Name]; shows == nil || !shows(h) {
			t.Errorf("%s: heard %q at %v, dialled %v, ended by %v", k.Name, h.lines, h.at, h.dial, h.end)
		}
		if h.after != nil {
			t.Errorf("%s does not end: %v", k.Name, h.after)
		}
	}
	if tried != len(mute) {
		t.Errorf("%d faults tried, %d are for a mast", tried, len(mute))
	}
}

// What names transactions or units is for devices that are polled, and a fault on the
// mast leaves the others alone.
func TestMast_FaultsOfItsOwn(t *testing.T) {
	for _, name := range []string{"transactions_swapped", "transaction_repeated", "wrong_unit"} {
		if _, err := station.Faults().New(name, "mast", nil); err == nil {
			t.Errorf("%s takes the mast", name)
		}
	}
	w := serve(t, masted(t), fault.Entry{Fault: mustFault(t, "silence", "mast", nil)})
	w.s.Advance(step)
	for _, seat := range w.polled() {
		if err := w.dial(seat, status(seat), nil).exchange(10 * ms); err != nil {
			t.Errorf("%s is silent too: %v", seat.Name, err)
		}
	}
}
