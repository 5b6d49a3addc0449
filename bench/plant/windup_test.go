package plant

import (
	"math"
	"testing"
	"time"
)

// Two springs of K/2 each carry T at a twist of T/K past half the play (Hooke): the
// load stays where WindUp puts it, held by brakes, within a thousandth of the twist.
func TestWindUp_IsTheStaticTwist(t *testing.T) {
	for _, torqueNm := range []float64{30e3, -30e3} {
		set := station(stations(t)[2].parameters())
		p := mustNew(t, set, 250*time.Microsecond)
		before := p.State().Position[Azimuth]
		p.WindUp(Azimuth, torqueNm)
		wound := p.State().Position[Azimuth] - before
		a := &set.Axes[Azimuth]
		want := torqueNm/float64(a.Stiffness) + math.Copysign(float64(a.Backlash)/2, torqueNm)
		if math.Abs(wound-want) > 1e-12 {
			t.Errorf("wound up by %g rad, want %g", wound, want)
		}
		in := Input{External: [AxisCount]float64{torqueNm}}
		for range 8000 {
			p.Step(&in)
		}
		moved := p.State().Position[Azimuth] - before - wound
		if math.Abs(moved) > 1e-3*math.Abs(want) {
			t.Errorf("moved %g rad after a wind-up of %g", moved, wound)
		}
	}
}
