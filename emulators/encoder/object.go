package encoder

import (
	"errors"
	"math"
	"time"
)

// What is wrong with a value that was stored.
var (
	ErrReadOnly = errors.New("encoder: object is read only")
	ErrRange    = errors.New("encoder: value out of range")
	ErrObject   = errors.New("encoder: no such object")
)

// The objects of the profile, as indexes into Quantities. Positions and ranges
// are counts, speed is rad/s with the sign of the counts; the rest whole numbers.
// The index is the object's in CiA 406.
const (
	PositionValue       int = iota // 6004, read only
	Speed                          // 6030, read only
	Alarms                         // 6503, read only
	SupportedAlarms                // 6504, read only
	Warnings                       // 6505, read only
	SupportedWarnings              // 6506, read only
	OperatingStatus                // 6500, read only: mirrors 6000
	OperatingParameters            // 6000
	Resolution                     // 6501, counts per turn, read only
	Revolutions                    // 6502, distinguishable ones, read only
	TotalRange                     // 6002, read only
	Preset                         // 6003
	OffsetValue                    // 6509, read only
	// LifeCounter grows by one each millisecond and wraps at 16 bits; no object
	// of the profile, and a map may leave it out.
	LifeCounter
	// SecondPosition and SecondAlarms are those of the second read head, and
	// HeadDifference how many counts the first is ahead of it, the shorter way round;
	// 0 where there is none; no objects of the profile.
	SecondPosition
	SecondAlarms
	HeadDifference
	quantityCount
)

// Bits of objects 6000 and 6500, of 6503 and of 6505. All but scaling are from
// memory.
const (
	CodeSequence    uint16 = 1 << 0
	ScalingEnabled  uint16 = 1 << 2
	AlarmPosition   uint16 = 1 << 0
	WarnFrequency   uint16 = 1 << 0
	WarnLight       uint16 = 1 << 1
	WarnWatchdog    uint16 = 1 << 2
	WarnTime        uint16 = 1 << 3
	WarnBattery     uint16 = 1 << 4
	WarnReference   uint16 = 1 << 5
	supportedWarns         = WarnReference<<1 - 1
	supportedAlarms        = AlarmPosition
)

// Quantities names the objects; the order is that of the constants.
func (e *Encoder) Quantities() []string {
	return []string{
		PositionValue:       "position_value",
		Speed:               "speed",
		Alarms:              "alarms",
		SupportedAlarms:     "supported_alarms",
		Warnings:            "warnings",
		SupportedWarnings:   "supported_warnings",
		OperatingStatus:     "operating_status",
		OperatingParameters: "operating_parameters",
		Resolution:          "resolution",
		Revolutions:         "revolutions",
		TotalRange:          "total_range",
		Preset:              "preset",
		OffsetValue:         "offset_value",
		LifeCounter:         "life_counter",
		SecondPosition:      "second_position_value",
		SecondAlarms:        "second_alarms",
		HeadDifference:      "head_difference",
	}
}

// Load is the value of an object as the wire sees it; 0 for an unknown id.
func (e *Encoder) Load(id int) float64 {
	switch id {
	case PositionValue:
		return e.position()
	case Speed:
		return e.speed
	case Alarms:
		return float64(e.alarms())
	case SupportedAlarms:
		return float64(supportedAlarms)
	case Warnings:
		return float64(e.was.WarningBits)
	case SupportedWarnings:
		return float64(supportedWarns)
	case OperatingStatus, OperatingParameters:
		return float64(e.operating())
	case Resolution:
		return float64(e.set.CountsPerTurn)
	case Revolutions:
		return float64(e.set.TotalRange / e.set.CountsPerTurn)
	case TotalRange:
		return e.total
	case Preset:
		return wrap(e.offset, e.total)
	case OffsetValue:
		return e.offset
	case LifeCounter:
		return float64(e.life())
	case SecondPosition, SecondAlarms, HeadDifference:
		return e.second(id)
	}
	return 0
}

// Store sets the preset, in counts within the total range, or the operating
// parameters, of which only the code sequence can change.
func (e *Encoder) Store(id int, value float64) error {
	switch {
	case id < 0 || id >= quantityCount:
		return ErrObject
	case id != Preset && id != OperatingParameters:
		return ErrReadOnly
	case value != math.Trunc(value) || !(value >= 0):
		return ErrRange
	case id == Preset:
		if value >= e.total {
			return ErrRange
		}
		e.preset(value)
		return nil
	case value != float64(ScalingEnabled) && value != float64(ScalingEnabled|CodeSequence):
		return ErrRange
	}
	e.sense(uint16(value)&CodeSequence != 0)
	return nil
}

// sense changes the code sequence, of both heads.
func (e *Encoder) sense(reversed bool) {
	e.direct(reversed)
	e.gateOpen, e.gateFrom = e.now, e.counts()
	if e.Second != nil {
		e.Second.sense(reversed)
	}
}

func (e *Encoder) second(id int) float64 {
	switch {
	case e.Second == nil:
		return 0
	case id == SecondPosition:
		return e.Second.position()
	case id == HeadDifference:
		return math.Remainder(e.position()-e.Second.position(), e.total)
	}
	return float64(e.Second.alarms())
}

func (e *Encoder) operating() uint16 {
	if e.set.Reversed {
		return ScalingEnabled | CodeSequence
	}
	return ScalingEnabled
}

func (e *Encoder) alarms() uint16 {
	bits := e.was.AlarmBits
	if e.was.Alarm {
		bits |= AlarmPosition
	}
	return bits
}

func (e *Encoder) life() uint16 {
	at := e.now
	if e.was.Frozen {
		at = e.frozeAt
	}
	return uint16(at / time.Millisecond)
}
