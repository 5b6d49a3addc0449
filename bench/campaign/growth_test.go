package campaign_test

import (
	"fmt"
	"math"
	"sync"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/station"
	"haltmark/emulators/registers"
)

// poll starts processes that each read one drive of the station once a cycle, over
// a connection of their own, beside the controller.
func (w *world) poll(net link.Network, count int) {
	group := w.clock.Group("pollers")
	set := w.s.Parameters()
	for n := range count {
		seat := set.Seat(station.RoleDrive, n%len(set.Drives))
		client, err := registers.NewClient(seat.Map, seat.Gear, []string{"statusword",
			"velocity_actual", "torque_actual", "error_code"}, nil)
		if err != nil {
			w.t.Fatal(err)
		}
		client.Unit = seat.Unit
		conn, err := net.Dial(seat.Endpoint, link.ModbusTCP)
		if err != nil {
			w.t.Fatal(err)
		}
		group.Start("poller", func(p clock.Process) {
			var request []byte
			for at := p.Now(); ; at += cycle {
				p.SleepUntil(at)
				for i := range client.Requests() {
					request = client.AppendRequest(request[:0], i)
					if err := conn.Write(request); err != nil {
						w.t.Error(err)
						return
					}
				}
				for range client.Requests() {
					reply, err := conn.Read(p, at+cycle)
					if err == nil {
						_, err = client.Decode(reply)
					}
					if err != nil {
						w.t.Error(err)
						return
					}
				}
			}
		})
	}
}

// growths are the ways in which a world grows from the whole stack of the budget.
func growths(t testing.TB) []stage {
	whole := demoWorld
	whole.observed, whole.room = true, usedRoom(t)
	vary := func(name string, change func(*plan)) stage {
		p := whole
		change(&p)
		return stage{name, func(t testing.TB) (func(), time.Duration) {
			return p.once(t), stretch
		}}
	}
	all := []stage{vary("whole stack", func(*plan) {})}
	for _, n := range []int{0, 1, 2, 4} {
		all = append(all, vary(fmt.Sprint(n, " axes in motion"), func(p *plan) { p.axes = n }))
	}
	for _, n := range []int{0, 10, 20, 40} {
		all = append(all, vary(fmt.Sprint(n, " more devices polled"), func(p *plan) { p.pollers = n }))
	}
	all = append(all, vary("record off", func(p *plan) { p.room = nil }),
		vary("record at 100 Hz", func(*plan) {}))
	for _, station := range []string{"small", "large"} {
		all = append(all, vary("station "+station, func(p *plan) { p.station = station }))
	}
	return all
}

// BenchmarkBudgetGrowth prints how the cost of the whole stack grows.
func BenchmarkBudgetGrowth(b *testing.B) {
	for b.Loop() {
		fmt.Printf("\n| %-22s | ns a simulated ms | x real time | of whole stack |\n", "what")
		fmt.Println("|---|---|---|---|")
		alone := 0.0
		for i, s := range growths(b) {
			each := price(b, s)
			if i == 0 {
				alone = each
			}
			fmt.Printf("| %-22s | %.0f | %.0f | %.2f |\n", s.name, each, 1e6/each, each/alone)
		}
	}
}

// BenchmarkBudgetCores prints what two stations, each a world with a goroutine of
// its own, keep of twice the speed of one.
func BenchmarkBudgetCores(b *testing.B) {
	whole := demoWorld
	whole.observed, whole.room = true, usedRoom(b)
	for b.Loop() {
		best := [3]float64{0, math.Inf(1), math.Inf(1)} // by how many run
		for range 60 {
			worlds := []*world{whole.begin(b), whole.begin(b)}
			for n := 1; n <= len(worlds); n++ {
				start := b.Elapsed()
				var all sync.WaitGroup
				for _, w := range worlds[:n] {
					all.Go(w.run)
				}
				all.Wait()
				took := float64(b.Elapsed()-start) / float64(stretch/time.Millisecond)
				best[n] = min(best[n], took)
			}
			for _, w := range worlds {
				w.clock.Close()
				w.recorder.Close()
			}
		}
		fmt.Printf("\n| stations at once | ns a simulated ms of each | x real time, together |\n")
		fmt.Println("|---|---|---|")
		for n := 1; n < len(best); n++ {
			fmt.Printf("| %d | %.0f | %.0f |\n", n, best[n], float64(n)*1e6/best[n])
		}
		fmt.Printf("\ntwo keep %.2f of twice the speed of one\n", best[1]/best[2])
	}
}
