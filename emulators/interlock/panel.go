package interlock

import "haltmark/bench/plant"

// PanelFaults are what people do, or leave undone, at the panel against the will of those
// who work there, and what is wrong with its contacts. They come to what the panel says and
// go without a trace. The zero value is nothing.
type PanelFaults struct {
	EmergencyStop    [2]bool // pressed or its contact open, by channel
	Hatch, Ladder    bool    // opened
	Pin              [plant.MainAxes]bool
	Isolator         [plant.AxisCount]bool // opened
	ModeTurned       bool                  // the mode selector stands at Mode
	Mode             Mode
	Override, Reset  bool // the key is left on; the button stays down
	EnablingReleased bool // the enabling device is not in its middle position
}

// on is the panel as it is with these faults.
func (f *PanelFaults) on(p Panel) Panel {
	if *f == (PanelFaults{}) {
		return p
	}
	for k := range p.EmergencyStop {
		p.EmergencyStop[k] = p.EmergencyStop[k] || f.EmergencyStop[k]
	}
	for k := range p.Pin {
		p.Pin[k] = p.Pin[k] || f.Pin[k]
	}
	for k := range p.Isolator {
		p.Isolator[k] = p.Isolator[k] || f.Isolator[k]
	}
	p.Hatch, p.Ladder = p.Hatch || f.Hatch, p.Ladder || f.Ladder
	p.Override, p.Reset = p.Override || f.Override, p.Reset || f.Reset
	p.Enabling = p.Enabling && !f.EnablingReleased
	if f.ModeTurned {
		p.Mode = f.Mode
	}
	return p
}

// panel is the panel as it is now, with these faults.
func (u *Unit) panel() *Panel {
	if u.Faults.Panel == (PanelFaults{}) {
		return &u.Panel
	}
	u.faulted = u.Faults.Panel.on(u.Panel)
	return &u.faulted
}

// PanelInputs is the panel as the last step found it, with what faults make of it.
func (u *Unit) PanelInputs() *Panel { return &u.panelInputs }
