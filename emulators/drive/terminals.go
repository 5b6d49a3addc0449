package drive

import "math"

// The bits of object 60FD beside the limit and home switches, which no drive here
// has: the interlock, and from bit 16 on a manufacturer's own. From memory.
const (
	inputInterlock = 1 << 3  // torque is forbidden by STO or partner
	inputSTO       = 1 << 16 // as the drive sees it, SS1 at its end included
	inputPartner   = 1 << 17
	inputSafe      = 18 // from here on the safe functions that are selected
)

// inputs is object 60FD.
func (d *Drive) inputs() uint32 {
	word := uint32(d.safe.asked) << inputSafe
	if d.sto {
		word |= inputSTO | inputInterlock
	}
	if d.watch.partner {
		word |= inputPartner | inputInterlock
	}
	return word
}

// pathDemand is object 6062: the integral of the speed demand where it is
// watched, otherwise where the motor is.
func (d *Drive) pathDemand() float64 {
	if d.set.FollowingError > 0 && d.powered {
		return d.watch.path
	}
	return d.turn
}

// linkVoltage is object 6079 as per mille of the nominal. A link that is not
// modelled has the voltage of its supply as long as there is one.
func (d *Drive) linkVoltage() float64 {
	if rated := float64(d.set.Link.Energy); rated > 0 {
		return 1000 * math.Sqrt(d.power.Link/rated)
	}
	if d.supplied {
		return 1000 * d.mains
	}
	return 0
}
