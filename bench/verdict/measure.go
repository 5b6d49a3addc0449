package verdict

import (
	"time"

	"haltmark/bench/quantity"
)

// occasion is one instance at which something is measured.
type occasion struct {
	axis, end, item, cause string
	from, until            time.Duration // until 0: as far as the measure goes
	limit                  float64       // in SI; watches that count towards it need it
	closed                 bool          // the scenario gave until
	supervision            []string      // instead of the cause's own
}

// reading is a measured value.
type reading struct {
	value       float64
	at          time.Duration // where it was reached
	from, until time.Duration // the window
	slope       float64       // change of the value for a second of timing error
	open        bool          // the record ended before the value was final
	broken      bool          // failed whatever the margin says; note tells why
	note        string
}

// measure is a way to get a value out of a record.
type measure struct {
	name      string
	dimension quantity.Dimension
	watchOnly bool
	read      func(*scene, occasion) (reading, error)
	// occasions finds where a watch applies; nil for a measure that is asked for.
	occasions func(*scene, Requirement) ([]occasion, error)
}

// measures is every way to measure, in the order of the reading.
func measures() []measure {
	const span, angle, rate = quantity.DimSpan, quantity.DimAngle, quantity.DimRate
	const count = quantity.DimNone
	return []measure{
		{name: "stop_time", dimension: span, read: stopTime},
		{name: "stop_travel", dimension: angle, read: stopTravel},
		{name: "torque_gone", dimension: span, read: torqueGone, occasions: poweredCauses},
		{name: "partner_off", dimension: span, read: partnerOff, occasions: poweredCauses},
		{name: "brake_time", dimension: span, read: brakeTime},
		{name: "report_time", dimension: span, read: reportTime},
		{name: "flag_time", dimension: span, read: flagTime},
		{name: "overtravel", dimension: angle, read: overtravel},
		{name: "move_travel", dimension: angle, read: moveTravel},
		{name: "stow_time", dimension: span, read: stowTime},
		{name: "set_out", dimension: span, read: setOut},
		{name: "rest_inside", dimension: angle, read: restInside},
		{name: "stayed", dimension: angle, read: stayed},
		{name: "inward_only", dimension: angle, read: inwardOnly},
		{name: "inward_rate", dimension: rate, read: inwardRate},
		{name: "peak_rate", dimension: rate, read: peakRate},
		{name: "sustained_rate", dimension: rate, read: sustainedRate},
		{name: "rate_lost", dimension: rate, read: rateLost},
		{name: "torque_stays_off", dimension: span, read: torqueStaysOff},
		{name: "enable_stays_off", dimension: span, read: enableStaysOff},
		{name: "torque_stays_on", dimension: span, read: torqueStaysOn},
		{name: "refused", dimension: count, read: refused},
		{name: "horn_before_motion", dimension: span, read: hornBefore,
			occasions: firstMotions},
		{name: "chain_missed", dimension: count, read: chainMissed, watchOnly: true,
			occasions: finalLimits},
		{name: "structure", dimension: angle, read: structureUse, watchOnly: true,
			occasions: limitEpisodes},
		{name: "reset_motion", dimension: angle, read: resetMotion, watchOnly: true,
			occasions: resets},
		{name: "outward_at_pre_limit", dimension: angle, read: inwardOnly, watchOnly: true,
			occasions: restsAtPreLimit},
		{name: "overspeed", dimension: span, read: overspeed, watchOnly: true,
			occasions: overspeeds},
		{name: "brake_at_speed", dimension: count, read: brakeAtSpeed, watchOnly: true,
			occasions: brakeClosures},
		{name: "brake_dragged", dimension: span, read: brakeDragged, watchOnly: true,
			occasions: torqueOns},
		{name: "brake_slip", dimension: angle, read: brakeSlip, watchOnly: true,
			occasions: restsOnBrakes},
		{name: "release_with_torque", dimension: span, read: releaseWithTorque, watchOnly: true,
			occasions: brakeReleases},
		{name: "loose_time", dimension: span, read: looseTime, watchOnly: true, occasions: looseSpans},
		{name: "bias_lack", dimension: quantity.DimTorque, read: biasLack, watchOnly: true,
			occasions: biasedSpans},
		{name: "cause_kept", dimension: count, read: causeKept, watchOnly: true,
			occasions: firstCauses},
	}
}

// Measures names every measure and watch.
func Measures() []string {
	var names []string
	for _, m := range measures() {
		names = append(names, m.name)
	}
	return names
}

func measureNamed(name string) (measure, bool) {
	for _, m := range measures() {
		if m.name == name {
			return m, true
		}
	}
	return measure{}, false
}

// Dimension is the dimension of a measure's values.
func Dimension(name string) quantity.Dimension {
	m, _ := measureNamed(name)
	return m.dimension
}
