package plant

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// twoMass is the plant of testdata/SOURCES.md: K 1e7 N m/rad, load 1.2e5 kg m^2,
// motors 4e4 kg m^2 together.
func twoMass() AxisParameters {
	motor := MotorParameters{Inertia: 2e4, BrakeTorque: 1e5}
	return AxisParameters{
		LoadInertia: 1.2e5, Stiffness: 1e7, Motors: []MotorParameters{motor, motor},
	}
}

// Computed (testdata/SOURCES.md): swept-sine on the motors has its antiresonance at 1.45288 Hz
// (locked rotor) and its resonance at 2.90576 Hz (free), +-1 %. The sweep is taken
// from the answer to one torque pulse, which on a linear plant is the same.
func TestStep_SweptResonances(t *testing.T) {
	a := twoMass()
	a.GearDampingRatio = 0.02
	p := mustNew(t, station(a), step)
	in := &Input{}
	release(p, in)
	const every = 40 // 10 ms between samples; both figures lie far below 50 Hz
	rates := make([]float64, 0, 6000)
	for n := range every * cap(rates) {
		in.MotorTorque = [MotorCount]float64{}
		if n == 0 {
			in.MotorTorque[0], in.MotorTorque[1] = 1e4, 1e4
		}
		p.Step(in)
		if n%every == 0 {
			rates = append(rates, p.State().MotorRate[0])
		}
	}
	drift := rates[len(rates)-1] // both bodies together keep the pulse's momentum
	lowest, highest := math.Inf(1), 0.0
	var at, free float64
	for hz := 1.0; hz < 4; hz += 0.002 {
		turn := cmplx.Exp(complex(0, -2*math.Pi*hz*every*step.Seconds()))
		sum, phase := complex(0, 0), complex(1, 0)
		for _, rate := range rates {
			sum += complex(rate-drift, 0) * phase
			phase *= turn
		}
		// The drift's own share, a step from the first instant on.
		sum += complex(drift, 0) / (1 - turn)
		if size := cmplx.Abs(sum); size < lowest {
			lowest, at = size, hz
		}
		if size := cmplx.Abs(sum); size > highest && hz > 2 {
			highest, free = size, hz
		}
	}
	near(t, "antiresonance", at, 1.45288, 0.01*1.45288)
	near(t, "resonance", free, 2.90576, 0.01*2.90576)
}

// The same two figures as free swings, without damping, and the second order of
// the method: against the exact cosine the error falls to a quarter with the step.
func TestStep_SwingAgainstCosine(t *testing.T) {
	for _, c := range []struct {
		name string
		hold bool
		hz   float64
	}{{"locked rotor", true, 1.45288}, {"free", false, 2.90576}} {
		var off [3]float64
		for i, h := range []time.Duration{2 * step, step, step / 2} {
			p := mustNew(t, station(twoMass()), h)
			in := &Input{}
			if !c.hold {
				release(p, in)
			}
			const twist = 1e-4
			p.state.Position[Azimuth] = twist
			p.wake()
			// Free, the load's share of the twist swings about the common centre.
			share := 1.0
			if !c.hold {
				share = 4e4 / (1.2e5 + 4e4)
			}
			omega := math.Sqrt(1e7 / 1.2e5 / share)
			for n := 1; n <= int(5*time.Second/h); n++ {
				p.Step(in)
				at := float64(n) * h.Seconds()
				want := twist * (1 - share + share*math.Cos(omega*at))
				off[i] = math.Max(off[i], math.Abs(p.State().Position[Azimuth]-want))
			}
			near(t, c.name, omega/(2*math.Pi), c.hz, 1e-5)
			// After 5 s one percent of frequency would be off by a full swing.
			if off[i] > 0.001*twist {
				t.Errorf("%s, step %v: %.2g of the swing off", c.name, h, off[i]/twist)
			}
		}
		near(t, c.name+" error, double step to single", off[0]/off[1], 4, 0.2)
		near(t, c.name+" error, single step to half", off[1]/off[2], 4, 0.2)
	}
}

// The damping ratio is that of the locked-rotor swing: peaks a cycle apart fall by
// exp(-2 pi zeta/sqrt(1 - zeta^2)), as any text on vibration has it.
func TestStep_GearDampingRatio(t *testing.T) {
	a := twoMass()
	a.GearDampingRatio = 0.02
	p := mustNew(t, station(a), step)
	in := &Input{}
	p.state.Position[Azimuth] = 1e-4
	p.wake()
	var peaks []float64
	was := 0.0
	for len(peaks) < 6 {
		p.Step(in)
		rate := p.State().Rate[Azimuth]
		if was > 0 && rate <= 0 {
			peaks = append(peaks, p.State().Position[Azimuth])
		}
		was = rate
	}
	const zeta = 0.02
	for i := 1; i < len(peaks); i++ {
		want := math.Exp(-2 * math.Pi * zeta / math.Sqrt(1-zeta*zeta))
		near(t, "ratio of peaks", peaks[i]/peaks[i-1], want, 1e-3)
	}
}

// Torque bias, computed: T1 = T/2 + T_b and T2 = T/2 - T_b, so the second
// gear changes its sign exactly at T = 2 T_b, and below that no flank lets go.
func TestStep_BiasedGearTurnsAtTwiceTheBias(t *testing.T) {
	const bias, play = 8000.0, 0.03 * degree
	for _, toward := range []float64{1, -1} {
		a := twoMass()
		a.Backlash, a.GearDampingRatio = play*quantity.Radian, 0.3
		p := mustNew(t, station(a), step)
		in := &Input{}
		release(p, in)
		wind(p, bias, play)
		// Gear torque of the motor that the bias works against.
		other := 1
		if toward < 0 {
			other = 0
		}
		left := 0.0
		for n := 0; left == 0; n++ {
			total := toward * float64(n) * 0.05
			in.External[Azimuth] = -total
			in.MotorTorque[0], in.MotorTorque[1] = total/2+bias, total/2-bias
			p.Step(in)
			s := p.State()
			if s.GearTorque[other]*toward >= 0 {
				left = math.Abs(total)
			}
			if s.GearTorque[1-other]*toward <= 0 {
				t.Fatalf("the leading gear let go at %.0f N m", total)
			}
		}
		near(t, "torque at the change of sign", left, 2*bias, 0.005*bias)
	}
}

// wind puts both motors of the azimuth of a twoMass on their flanks against each
// other, in balance under the bias.
func wind(p *Plant, bias, play float64) {
	s := p.State()
	s.MotorPosition[0] = s.Position[Azimuth] + play/2 + bias/5e6
	s.MotorPosition[1] = s.Position[Azimuth] - play/2 - bias/5e6
}

// Lost motion: with the bias off, a load pushed to and fro
// against held motors moves by the gear play, 0.02 deg, and the springs' give;
// with the motors held wound against each other only by the give.
func TestStep_LostMotionIsGearPlay(t *testing.T) {
	const bias, play, push = 8000.0, 0.02 * degree, 1000.0
	for _, biased := range []bool{false, true} {
		a := twoMass()
		a.Backlash, a.GearDampingRatio = play*quantity.Radian, 0.3
		p := mustNew(t, station(a), step)
		in := &Input{}
		if biased {
			wind(p, bias, play)
		}
		var at [2]float64
		for i, sign := range []float64{-1, 1} {
			in.External[Azimuth] = sign * push
			for range 80_000 {
				p.Step(in)
			}
			at[i] = p.State().Position[Azimuth]
		}
		want := 2 * push / 1e7
		if !biased {
			want += play
		}
		near(t, "lost motion", (at[1]-at[0])/degree, want/degree, 1e-6)
	}
}

// Flanks push and never pull: one that is left faster than its damping could follow
// gives nothing, never the other sign. Without play both are always in contact.
func TestGear_FlanksDoNotPull(t *testing.T) {
	loose := gear{stiffness: 1e6, damping: 1e4, halfBacklash: 1e-3}
	tight := gear{stiffness: 1e6, damping: 1e4}
	for _, row := range []struct {
		g                 gear
		twist, rate, want float64
	}{
		{loose, 2e-3, 0, 1000}, {loose, -2e-3, 0, -1000},
		{loose, 2e-3, 0.05, 1500}, {loose, 2e-3, -0.05, 500},
		{loose, 2e-3, -0.2, 0}, {loose, -2e-3, 0.2, 0},
		{loose, 0.9e-3, 1, 0}, {loose, -0.9e-3, -1, 0},
		{tight, 1e-3, -0.2, -1000}, {tight, 0, 0.1, 1000},
	} {
		near(t, "torque", row.g.torqueNm(row.twist, row.rate), row.want, 1e-9)
	}
}
