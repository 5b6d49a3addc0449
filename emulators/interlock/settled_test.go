package interlock

import (
	"testing"
	"time"

	"haltmark/bench/plant"
)

// toggle changes one thing by number, on either unit of the fuzz below.
func toggle(u *Unit, in *Input, what byte) {
	flip := func(b *bool) { *b = !*b }
	p := &u.Panel
	switch what % 19 {
	case 0, 1:
		flip(&p.EmergencyStop[what%19])
	case 2:
		flip(&p.Hatch)
	case 3:
		flip(&p.Pin[1])
	case 4:
		p.Mode = (p.Mode + 1) % 3
	case 5:
		p.HandDirection = (p.HandDirection+2)%3 - 1
	case 6:
		flip(&p.Override)
	case 7:
		flip(&p.Reset)
	case 8:
		still := !in.Standstill[0]
		in.Standstill = [plant.AxisCount]bool{still, still, still, still}
	case 9:
		flip(&in.FinalLimit[0][plant.Upper])
	case 10:
		flip(&in.PreLimit[1][plant.Lower])
	case 11:
		flip(&in.BrakeFeedback[3])
	case 12:
		flip(&in.SupplyLost)
	case 13:
		flip(&u.Faults.EmergencyStopWelded[1])
	case 14:
		u.Faults.FinalLimit[0][plant.Upper] = (u.Faults.FinalLimit[0][plant.Upper] + 1) % 4
	case 15:
		flip(&u.Faults.PreLimitSwapped[1])
	}
}

// The unit skips what nothing has changed. Whatever people do, it must then stand
// as one that computes everything at every step; and no relay closes without a
// press of the button.
func FuzzStep_SkippingChangesNothing(f *testing.F) {
	f.Add([]byte{7, 16, 7, 0, 1, 17, 0, 1, 7, 7})
	f.Add([]byte{8, 16, 7, 23, 16, 7, 7, 16, 8, 23})
	f.Add([]byte{7, 16, 7, 4, 17, 4, 8, 4, 6, 5, 9, 13, 0, 18})
	f.Add([]byte{16, 7, 7, 12, 16, 12, 16, 17, 7, 2, 17, 2, 7, 7, 14, 9, 15, 10})
	p := demo()
	p.SS1Time, p.Discrepancy, p.Watchdog, p.ModeChange = 9*ms, 5*ms, 7*ms, StopsAlways
	f.Fuzz(func(t *testing.T, script []byte) {
		quick, err := New(p)
		if err != nil {
			t.Fatal(err)
		}
		full, _ := New(p)
		lazy, _ := New(p) // steps only when it has not said that it holds
		var quickIn, fullIn, lazyIn Input
		now := time.Duration(0)
		for _, what := range script {
			toggle(quick, &quickIn, what)
			toggle(full, &fullIn, what)
			toggle(lazy, &lazyIn, what)
			for i := range 1 + int(what)/4 {
				if what%19 >= 16 { // a controller that lives
					_, _, _ = quick.Store(idHorn, 1), full.Store(idHorn, 1), lazy.Store(idHorn, 1)
				}
				closed, pressed := quick.DelayedContact, quick.Panel.Reset
				now += step
				quick.Step(now, &quickIn)
				full.was.panel.HandAxis = -99 // never what it was
				full.Step(now, &fullIn)
				if i == 0 || now >= lazy.Due() {
					lazy.Step(now, &lazyIn)
				}
				for i, name := range Quantities() {
					if quick.Load(i) != full.Load(i) || lazy.Load(i) != full.Load(i) {
						t.Fatalf("at %v: %s is %v and %v, want %v", now, name, quick.Load(i),
							lazy.Load(i), full.Load(i))
					}
				}
				if quick.DelayedContact && !closed && !pressed {
					t.Fatalf("at %v: the relay closed without a press", now)
				}
			}
		}
	})
}
