package drive

import (
	"math"
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

// testLink stores 40 J, about the kinetic energy of the demo motor's share at
// 2 deg/s, which is half of 77.5 t m^2 x (2 deg/s)^2 = 47.2 J. Invented figures.
func testLink() Link {
	return Link{Energy: 40, Chopper: 1.2, Over: 1.35, Under: 0.65,
		Resistor: 150 * time.Millisecond, Heat: 5000, Cooling: time.Minute, Efficiency: 0.9,
		Dip: 20 * time.Millisecond}
}

const kinetic = 0.5 * 77.5e3 * (2 * deg) * (2 * deg)

// The energy balance of a stop, of issue 10's list: kinetic energy plus the work
// of the wind equals the heat of resistor and losses and what the link has more,
// within 0.5 %. Wind work is taken from the shaft's travel, not from the drive.
func TestLink_EnergyBalanceOfAStop(t *testing.T) {
	for name, efficiency := range map[string]float64{"lossless": 0, "90 %": 0.9} {
		p := demo()
		p.Link = testLink()
		p.Link.Efficiency = quantityRatio(efficiency)
		r := newRig(t, p)
		r.turn(2 * deg)
		r.run(2 * time.Second)
		r.load = 3e3 // the wind pushes on
		before, from, v := r.d.Energies(), r.in.MotorPosition, r.in.MotorRate
		r.send(0x02)
		r.until("stands", func() bool { return r.d.State() == sd })
		after := r.d.Energies()
		brought := 0.5*77.5e3*(v*v-r.in.MotorRate*r.in.MotorRate) +
			r.load*(r.in.MotorPosition-from)
		taken := after.Resistor - before.Resistor + after.Losses - before.Losses +
			after.Link - before.Link - (after.Drawn - before.Drawn)
		if math.Abs(taken-brought) > 0.005*brought || after.Resistor == before.Resistor {
			t.Errorf("%s: brought %.3f J, found %.3f J: %+v", name, brought, taken, after)
		}
		// The losses are the share that the efficiency leaves, on its way back too.
		if lost := after.Losses - before.Losses; efficiency > 0 &&
			math.Abs(lost-(1-efficiency)*brought) > 0.005*brought {
			t.Errorf("%s: lost %.3f J of %.3f J", name, lost, brought)
		}
		if shaft := before.Shaft - after.Shaft; math.Abs(shaft-brought) > 0.005*brought {
			t.Errorf("%s: the shaft gave %.3f J of %.3f J", name, shaft, brought)
		}
	}
}

// Without losses a stop lifts the link by its kinetic energy: U^2/U0^2 = 1 + K/E0.
// Textbook: the energy of a capacitor is half C U^2.
func TestLink_RisesByTheKineticEnergy(t *testing.T) {
	p := demo()
	p.Link = testLink()
	p.Link.Energy, p.Link.Efficiency = 200, 1
	r := newRig(t, p)
	r.turn(2 * deg)
	r.run(2 * time.Second)
	r.send(0x02)
	r.run(time.Second)
	want := 1000 * math.Sqrt(1+kinetic/200)
	if got := r.d.Load(LinkVoltage); math.Abs(got-want) > 0.5 {
		t.Errorf("link at %.2f per mille, want %.2f", got, want)
	}
}

// The resistor discharges a capacitor along exp(-t/RC). Textbook.
func TestLink_ResistorDischargesIt(t *testing.T) {
	p := demo()
	p.Link = testLink()
	r := newRig(t, p)
	r.d.power.Link = 40 * 1.3 * 1.3
	r.run(5 * time.Millisecond)
	want := 1000 * 1.3 * math.Exp(-5.0/150)
	if got := r.d.Load(LinkVoltage); math.Abs(got-want) > 0.1 {
		t.Errorf("after 5 ms the link has %.2f per mille, want %.2f", got, want)
	}
	r.run(time.Second)
	// It lets go 2 % of its voltage below the level of the chopper.
	if got := r.d.Load(LinkVoltage); math.Abs(got-1000*1.2*0.98) > 3 {
		t.Errorf("left at %.2f per mille", got)
	}
}

// Error codes: CiA 402, secondary; reactions: common practice. A link beyond its voltages takes
// the torque at once, an overheated resistor asks for the fault reaction.
func TestLink_TripsWithItsCode(t *testing.T) {
	tests := map[string]struct {
		spoil func(*Parameters)
		begin func(*rig)
		code  uint16
		state cia402.State
	}{
		"3210": {func(p *Parameters) { p.Link.Resistor = time.Hour },
			func(r *rig) { r.send(0x02) }, cia402.ErrorLinkOver, fa},
		"7110": {func(p *Parameters) { p.Link.Heat = 1; p.Options.FaultReaction = 1 },
			func(r *rig) { r.send(0x02) }, cia402.ErrorBrakeChopper, fr},
		"3220": {func(p *Parameters) {}, func(r *rig) { r.in.Supply, r.load = 0.6, -3e3 },
			cia402.ErrorLinkUnder, fa},
		"3120": {func(p *Parameters) {}, func(r *rig) { r.in.Supplied = false },
			cia402.ErrorMainsUnder, fr},
	}
	for name, tt := range tests {
		p := demo()
		p.Link = testLink()
		p.Link.Efficiency = 1
		tt.spoil(&p)
		r := newRig(t, p)
		r.turn(2 * deg)
		tt.begin(r)
		r.until("trip", func() bool { return r.d.ErrorCode() != 0 })
		if r.d.ErrorCode() != tt.code || r.d.State() != tt.state || r.d.PowerOn() == (tt.state == fa) {
			t.Errorf("%s: %v, power on is %v", name, r.d, r.d.PowerOn())
		}
	}
}

// A stop on the voltage limit, code 4, never trips the link; one on the current
// limit, code 3, does where the resistor is too small for it (from memory).
func TestLink_VoltageLimitedStopSparesIt(t *testing.T) {
	for code, want := range map[float64]uint16{3: cia402.ErrorLinkOver, 4: 0} {
		p := demo()
		p.Link = testLink()
		p.Link.Resistor = 2 * time.Second
		r := newRig(t, p)
		r.turn(2 * deg)
		r.store(QuickStopOption, code)
		r.send(0x02)
		r.until("ended", func() bool { return !r.d.PowerOn() })
		if r.d.ErrorCode() != want {
			t.Errorf("605A = %g: %v", code, r.d)
		}
	}
}

// A dip shorter than the link's time is ridden through; a longer one ends in a
// ramp on the link's energy: common practice, category 1 on ride-through.
func TestSupplyDip(t *testing.T) {
	p := demo()
	p.Link = testLink()
	r := newRig(t, p)
	r.turn(2 * deg)
	r.in.Supplied = false
	r.run(20 * time.Millisecond)
	r.in.Supplied = true
	r.run(time.Second)
	if r.d.State() != oe || math.Abs(r.in.MotorRate-2*deg) > 1e-6 {
		t.Fatalf("a dip of 20 ms: %v at %g rad/s", r.d, r.in.MotorRate)
	}
	r.in.Supplied = false
	r.run(20*time.Millisecond + h)
	r.expect(fr)
	lowest := math.Inf(1)
	took := r.until("stands", func() bool {
		lowest = min(lowest, r.d.Load(LinkVoltage))
		if r.d.PowerOn() && !r.d.Ready() {
			t.Fatal("the brake falls in while the drive brakes")
		}
		return r.d.State() == fa
	})
	// 2 deg/s at 4 deg/s^2 and 200 ms of standstill; the loop lags a little.
	if want := 0.7; math.Abs(took.Seconds()-want) > 0.06 || r.d.ErrorCode() != 0x3120 {
		t.Errorf("stopped after %v with %v", took, r.d)
	}
	if lowest < 980 || math.Abs(r.in.MotorRate) > 0.05*deg {
		t.Errorf("link down to %.0f per mille, motor at %g rad/s", lowest, r.in.MotorRate)
	}
	r.send(0x80)
	r.expect(fa) // the supply is still gone
	r.send(0x00)
	r.in.Supplied = true
	r.step()
	r.send(0x80)
	r.expect(sd)
}

// A link that only gives lasts E0 (1 - under^2) over the power drawn.
func TestSupplyDip_MotoringDrainsTheLink(t *testing.T) {
	p := demo()
	p.Link = testLink()
	p.Link.Dip, p.Link.Efficiency = time.Hour, 1
	p.IntegralTime = 100 * time.Millisecond
	r := newRig(t, p)
	r.load = -10e3
	r.turn(2 * deg)
	r.run(3 * time.Second)
	r.in.Supplied = false
	took := r.until("drained", func() bool { return r.d.State() == fa })
	want := 40 * (1 - 0.65*0.65) / (10e3 * 2 * deg)
	if math.Abs(took.Seconds()-want) > 2*h.Seconds() || r.d.ErrorCode() != 0x3220 {
		t.Errorf("%v after %v, want 3220 after %.4f s", r.d, took, want)
	}
}

// Supply at 90 %: the torque that is left above the base rate goes with voltage
// over speed. Common practice for field weakening without a field.
func TestSupply_At90Percent(t *testing.T) {
	for _, link := range []Link{{}, testLink()} {
		for supply, want := range map[float64]float64{0: 1 / 2.0, 1: 1 / 2.0, 0.9: 0.9 / 2} {
			p := demo()
			p.Link = link
			p.BaseRate = 1 * quantityRate(deg)
			r := newRig(t, p)
			r.in.Supply = quantityRatio(supply)
			r.inertia, r.in.MotorRate = math.Inf(1), 2*deg // held at 2 deg/s
			r.step()
			r.enable()
			r.store(TargetVelocity, 60*deg)
			r.run(2 * time.Second) // the ramp asks for all there is
			if got := r.d.Torque() / 84e3; math.Abs(got-want) > 1e-9 {
				t.Errorf("supply %g: %.4f of the peak, want %.4f", supply, got, want)
			}
		}
	}
}

// Below the base rate the current bounds the torque, and a low supply takes none of
// it; above, the power stays what it is. A torque limit of the controller's that is
// lower than what the voltage leaves decides by itself.
func TestSupply_LeavesTorqueBelowTheBaseRate(t *testing.T) {
	for _, row := range []struct{ rate, most, want float64 }{
		{0.89 * deg, 2000, 1}, {0.91 * deg, 2000, 0.9 / 0.91}, {1.8 * deg, 2000, 0.5},
		{1.8 * deg, 500, 0.25}, {-1.8 * deg, 2000, 0.5},
	} {
		p := demo()
		p.BaseRate = 1 * quantityRate(deg)
		r := newRig(t, p)
		r.in.Supply = 0.9
		r.inertia, r.in.MotorRate = math.Inf(1), row.rate
		r.step()
		r.enable()
		r.store(MaxTorque, row.most)
		r.store(TargetVelocity, 60*deg)
		r.run(2 * time.Second)
		if got := r.d.Torque() / 84e3; math.Abs(got-row.want) > 1e-9 {
			t.Errorf("at %.2f deg/s: %.4f of the peak, want %.4f", row.rate/deg, got, row.want)
		}
		if r.d.Regime() != Steady {
			t.Error("a low supply alone keeps the drive from steady operation")
		}
		was := r.d.Torque()
		if r.d.SteadyStep(r.now+h, row.rate, r.in.MotorPosition); r.d.Torque() != was {
			t.Errorf("at %.2f deg/s: %g N m by a steady step, %g by steps", row.rate/deg, r.d.Torque(), was)
		}
	}
}

// Object 6079 of a drive whose link is not modelled follows its supply.
func TestSupply_IsToldAsTheLinkVoltage(t *testing.T) {
	r := newRig(t, demo())
	for supply, want := range map[float64]float64{0.9: 900, 0: 1000} {
		r.in.Supply = quantityRatio(supply)
		r.step()
		if got := r.d.Load(LinkVoltage); math.Abs(got-want) > 1e-9 {
			t.Errorf("supply %g: %g per mille, want %g", supply, got, want)
		}
	}
}

// I2t: the integral of (T/rated)^2 - 1. Twice the rated torque is the peak here
// and is borne for PeakTime; 1.5 times for (4-1)/(2.25-1) of it.
func TestThermal_TripsAfterItsTime(t *testing.T) {
	for share, want := range map[float64]float64{2000: 3, 1500: 3 * 3 / 1.25} {
		p := cyclic()
		p.Thermal.PeakTime = 3 * time.Second
		r := inMode(t, p, cia402.ModeCyclicTorque)
		r.inertia = math.Inf(1)
		r.store(TargetTorque, share)
		warned := r.until("warning", func() bool { return r.flag(cia402.Warning) })
		took := warned + r.until("trip", func() bool { return r.d.ErrorCode() != 0 })
		if math.Abs(took.Seconds()-want) > 3*h.Seconds() || r.d.ErrorCode() != 0x2350 {
			t.Errorf("%g per mille: %v after %v, want 2350 after %g s", share, r.d, took, want)
		}
		if math.Abs(warned.Seconds()-0.8*want) > 3*h.Seconds() {
			t.Errorf("%g per mille: warned after %v", share, warned)
		}
		r.send(0x80)
		r.expect(fa) // still hot
		r.send(0x00)
		r.run(10 * time.Second)
		r.send(0x80)
		r.expect(sd)
	}
	p := cyclic()
	p.Thermal.PeakTime = 3 * time.Second
	r := inMode(t, p, cia402.ModeCyclicTorque)
	r.inertia = math.Inf(1)
	r.store(TargetTorque, 1000) // rated: for ever
	r.run(time.Minute)
	r.expect(oe)
}

func TestThermal_FoldsBack(t *testing.T) {
	p := cyclic()
	p.Thermal = Thermal{PeakTime: time.Second, FoldBack: true}
	r := inMode(t, p, cia402.ModeCyclicTorque)
	r.inertia = math.Inf(1)
	r.store(TargetTorque, 2000)
	r.run(900 * time.Millisecond)
	if got := r.d.Load(TorqueActual); got != 2000 {
		t.Errorf("%g per mille before its time", got)
	}
	r.run(time.Minute)
	if got := r.d.Load(TorqueActual); got != 1000 || !r.flag(cia402.InternalLimit) {
		t.Errorf("%g per mille once hot", got)
	}
	r.expect(oe)
}
