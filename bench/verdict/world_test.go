package verdict_test

import (
	"math"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

const deg = math.Pi / 180

// world makes the record of a run of which everything is known: azimuth and
// elevation follow given motions, everything else rests.
type world struct {
	motion map[string]func(s float64) (positionDeg, rateDegPerS float64)
	edges  []record.Edge
	marks  []record.Mark
	length time.Duration
	motor  map[string]func(s float64) float64 // rate of a motor, deg/s
	torque map[string]func(s float64) float64 // of a motor, N m
}

func newWorld(length time.Duration) *world {
	return &world{length: length, motion: map[string]func(float64) (float64, float64){},
		motor: map[string]func(float64) float64{}, torque: map[string]func(float64) float64{}}
}

func (w *world) edge(at time.Duration, channel string, value int64) *world {
	w.edges = append(w.edges, record.Edge{At: at, Channel: channel, Value: value})
	return w
}

func (w *world) mark(at time.Duration, kind, name, axis string) *world {
	w.marks = append(w.marks, record.Mark{At: at, Kind: kind, Name: name, Axis: axis})
	return w
}

// initial are the edges that a station tells at the start.
func initial() []record.Edge {
	level := map[string]int64{"bench.step": 250_000, "relay.delayed": 1,
		"interlock.horn": 0, "interlock.discrepancy": 0, "controller.state": 0,
		"controller.cause": 0, "interlock.override": 0}
	for _, axis := range plant.AxisNames {
		level[axis+".standstill"] = 1
		level[axis+".structure"] = 0
		level["interlock.enable."+axis] = 1
		for _, end := range plant.EndNames {
			for _, layer := range []string{"pre_limit", "final_limit", "buffer"} {
				level[axis+"."+layer+"."+end] = 0
			}
		}
	}
	for _, motor := range plant.MotorNames {
		level[motor+".torque_on"], level[motor+".brake_set"] = 0, 1
		level[motor+".brake_coil"], level[motor+".sto"] = 0, 0
		level[motor+".supply"] = 1000
		level["interlock.brake_release."+motor] = 0
		level[motor+".brake_dragging"], level[motor+".closed_at_speed"] = 0, 0
	}
	var all []record.Edge
	for channel, value := range level {
		all = append(all, record.Edge{Channel: channel, Value: value})
	}
	sort.Slice(all, func(i, k int) bool { return all[i].Channel < all[k].Channel })
	return all
}

// value is a channel over time, nil where it rests.
func (w *world) value(channel string) func(s float64) float64 {
	for axis, f := range w.motion {
		switch channel {
		case axis + ".position":
			return func(s float64) float64 { position, _ := f(s); return position * deg }
		case axis + ".rate":
			return func(s float64) float64 { _, rate := f(s); return rate * deg }
		}
	}
	for motor, f := range w.motor {
		if channel == motor+".rate" {
			return func(s float64) float64 { return f(s) * deg }
		}
	}
	for motor, f := range w.torque {
		if channel == motor+".torque" {
			return f
		}
	}
	return nil
}

// record is the finished record; extremes come from every plant step.
func (w *world) record() *record.Record {
	var channels []record.Channel
	for _, axis := range plant.AxisNames {
		channels = append(channels,
			record.Channel{Name: axis + ".position", Dimension: quantity.DimAngle, Extremes: true},
			record.Channel{Name: axis + ".rate", Dimension: quantity.DimRate, Extremes: true})
	}
	for _, motor := range plant.MotorNames {
		channels = append(channels,
			record.Channel{Name: motor + ".rate", Dimension: quantity.DimRate, Extremes: true},
			record.Channel{Name: motor + ".torque", Dimension: quantity.DimTorque, Extremes: true})
	}
	r := record.NewRecorder(channels, nil)
	for _, e := range initial() {
		r.Edge(e.At, e.Channel, e.Value)
	}
	sort.SliceStable(w.edges, func(i, k int) bool { return w.edges[i].At < w.edges[k].At })
	for _, e := range w.edges {
		r.Edge(e.At, e.Channel, e.Value)
	}
	for _, m := range w.marks {
		r.Mark(m.At, m.Kind, m.Name, m.Axis, m.Text)
	}
	values, mins := make([]float64, len(channels)), make([]float64, len(channels))
	maxs := make([]float64, len(channels))
	moving := make([]func(float64) float64, len(channels))
	for c := range channels {
		moving[c] = w.value(channels[c].Name)
	}
	for at := time.Duration(0); at <= w.length; at += 10 * ms {
		for c, value := range moving {
			if value == nil {
				continue
			}
			mins[c], maxs[c] = math.Inf(1), math.Inf(-1)
			for back := time.Duration(0); back < 10*ms && at > 0; back += 250 * time.Microsecond {
				v := value((at - back).Seconds())
				mins[c], maxs[c] = min(mins[c], v), max(maxs[c], v)
			}
			values[c] = value(at.Seconds())
		}
		r.Sample(at, values, mins, maxs)
	}
	return r.Record()
}

// demo holds the parameters of fixtures/stations/demo.yaml that tests need.
func demo(path string) (float64, quantity.Dimension, bool) {
	table := map[string]float64{
		"interlock.ss1_time": 1.9, "interlock.watchdog": 0.2, "interlock.discrepancy": 0.5,
		"stop.category1_torque_off": 1.95, "stop.category0_torque_off": 0.05,
		"stop.final_limit_torque_off": 0.03, "stop.report": 1, "stow.time": 60,
		"stow.elevation": 88 * deg, "brake.time": 0.11,
		"controller.silence": 0.1, "controller.doubt_margin": 0.04, "controller.cycle": 0.02,
		"controller.partner_off": 0.06, "controller.horn": 5, "controller.start": 3,
		"controller.armed_window": 10,
		"disagreement.time":       0.2, "disagreement.rate": 0.5 * deg,
		"standstill.hold": 0.2, "standstill.rate": 0.05 * deg,
		"overspeed.time":   0.065,
		"azimuth.sto_time": 0.02, "azimuth.torque_bias": 1000, "azimuth.bias_band": 500,
		"elevation.torque_bias": 1000, "elevation.bias_band": 500,
		"azimuth.lost_motion": 0.06 * deg, "elevation.lost_motion": 0.06 * deg,
		"polarization_h.lost_motion": 0.2 * deg, "polarization_v.lost_motion": 0.2 * deg,
		"azimuth.pre_to_final": 2.8 * deg, "azimuth.final_to_buffer": 1.3 * deg,
		"elevation.final_to_buffer": 0.9 * deg,
		"azimuth.buffer_stroke":     0.9 * deg, "azimuth.hand_rate": 0.24 * deg,
		"azimuth.software_limit.upper": 205 * deg, "azimuth.software_limit.lower": -205 * deg,
		"elevation.buffer_stroke": 0.7 * deg, "azimuth.overspeed_rate": 2.76 * deg,
		"elevation.overspeed_rate": 1.84 * deg, "polarization_h.overspeed_rate": 1.725 * deg,
		"polarization_v.overspeed_rate": 1.725 * deg,
	}
	v, ok := table[path]
	angles := []string{"lost_motion", "pre_to_final", "final_to_buffer", "buffer_stroke"}
	_, name, _ := strings.Cut(path, ".")
	switch {
	case strings.HasPrefix(name, "torque_bias"), strings.HasPrefix(name, "bias_band"):
		return v, quantity.DimTorque, ok
	case strings.HasSuffix(name, "rate"):
		return v, quantity.DimRate, ok
	case path == "stow.elevation",
		strings.HasPrefix(name, "software_limit"), slices.Contains(angles, name):
		return v, quantity.DimAngle, ok
	}
	return v, quantity.DimSpan, ok
}

// ideal is a stop from rate v (deg/s) at s = start after a reaction, by a constant
// ramp (deg/s^2), from position 0 at the start.
func ideal(v, start, reaction, ramp float64) func(float64) (float64, float64) {
	return func(s float64) (float64, float64) {
		t := s - start
		if t <= reaction {
			return v * t, v
		}
		t = min(t-reaction, v/ramp)
		return v*reaction + v*t - ramp*t*t/2, v - ramp*t
	}
}

// rules are those of the demo station, of one or several requirements.
func rules(all ...verdict.Requirement) verdict.Rules {
	return verdict.Rules{Causes: config.Causes(), Requirements: all, Limits: demo}
}

// ask judges one question by one requirement and fails the test when there is not
// exactly one outcome.
func ask(t *testing.T, w *world, q verdict.Requirement, a verdict.Ask) verdict.Outcome {
	t.Helper()
	q.ID, a.Requirement = "HR-999", "HR-999"
	out := verdict.Judge(w.record(), []verdict.Ask{a}, rules(q))
	if len(out) != 1 {
		t.Fatalf("%d outcomes, want 1", len(out))
	}
	return out[0]
}

// watch judges one watch over a world.
func watch(t *testing.T, w *world, q verdict.Requirement) verdict.Outcome {
	t.Helper()
	q.ID, q.Watch = "HR-998", true
	out := verdict.Judge(w.record(), nil, rules(q))
	if len(out) != 1 {
		t.Fatalf("%d outcomes, want 1", len(out))
	}
	return out[0]
}

// is checks value (SI) and verdict.
func is(t *testing.T, what string, o verdict.Outcome, value float64, v verdict.Verdict) {
	t.Helper()
	if !o.Measured || math.Abs(o.Value-value) > 1e-9 || o.Verdict != v {
		t.Errorf("%s: %.9f, %v (%s), measured %v; want %.9f, %v",
			what, o.Value, o.Verdict, o.Reason, o.Measured, value, v)
	}
}
