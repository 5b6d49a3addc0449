package interlock

import (
	"errors"
	"math"
	"strings"

	"haltmark/bench/plant"
)

// ErrReadOnly is a store to a quantity that is no output.
var ErrReadOnly = errors.New("interlock: quantity is read only")

// ErrValue is a store of something that is neither 0 nor 1.
var ErrValue = errors.New("interlock: an output is 0 or 1")

// Ids of the quantities, in blocks; within a block by axis, end or motor.
const (
	idPreLimit      = 0
	idFinalLimit    = idPreLimit + plant.MainAxes*plant.EndCount
	idBrakeFeedback = idFinalLimit + plant.MainAxes*plant.EndCount
	idEmergencyStop = idBrakeFeedback + plant.MotorCount
	idHatch         = idEmergencyStop + 2
	idLadder        = idHatch + 1
	idPin           = idLadder + 1
	idModeRemote    = idPin + plant.MainAxes
	idHand          = idModeRemote + 3
	idEnabling      = idHand + 2*plant.AxisCount
	idOverrideKey   = idEnabling + 1
	idResetButton   = idOverrideKey + 1
	idArmButton     = idResetButton + 1
	idIsolator      = idArmButton + 1

	// InputCount is the number of input bits, the first quantities.
	InputCount = idIsolator + plant.AxisCount

	idMode             = InputCount
	idRelayChannel     = idMode + 1
	idInstant          = idRelayChannel + 2
	idDelayed          = idInstant + 1
	idDiscrepancy      = idDelayed + 1
	idWatchdogTripped  = idDiscrepancy + 1
	idResetRefused     = idWatchdogTripped + 1
	idFinalLimitBypass = idResetRefused + 1

	idEnable       = idFinalLimitBypass + plant.MainAxes*plant.EndCount
	idBrakeRelease = idEnable + plant.AxisCount
	idHorn         = idBrakeRelease + plant.MotorCount
	idHeartbeat    = idHorn + 1
	quantityCount  = idHeartbeat + 1
)

// motorName is a motor's name as quantities have it, "azimuth_1".
func motorName(motor int) string { return strings.Replace(plant.MotorNames[motor], ".", "_", 1) }

func axisName(axis int) string { return plant.AxisNames[axis] }

// Quantities names every bit of the unit, in the order of their ids; `mode` and
// `heartbeat` are numbers. A bit is 1 when the thing named is so: a switch
// actuated, a button pressed, a hatch, ladder or isolator open, a pin not
// withdrawn, a brake set; relay channels and contacts are 1 when closed; outputs
// are 1 when on. A normally closed contact is a negated point of the map.
func Quantities() []string {
	q := make([]string, 0, quantityCount)
	ends := func(prefix string) {
		for axis := range plant.MainAxes {
			for end := range plant.EndCount {
				q = append(q, prefix+"_"+axisName(axis)+"_"+plant.EndNames[end])
			}
		}
	}
	each := func(prefix string, count int, name func(int) string) {
		for i := range count {
			q = append(q, prefix+"_"+name(i))
		}
	}
	ends("pre_limit")
	ends("final_limit")
	each("brake_feedback", plant.MotorCount, motorName)
	q = append(q, "emergency_stop_channel_1", "emergency_stop_channel_2", "hatch", "ladder")
	each("pin", plant.MainAxes, axisName)
	each("mode", len(ModeNames), func(mode int) string { return ModeNames[mode] })
	for axis := range plant.AxisCount {
		q = append(q, "hand_"+axisName(axis)+"_negative", "hand_"+axisName(axis)+"_positive")
	}
	q = append(q, "enabling_device", "override_key", "reset_button", "arm_button")
	each("isolator", plant.AxisCount, axisName)
	q = append(q, "mode", "relay_channel_1", "relay_channel_2", "relay_instant_contact",
		"relay_delayed_contact", "channel_discrepancy", "watchdog_tripped", "reset_refused")
	ends("final_limit_bypassed")
	each("enable", plant.AxisCount, axisName)
	each("brake_release", plant.MotorCount, motorName)
	return append(q, "horn", "heartbeat")
}

// Quantities is the unit's list, see the function of the same name.
func (u *Unit) Quantities() []string { return Quantities() }

// Load reads a quantity: 0 or 1, the mode's number, or the last heartbeat.
// Outputs read as they stand, not as they were commanded. An id outside the list
// is the caller's error and panics.
func (u *Unit) Load(id int) float64 {
	switch {
	case id == idMode:
		return float64(u.panel().Mode)
	case id == idHeartbeat:
		return u.heartbeat
	case id < 0 || id >= quantityCount:
		panic("interlock: no such quantity")
	case id < InputCount:
		return bit(u.Faults.Inputs[id].level(u.inputBit(id)))
	case id < idEnable:
		return bit(u.relayBit(id))
	}
	return bit(u.outputBit(id))
}

func bit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// inputBit is an input as it is wired, before it sticks.
func (u *Unit) inputBit(id int) bool {
	p := u.panel()
	switch {
	case id < idFinalLimit:
		return u.PreLimit[id/plant.EndCount][id%plant.EndCount]
	case id < idBrakeFeedback:
		id -= idFinalLimit
		return u.FinalLimit[id/plant.EndCount][id%plant.EndCount]
	case id < idEmergencyStop:
		m := id - idBrakeFeedback
		return u.Faults.BrakeFeedback[m].level(u.brakeFeedback[m])
	case id < idHatch:
		return u.emergencyStopOpen(id - idEmergencyStop)
	case id == idHatch:
		return p.Hatch
	case id == idLadder:
		return p.Ladder
	case id < idModeRemote:
		return p.Pin[id-idPin]
	case id < idHand:
		return p.Mode == Mode(id-idModeRemote)
	case id < idEnabling:
		id -= idHand
		return p.HandAxis == id/2 && p.HandDirection == 2*(id%2)-1
	case id == idEnabling:
		return p.Enabling
	case id == idOverrideKey:
		return p.Override
	case id == idResetButton:
		return p.Reset
	case id == idArmButton:
		return p.Arm
	}
	return p.Isolator[id-idIsolator]
}

func (u *Unit) relayBit(id int) bool {
	switch id {
	case idRelayChannel, idRelayChannel + 1:
		return u.Channel[id-idRelayChannel]
	case idInstant:
		return u.InstantContact
	case idDelayed:
		return u.DelayedContact
	case idDiscrepancy:
		return u.Discrepancy
	case idWatchdogTripped:
		return u.WatchdogTripped
	case idResetRefused:
		return u.ResetRefused
	}
	id -= idFinalLimitBypass
	return u.Overridden[id/plant.EndCount][id%plant.EndCount]
}

func (u *Unit) outputBit(id int) bool {
	switch {
	case id < idBrakeRelease:
		return u.Enable[id-idEnable]
	case id < idHorn:
		return u.BrakeRelease[id-idBrakeRelease]
	}
	return u.Horn
}

// Store commands an output, or takes a heartbeat (any finite number); what is
// stored acts in the next step. Every accepted store feeds the watchdog. Errors
// are ErrReadOnly and ErrValue; then nothing changed.
func (u *Unit) Store(id int, value float64) error {
	if id < idEnable || id >= quantityCount {
		return ErrReadOnly
	}
	if id == idHeartbeat {
		if math.IsNaN(value) || math.IsInf(value, 0) {
			return ErrValue
		}
		u.heartbeat, u.fed = value, true
		return nil
	}
	if value != 0 && value != 1 {
		return ErrValue
	}
	on := value == 1
	switch {
	case id < idBrakeRelease:
		u.command.enable[id-idEnable] = on
	case id < idHorn:
		u.command.brakeRelease[id-idBrakeRelease] = on
	default:
		u.command.horn = on
	}
	u.fed = true
	return nil
}
