package station_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// Standstill: below the rate for the hold time, dated to
// where that began. It is found here again from the motor rates at every step.
func TestStandstill_StandsWhereStillnessBegan(t *testing.T) {
	r := newRig(t, middle(), true)
	limit := float64(r.set.Standstill[plant.Azimuth].Rate)
	hold := int(r.set.Standstill[plant.Azimuth].Hold / step)
	var still []bool
	for at := time.Duration(0); at <= 5*time.Second; at += step {
		r.rate[plant.Azimuth] = 0
		if at > time.Second && at < 2500*ms {
			r.rate[plant.Azimuth] = deg
		}
		r.run(at)
		rates := r.s.Plant.State().MotorRate
		still = append(still, math.Abs(rates[0]) < limit && math.Abs(rates[1]) < limit)
	}
	var began, ended []time.Duration
	told, since := true, 0
	for k, now := range still {
		switch {
		case !now && told:
			told, ended = false, append(ended, time.Duration(k)*step)
		case now && k > 0 && !still[k-1]:
			since = k
		case now && !told && k-since == hold:
			told, began = true, append(began, time.Duration(since)*step)
		}
	}
	if len(began) == 0 || began[len(began)-1] < 2500*ms {
		t.Fatalf("stood from %v on; nothing is shown by that", began)
	}
	if got := r.edges("azimuth.standstill", 0); !slices.Equal(got, ended) {
		t.Errorf("motion began at %v, want %v", got, ended)
	}
	if got := r.edges("azimuth.standstill", 1)[1:]; !slices.Equal(got, began) {
		t.Errorf("standstill at %v, want %v", got, began)
	}
	if got := r.edges("azimuth.standstill", 1)[0]; got != 0 {
		t.Errorf("the first standstill is at %v, want the start", got)
	}
}

// The hold has to pass before anybody is told.
func TestStandstill_IsToldAfterTheHold(t *testing.T) {
	r := newRig(t, middle(), true)
	r.rate[plant.Azimuth] = deg
	r.run(2500 * ms)
	r.rate[plant.Azimuth] = 0
	for at := r.s.Now(); !r.s.Still(plant.Azimuth); at += step {
		r.run(at)
	}
	began := r.edges("azimuth.standstill", 1)
	// The last step done is the one before the present instant.
	told := r.s.Now() - step - began[len(began)-1]
	if hold := r.set.Standstill[plant.Azimuth].Hold; told != hold {
		t.Errorf("told after %v, want %v", told, hold)
	}
}

// column finds a channel of the record.
func column(t *testing.T, rec *record.Record, name string) int {
	t.Helper()
	i := slices.IndexFunc(rec.Channels, func(c record.Channel) bool { return c.Name == name })
	if i < 0 {
		t.Fatalf("no channel %s", name)
	}
	return i
}

// Extremes hold what happens between two rows: a torque of one millisecond.
func TestExtremes_HoldASpikeShorterThanASample(t *testing.T) {
	r := newRig(t, middle(), true, fault.Entry{Start: moment(1503 * ms), Lasts: ms,
		Fault: mustFault(t, "drive_runaway", "azimuth.1", map[string]string{"torque": "-100 %"})})
	r.run(2 * time.Second)
	rec := r.rec.Record()
	peak := -float64(r.set.Drives[0].PeakTorque)
	c := column(t, rec, "azimuth.1.torque")
	for i, at := range rec.At {
		if at != time.Duration(i)*10*ms {
			t.Fatalf("row %d is of %v: rows come at 100 Hz", i, at)
		}
		if rec.Values(c)[i] == peak {
			t.Errorf("the row of %v has the spike: nothing is shown by that", at)
		}
		if has, want := rec.Low(c)[i] == peak, at == 1510*ms; has != want {
			t.Errorf("least torque up to %v: %g N m", at, rec.Low(c)[i])
		}
		if low, high := rec.Low(c)[i], rec.High(c)[i]; rec.Values(c)[i] < low ||
			rec.Values(c)[i] > high {
			t.Errorf("row of %v: %g is not within %g to %g", at, rec.Values(c)[i], low, high)
		}
	}
}

// Every extreme of every channel against the states of all plant steps.
func TestExtremes_AreThoseOfEveryStep(t *testing.T) {
	r := newRig(t, middle(), true)
	r.rate = [plant.AxisCount]float64{deg, -deg, deg, -deg}
	low, high := math.Inf(1), math.Inf(-1)
	for at := time.Duration(0); at <= 2*time.Second; at += step {
		r.run(at)
		rate := r.s.Plant.State().MotorRate[1]
		low, high = min(low, rate), max(high, rate)
		if at%(10*ms) != 0 || at == 0 {
			continue
		}
		r.s.Advance(at + step) // the row of this instant is written in the step after
		rec := r.rec.Record()
		c, last := column(t, rec, "azimuth.2.rate"), len(rec.At)-1
		if rec.Low(c)[last] != low || rec.High(c)[last] != high {
			t.Fatalf("up to %v: %g to %g, want %g to %g", at, rec.Low(c)[last], rec.High(c)[last],
				low, high)
		}
		low, high = rate, rate
	}
	if high < 0.9*deg {
		t.Errorf("azimuth.2 came to %g rad/s; nothing is shown by that", high)
	}
}

// Limit switches: an edge and a cause at the step at which the contact opens, by
// the position of the axis at that step; none for one that stands open.
func TestLimitSwitches_EdgesAndCauses(t *testing.T) {
	for a, axis := range plant.AxisNames[:plant.MainAxes] {
		for end, name := range plant.EndNames {
			limits := demo(t).Plant.Axes[a].Limits
			at := middle()
			out := float64(1 - 2*(1-end)) // -1 at the lower end
			at[a] = float64(limits.PreLimit[end]) - out*0.5*deg
			r := newRig(t, at, true)
			r.rate[a] = out * deg
			pre, final := crossings(r, a, out, limits.PreLimit[end].Radians(),
				limits.FinalLimit[end].Radians())
			for _, limit := range []struct {
				name string
				want time.Duration
			}{{"pre_limit", pre}, {"final_limit", final}} {
				channel := axis + "." + limit.name + "." + name
				// The load swings back and out again; the first opening is the axis's own.
				if got := r.edges(channel, 1); len(got) == 0 || got[0] != limit.want {
					t.Errorf("%s opens at %v, want %v", channel, got, limit.want)
				}
				mark := record.Mark{At: limit.want, Kind: record.Cause, Name: limit.name,
					Axis: axis, Text: name}
				got := r.causes(limit.name)
				if len(got) != len(r.edges(channel, 1)) || len(got) == 0 || got[0] != mark {
					t.Errorf("causes %v, want %v", got, mark)
				}
			}
		}
	}
}

// crossings drives on until the axis has passed both switches, and tells at which
// steps it did.
func crossings(r *rig, axis int, out, pre, final float64) (preAt, finalAt time.Duration) {
	for at := time.Duration(0); at < 8*time.Second; at += step {
		r.run(at)
		position := r.s.Plant.State().Position[axis]
		if preAt == 0 && (position-pre)*out >= 0 {
			preAt = at
		}
		if finalAt == 0 && (position-final)*out >= 0 {
			finalAt = at
		}
	}
	return preAt, finalAt
}

func TestLimitSwitches_OpenFromTheStartIsNoCause(t *testing.T) {
	limits := demo(t).Plant.Axes[plant.Azimuth].Limits
	at := middle()
	at[plant.Azimuth] = float64(limits.FinalLimit[plant.Upper]) + 0.2*deg
	r := newRig(t, at, true)
	r.run(time.Second)
	for _, name := range []string{"pre_limit", "final_limit"} {
		if !r.level("azimuth." + name + ".upper") {
			t.Errorf("%s is not open", name)
		}
		if got := r.causes(name); len(got) > 0 {
			t.Errorf("%s: causes %v", name, got)
		}
	}
}

// Each closure above standstill is counted, and none at rest.
func TestClosures_AtSpeedAreCounted(t *testing.T) {
	r := newRig(t, middle(), true)
	r.rate[plant.Azimuth] = deg
	r.run(3 * time.Second)
	r.s.Interlock.Panel.Isolator[plant.Azimuth] = true // STO at full speed: the brakes close
	r.rate[plant.Elevation] = 0
	r.run(5 * time.Second)
	for m, want := range [plant.MotorCount]int{1, 1, 0, 0, 0, 0} {
		motor := plant.MotorNames[m]
		if got := r.edges(motor+".closed_at_speed", 1); len(got) != want {
			t.Errorf("%s closed at speed at %v, want %d times", motor, got, want)
		}
	}
}
