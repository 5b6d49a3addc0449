package config

import (
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// What a main axis may have beside load, gears and ends. A section that is not
// there is a part that the station does not have.

// reflectorSection parts the load into mount and reflector. The locked rotor's
// frequency is then that of the lowest swing of both.
type reflectorSection struct {
	MountShare value[ratio]     `yaml:"mount_share"` // of the load's inertia
	Frequency  value[frequency] `yaml:"frequency"`   // of the reflector on a held mount
	Damping    value[ratio]     `yaml:"damping" range:"zero"`
}

// gravitySection makes the unbalance turn with the axis: its torque is that times
// the cosine of angle and phase. Without it the unbalance always pushes upward.
type gravitySection struct {
	Phase value[angle] `yaml:"phase" range:"any"`
}

// zenithSection is about an azimuth whose inertia goes with the elevation.
type zenithSection struct {
	Lighter value[inertia] `yaml:"lighter"` // than at the horizon
}

type stowPinSection struct {
	At    value[angle]  `yaml:"at" range:"any"`
	Play  value[angle]  `yaml:"play" range:"zero"`
	Shear value[torque] `yaml:"shear"`
}

type cableWrapSection struct {
	Neutral value[angle] `yaml:"neutral" range:"any"`
	Reach   value[angle] `yaml:"reach"` // each way, until the cables tear
}

// reflector is the axis's reflector as the plant takes it.
func (m *mainAxisSection) reflector() plant.ReflectorParameters {
	if m.Reflector == nil {
		return plant.ReflectorParameters{}
	}
	return plant.ReflectorParameters{
		MountShare:   quantity.Ratio(m.Reflector.MountShare.value),
		Frequency:    quantity.Frequency(m.Reflector.Frequency.value),
		DampingRatio: m.Reflector.Damping.value,
	}
}

// attach adds to an axis what its sections say.
func (m *mainAxisSection) attach(to *plant.AxisParameters) {
	if m.Reflector != nil {
		to.Reflector = m.reflector()
		to.Stiffness = plant.StiffnessFromMode(to.LoadInertia, to.Reflector,
			quantity.Frequency(m.LockedRotor.value))
	}
	if m.Gravity != nil {
		to.Gravity = quantity.Torque(m.Unbalance.value)
		to.GravityPhase = quantity.Angle(m.Gravity.Phase.value)
	}
	if m.Zenith != nil {
		to.LighterAtZenith = quantity.Inertia(m.Zenith.Lighter.value)
	}
	if m.StowPin != nil {
		to.Pin = plant.PinParameters{
			At:    quantity.Angle(m.StowPin.At.value),
			Play:  quantity.Angle(m.StowPin.Play.value),
			Shear: quantity.Torque(m.StowPin.Shear.value),
		}
	}
	if m.CableWrap != nil {
		to.Wrap = plant.WrapParameters{
			Neutral: quantity.Angle(m.CableWrap.Neutral.value),
			Reach:   quantity.Angle(m.CableWrap.Reach.value),
		}
	}
}

// checkMechanics reports what those sections say that cannot be.
func (s *Station) checkMechanics(r *report) {
	for axis := range plant.Axis(plant.MainAxes) {
		m := s.mainAxis(axis)
		s.checkReflector(axis, m, r)
		if m.Zenith != nil && axis == plant.Elevation {
			s.broken(r, axis, "zenith", "makes inertia go with the elevation; "+
				"only an azimuth's does; remove it")
		}
		within := m.SoftwareLimit.angles()
		if within[plant.Lower] >= within[plant.Upper] {
			continue // has been said
		}
		if p := m.StowPin; p != nil {
			at := quantity.Angle(p.At.value)
			if !(at >= within[plant.Lower] && at <= within[plant.Upper]) {
				s.broken(r, axis, "stow_pin.at", "is %v; the axis travels from %v to %v; put it within the "+
					"software limits", at, within[plant.Lower], within[plant.Upper])
			}
		}
		if w := m.CableWrap; w != nil {
			neutral, reach := quantity.Angle(w.Neutral.value), quantity.Angle(w.Reach.value)
			if need := max(within[plant.Upper]-neutral, neutral-within[plant.Lower]); reach < need {
				s.broken(r, axis, "cable_wrap.reach", "is %v; the software limits lie up to %v "+
					"from neutral; lengthen it or move neutral", reach, need)
			}
		}
	}
}

func (s *Station) checkReflector(axis plant.Axis, m *mainAxisSection, r *report) {
	load, turns := m.LoadInertia.lowest, "load"
	if m.Reflector != nil {
		share := m.Reflector.MountShare
		if share.highest >= 1 {
			s.broken(r, axis, "reflector.mount_share", "is %v; nothing is left for the reflector; "+
				"give less than 100 %%", quantity.Ratio(share.highest))
			return
		}
		if own, locked := m.Reflector.Frequency, m.LockedRotor; own.lowest <= locked.highest {
			s.broken(r, axis, "reflector.frequency", "is %v; with it the axis cannot have its "+
				"locked_rotor frequency %v; give more than that",
				quantity.Frequency(own.lowest), quantity.Frequency(locked.highest))
		}
		load, turns = load*(1-share.highest), "reflector"
	}
	if z := m.Zenith; z != nil && z.Lighter.highest >= load {
		s.broken(r, axis, "zenith.lighter", "is %v; the whole %s may have no more than %v; "+
			"give less than that",
			quantity.Inertia(z.Lighter.highest), turns, quantity.Inertia(load))
	}
}
