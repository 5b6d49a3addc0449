package interlock

import "haltmark/bench/plant"

// Acts are what people do, or leave undone, against the will of those at the
// panel: they come to what the panel says and go without a trace. The zero value
// is nothing.
type Acts struct {
	EmergencyStop   [2]bool // pressed or its contact open, by channel
	Hatch, Ladder   bool    // opened
	Pin             [plant.MainAxes]bool
	Isolator        [plant.AxisCount]bool // opened
	Turned          bool                  // the mode selector stands at Mode
	Mode            Mode
	Override, Reset bool // the key is left on; the button stays down
	Released        bool // the enabling device is not in its middle position
}

// on is the panel as it is with these acts.
func (a *Acts) on(p Panel) Panel {
	if *a == (Acts{}) {
		return p
	}
	for k := range p.EmergencyStop {
		p.EmergencyStop[k] = p.EmergencyStop[k] || a.EmergencyStop[k]
	}
	for k := range p.Pin {
		p.Pin[k] = p.Pin[k] || a.Pin[k]
	}
	for k := range p.Isolator {
		p.Isolator[k] = p.Isolator[k] || a.Isolator[k]
	}
	p.Hatch, p.Ladder = p.Hatch || a.Hatch, p.Ladder || a.Ladder
	p.Override, p.Reset = p.Override || a.Override, p.Reset || a.Reset
	p.Enabling = p.Enabling && !a.Released
	if a.Turned {
		p.Mode = a.Mode
	}
	return p
}

// panel is the panel as it is now, with these acts.
func (u *Unit) panel() *Panel {
	if u.Faults.Acts == (Acts{}) {
		return &u.Panel
	}
	u.acted = u.Faults.Acts.on(u.Panel)
	return &u.acted
}

// Hands is the panel as the last step found it, with what faults make of it.
func (u *Unit) Hands() *Panel { return &u.hands }
