package plant

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

const referenceFolder = "../../testdata/plant/reference"

// reference is one file of testdata/plant/reference/: what reference.py was given
// and what it found.
type reference struct {
	Name   string
	Column string
	Start  struct {
		Load  float64   `json:"load_deg"`
		Rate  float64   `json:"rate_deg_per_s"`
		Twist []float64 `json:"twist_deg"`
		Coil  bool
	}
	More   referenceMore
	Lasts  float64 `json:"lasts_s"`
	Every  float64 `json:"every_s"`
	Inputs []struct {
		At       float64   `json:"at_s"`
		Motor    []float64 `json:"motor_n_m"`
		External float64   `json:"external_n_m"`
		Coil     []bool
	}
	Rows [][]float64 // s, then deg: load, motors, reflector
}

// referenceMore is what a scenario changes about its column's axis.
type referenceMore struct {
	Breakaway        float64   `json:"breakaway_n_m"`
	Stribeck         float64   `json:"stribeck_deg_per_s"`
	Gravity          float64   `json:"gravity_n_m"`
	GravityPhase     float64   `json:"gravity_phase_deg"`
	BrakeScale       []float64 `json:"brake_scale"`
	MountShare       float64   `json:"mount_share"`
	ReflectorHz      float64   `json:"reflector_hz"`
	ReflectorDamping float64   `json:"reflector_damping"`
}

func readReference(t testing.TB, path string) *reference {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r := &reference{}
	if err := json.Unmarshal(raw, r); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return r
}

// references are all stored scenarios.
func references(t testing.TB) []*reference {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(referenceFolder, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all []*reference
	for _, path := range paths {
		all = append(all, readReference(t, path))
	}
	if len(all) < 16 {
		t.Fatalf("%d scenarios, need 16", len(all))
	}
	return all
}

// parameters are those of the column with what the scenario changes.
func (r *reference) parameters(t testing.TB) (AxisParameters, Axis) {
	for _, s := range stations(t) {
		if s.name != r.Column {
			continue
		}
		a := s.parameters()
		a.LoadBreakaway = quantity.Torque(r.More.Breakaway)
		a.StribeckRate = quantity.Rate(r.More.Stribeck) * quantity.DegreePerSecond
		a.Gravity = quantity.Torque(r.More.Gravity)
		a.GravityPhase = quantity.Angle(r.More.GravityPhase) * quantity.Degree
		a.Reflector = ReflectorParameters{
			MountShare:   quantity.Ratio(r.More.MountShare),
			Frequency:    quantity.Frequency(r.More.ReflectorHz),
			DampingRatio: r.More.ReflectorDamping,
		}
		return a, s.axis()
	}
	t.Fatalf("no column %s", r.Column)
	return AxisParameters{}, 0
}

// begin returns a plant as the scenario starts, and its axis.
func (r *reference) begin(t testing.TB, h time.Duration, in *Input) (*Plant, Axis) {
	a, axis := r.parameters(t)
	p := mustNew(t, station(a), h)
	first, _ := axis.Motors()
	for i, scale := range r.More.BrakeScale {
		p.Faults.BrakeScale[first+i] = scale
	}
	if r.Start.Coil {
		release(p, in)
	}
	p.Place(axis, r.Start.Load*degree)
	p.turn(axis, r.Start.Rate*degree)
	for i, twist := range r.Start.Twist {
		p.state.MotorPosition[first+i] += twist * degree
	}
	return p, axis
}

// replay steps through the scenario and returns the largest error of the load
// (and reflector) and of the motors at the stored instants, deg.
func (r *reference) replay(t testing.TB, h time.Duration) (load, motors float64) {
	in := &Input{}
	p, axis := r.begin(t, h, in)
	first, _ := axis.Motors()
	next, row := 0, 0
	for n := 0; row < len(r.Rows); n++ {
		now := float64(n) * h.Seconds()
		if want := r.Rows[row]; now > want[0]-h.Seconds()/2 {
			s := p.State()
			load = math.Max(load, math.Abs(s.Position[axis]/degree-want[1]))
			if reflector, _ := p.Reflector(axis); len(want) > 4 {
				load = math.Max(load, math.Abs(reflector/degree-want[4]))
			}
			for i := range 2 {
				off := math.Abs(s.MotorPosition[first+i]/degree - want[2+i])
				motors = math.Max(motors, off)
			}
			row++
		}
		for next < len(r.Inputs) && now > r.Inputs[next].At-h.Seconds()/2 {
			to := &r.Inputs[next]
			in.External[axis] = to.External
			copy(in.MotorTorque[first:], to.Motor)
			copy(in.BrakeCoil[first:first+2], to.Coil)
			next++
		}
		p.Step(in)
	}
	return load, motors
}

// The whole motion against SciPy's solve_ivp between events, which knows neither
// step nor clamp (testdata/plant/reference.py): at most half a millidegree off, at
// every stored instant, load and motors alike.
func TestStep_AgainstSolverWithEvents(t *testing.T) {
	const halfMillidegree = 0.5e-3
	for _, r := range references(t) {
		load, motors := r.replay(t, step)
		t.Logf("%-20s load %.4f motors %.4f mdeg", r.Name, 1e3*load, 1e3*motors)
		if !(load <= halfMillidegree && motors <= halfMillidegree) {
			t.Errorf("%s: load %.3g deg, motors %.3g deg off, at most %g",
				r.Name, load, motors, halfMillidegree)
		}
	}
}

// solver finds a Python that has SciPy. Without it the test is skipped, or fails
// where HALTMARK_REQUIRE_TOOLS=1 says that it must be there.
func solver(t *testing.T) string {
	t.Helper()
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "from scipy.integrate import solve_ivp").Run() == nil {
			return python
		}
	}
	if os.Getenv("HALTMARK_REQUIRE_TOOLS") == "1" {
		t.Fatal("python3-scipy is required and not installed")
	}
	t.Skip("OUTSIDE CHECK SKIPPED: python3-scipy is not installed")
	return ""
}

// The stored figures are what the script makes. Versions of the solver may choose
// other steps, so they need to agree to 10 microdegrees, not to the last digit.
func TestReference_IsWhatTheScriptMakes(t *testing.T) {
	python, folder := solver(t), t.TempDir()
	const name, tenMicrodegrees = "brake_drop", 1e-5
	script := exec.Command(python, "../../testdata/plant/reference.py", "--to", folder, name)
	if out, err := script.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, strings.TrimSpace(string(out)))
	}
	made := readReference(t, filepath.Join(folder, name+".json"))
	kept := readReference(t, filepath.Join(referenceFolder, name+".json"))
	if len(made.Rows) != len(kept.Rows) || len(kept.Rows) < 100 {
		t.Fatalf("%d rows made, %d kept", len(made.Rows), len(kept.Rows))
	}
	for i, row := range made.Rows {
		for k := range row {
			near(t, name, row[k], kept.Rows[i][k], tenMicrodegrees)
		}
	}
}
