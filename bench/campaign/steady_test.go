package campaign_test

import (
	"testing"
	"time"
)

// secondMost bounds what a second allocates beside its 50 cycles: the mast's line of
// text once a second, and room for rows a few seconds at a time.
const secondMost = 8

// A steady control cycle of the whole stack without SNMP allocates nothing: station
// in motion, devices, both sides of every Modbus exchange, the network, the
// stand-in, the record.
func TestSteadyCycle_AllocatesNothing(t *testing.T) {
	for _, station := range []string{"demo", "small", "large"} {
		for _, recorded := range []bool{false, true} {
			p := plan{station: station, axes: 2}
			if recorded {
				p.room = usedRoom(t)
			}
			w := p.begin(t)
			t.Cleanup(w.clock.Close)
			w.carry(2 * time.Second)
			if n := testing.AllocsPerRun(40, func() { w.carry(cycle) }); n != 0 {
				t.Errorf("%s, recorded %v: %v allocations a cycle", station, recorded, n)
			}
			n := testing.AllocsPerRun(4, func() { w.carry(time.Second) })
			if n > secondMost {
				t.Errorf("%s, recorded %v: %v allocations a second", station, recorded, n)
			}
		}
	}
}
