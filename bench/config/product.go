package config

import (
	"slices"

	"haltmark/bench/controller"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
)

// plant is the mechanics of all axes.
func (s *Station) plant() plant.Parameters {
	var p plant.Parameters
	for axis := range plant.Axis(plant.AxisCount) {
		a, out := s.axis(axis), &p.Axes[axis]
		load := quantity.Inertia(a.LoadInertia.value)
		*out = plant.AxisParameters{
			LoadInertia:      load,
			LoadCoulomb:      quantity.Torque(a.Coulomb.value),
			LoadViscous:      quantity.Damping(a.Viscous.value),
			Stiffness:        plant.StiffnessFrom(load, quantity.Frequency(a.LockedRotor.value)),
			GearDampingRatio: a.GearDamping.value,
			Backlash:         quantity.Angle(a.Backlash.value),
		}
		motor := plant.MotorParameters{Inertia: quantity.Inertia(a.MotorInertia.value)}
		if axis.Main() {
			m := s.mainAxis(axis)
			out.Limits = chain(m)
			out.BufferEnergy = quantity.Energy(m.BufferEnergy.value)
			out.Unbalance = quantity.Torque(m.Unbalance.value)
			m.attach(out)
			motor.BrakeTorque = quantity.Torque(m.BrakeTorque.value)
			motor.BrakeEngage = s.form.Brake.Engage.span()
			motor.BrakeRelease = s.form.Brake.Release.span()
		}
		_, motors := axis.Motors()
		out.Motors = slices.Repeat([]plant.MotorParameters{motor}, motors)
	}
	p.Axes[plant.PolarizationH].Travel = s.form.Axes.PolarizationH.Travel.angles()
	p.Axes[plant.PolarizationV].Travel = s.form.Axes.PolarizationV.Travel.angles()
	return p
}

// chain is the limit chain of a main axis as absolute angles.
func chain(m *mainAxisSection) plant.LimitChain {
	software := m.SoftwareLimit.angles()
	beyond := func(si float64) [2]quantity.Angle {
		return [2]quantity.Angle{software[plant.Lower] - quantity.Angle(si),
			software[plant.Upper] + quantity.Angle(si)}
	}
	return plant.LimitChain{
		Software:   software,
		PreLimit:   beyond(m.PreLimit.value),
		FinalLimit: beyond(m.FinalLimit.value),
		Buffer:     beyond(m.Buffer.value),
		Structure:  beyond(m.Buffer.value + m.BufferStroke.value),
	}
}

// Station is the assembled station.
func (s *Station) Station() station.Parameters {
	p := station.Parameters{Name: s.Name(), Plant: s.plant(),
		Wind: quantity.Speed(s.form.Wind.Constant.value),
		Dish: quantity.Length(s.form.Antenna.Dish.value), Weather: s.weather(),
		Seats: s.seats(), Mast: s.mast(), StowWind: station.StowWind{
			Mean: quantity.Speed(s.form.Wind.StowMean.value),
			Gust: quantity.Speed(s.form.Wind.StowGust.value)},
		Survival: quantity.Speed(s.form.Wind.Survival.value)}
	p.Wiring.Safe = s.safeInputs()
	for axis := range plant.Axis(plant.AxisCount) {
		p.Encoders[axis] = encoderParameters(s.encoderSeat(int(axis)))
		p.Standstill[axis] = station.Standstill{
			Rate: quantity.Rate(s.form.Standstill.Rate.value),
			Hold: s.form.Standstill.Hold.span(),
		}
		p.FullRate[axis] = quantity.Rate(s.axis(axis).FullRate.value)
		contacts := s.contacts(int(axis))
		p.Wiring.FinalLimit[axis] = slices.Contains(contacts, "final_limit")
		p.Wiring.Isolator[axis] = slices.Contains(contacts, "isolator")
		if axis.Main() {
			p.External[axis] = s.wind(axis, quantity.Speed(s.form.Wind.Constant.value)) +
				p.Plant.Axes[axis].ConstantUnbalance()
		}
	}
	for motor := range plant.MotorCount {
		axis := plant.MotorAxis[motor]
		p.Drives[motor] = station.Drive{Parameters: s.driveParameters(motor)}
		if s.servo(motor) {
			p.Drives[motor].Servo = true
			p.Drives[motor].Bias = quantity.Torque(s.mainAxis(axis).TorqueBias.value)
		}
	}
	p.Interlock = s.interlock()
	return p
}

func encoderParameters(seat *encoderSeatSection) encoder.Parameters {
	var perTurn, total uint32
	if seat.countable() { // what is not is refused
		perTurn = 1 << seat.Bits.value
		total = perTurn * uint32(seat.Turns.value)
	}
	p := encoder.Parameters{CountsPerTurn: perTurn, TotalRange: total,
		Zero: quantity.Angle(seat.Zero.value), Latency: seat.Latency.span(),
		SecondHead: seat.SecondHead.value}
	if e := seat.Eccentricity; e != nil {
		p.Eccentricity = quantity.Angle(e.Amplitude.value)
		p.EccentricityPhase = quantity.Angle(e.Phase.value)
	}
	return p
}

func (s *Station) interlock() interlock.Parameters {
	i := &s.form.Interlock
	stops := func(t text) interlock.Stops {
		return interlock.Stops(max(slices.Index(stopWords(), t.value), 0))
	}
	return interlock.Parameters{
		RelayDelay:     i.RelayDelay.span(),
		SS1Time:        i.SS1Time.span(),
		Watchdog:       i.Watchdog.span(),
		Discrepancy:    i.Discrepancy.span(),
		Hatch:          stops(i.Hatch),
		Ladder:         stops(i.Ladder),
		Pin:            stops(i.Pin),
		ModeChange:     stops(i.ModeChange),
		EnablingDevice: i.EnablingDevice.value,
	}
}

// Standin is what the stand-in controller is told of the station, and where its
// devices answer. Its own agent listens where the controller's profile says.
func (s *Station) Standin(profile *controller.Profile) (standin.Settings, standin.Devices) {
	f := &s.form
	set := standin.Settings{
		Stow: quantity.Angle(f.Stow.Elevation.value),
		Timing: standin.Timing{
			Cycle:         f.Controller.Cycle.span(),
			Silence:       f.Controller.Silence.span(),
			Horn:          f.Controller.Horn.span(),
			ArmedWindow:   f.Controller.ArmedWindow.span(),
			BrakeFeedback: f.Brake.Feedback.span(),
		},
		Wind: standin.WindSettings{
			Mean: quantity.Speed(f.Wind.StowMean.value),
			Gust: quantity.Speed(f.Wind.StowGust.value),
		},
	}
	made := s.Station()
	devices := standin.Devices{Management: profile.Agent, Notify: profile.Notify}
	for _, seat := range made.Seats {
		if at := devices.Seat(string(seat.Role), seat.Index); at != nil {
			*at = standin.Seat{Name: seat.Name, Endpoint: seat.Endpoint, Unit: seat.Unit,
				Map: seat.Map, Gear: seat.Gear}
		}
	}
	if f.Mast != nil {
		set.Wind.Silence = f.Mast.Doubt.span()
	}
	for axis := range plant.Axis(plant.AxisCount) {
		set.Axes[axis] = s.standinAxis(axis, made.Encoders[axis])
	}
	return set, devices
}

func (s *Station) standinAxis(axis plant.Axis, e encoder.Parameters) standin.AxisSettings {
	a, f := s.axis(axis), &s.form
	_, motors := axis.Motors()
	set := standin.AxisSettings{
		Motors:             motors,
		Brakes:             axis.Main(),
		SoftwareLimits:     a.SoftwareLimit.angles(),
		FullRate:           quantity.Rate(a.FullRate.value),
		Acceleration:       quantity.Acceleration(a.Acceleration.value),
		StopRamp:           quantity.Acceleration(a.StopRamp.value),
		StopJerk:           quantity.Jerk(a.StopJerk.value),
		RampTime:           f.Interlock.SS1Time.span(),
		RatedTorque:        quantity.Torque(a.RatedTorque.value),
		Inertia:            quantity.Inertia(s.wholeInertia(axis)),
		Friction:           quantity.Torque(a.Coulomb.value),
		PositionLoop:       quantity.Frequency(a.PositionLoop.value),
		SpeedLoop:          quantity.Frequency(a.SpeedLoop.value),
		StandstillRate:     quantity.Rate(f.Standstill.Rate.value),
		StandstillHold:     f.Standstill.Hold.span(),
		DisagreeRate:       quantity.Rate(f.Disagreement.Rate.value),
		DisagreeTime:       f.Disagreement.Time.span(),
		FollowingError:     quantity.Angle(f.Following.Angle.value),
		FollowingErrorTime: f.Following.Time.span(),
		EncoderCounts:      uint64(e.TotalRange),
		EncoderCountAngle:  e.CountAngle(),
		EncoderZero:        e.Zero,
	}
	// A servo unit makes the bias inside, and leaves its controller none to make.
	if first, _ := axis.Motors(); axis.Main() && !s.servo(first) {
		set.TorqueBias = quantity.Torque(s.mainAxis(axis).TorqueBias.value)
	}
	return set
}
