package station

import (
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// levels watches the discrete channels. A step at which nothing changes costs a
// comparison of what they come from; only otherwise are their bits packed.
type levels struct {
	bits  [levelWords][]levelBit
	was   [levelWords]uint64
	from  sources
	known bool

	states [plant.MotorCount]int64
	mode   int64
}

// sources is what the bits were last packed from.
type sources struct {
	driving                      driving
	coil, set, release, dragging [plant.MotorCount]bool
	enable                       [plant.AxisCount]bool
	preLimit, finalLimit         [plant.MainAxes][plant.EndCount]bool
	structure                    [plant.AxisCount]bool
	channel                      [2]bool
	instant, delayed             bool
	discrepancy, refused         bool
	horn, override, watchdog     bool
	mode                         interlock.Mode
	pressed                      bool // a buffer
}

const levelWords = 3

// levelBit is one channel; that of a limit switch is a stop cause as well.
type levelBit struct {
	name  string
	limit channel.Switch
	axis  string
	end   string
}

// newLevels names the bits in the order in which look packs them.
func newLevels() levels {
	var l levels
	add := func(word int, names ...string) {
		for _, name := range names {
			l.bits[word] = append(l.bits[word], levelBit{name: name})
		}
	}
	for _, motor := range plant.MotorNames {
		add(0, channel.TorqueOn.Of(motor), channel.STO.Of(motor), channel.BrakeCoil.Of(motor),
			channel.BrakeSet.Of(motor), channel.BrakeDragging.Of(motor),
			channel.BrakeRelease.To(motor))
	}
	for a, axis := range plant.AxisNames {
		add(1, channel.Enable.To(axis))
		if a >= plant.MainAxes {
			continue
		}
		for _, end := range plant.EndNames {
			for _, limit := range []channel.Switch{channel.PreLimit, channel.FinalLimit} {
				l.bits[1] = append(l.bits[1], levelBit{limit.At(axis, end), limit, axis, end})
			}
			add(1, channel.Buffer.At(axis, end))
		}
		add(1, channel.Structure.Of(axis))
	}
	add(2, channel.RelayChannel1, channel.RelayChannel2, channel.RelayInstant,
		channel.RelayDelayed, channel.Discrepancy, channel.RelayResetRefused, channel.Horn,
		channel.Override, channel.Watchdog)
	return l
}

// packer appends bits to a word.
type packer struct {
	word uint64
	at   uint
}

func (p *packer) add(on bool) {
	if on {
		p.word |= 1 << p.at
	}
	p.at++
}

// same tells that no bit can have changed. It compares where things stand, as a
// copy would cost more than the comparison.
func (l *levels) same(s *Station) bool {
	state, u, f := s.Plant.State(), s.Interlock, &l.from
	none := [plant.MotorCount]bool{}
	return l.known && s.driving == f.driving && s.in.BrakeCoil == f.coil &&
		state.BrakeSet == f.set && u.BrakeRelease == f.release &&
		// Dragging and buffers depend on more than these, but seldom.
		state.BrakeDragging == none && f.dragging == none && !pressed(state) && !f.pressed &&
		state.StructureHit == f.structure && u.Enable == f.enable &&
		u.PreLimit == f.preLimit && u.FinalLimit == f.finalLimit && l.sameChain(u)
}

func (l *levels) sameChain(u *interlock.Unit) bool {
	f := &l.from
	return u.Channel == f.channel && u.InstantContact == f.instant &&
		u.DelayedContact == f.delayed && u.Discrepancy == f.discrepancy &&
		u.ResetRefused == f.refused && u.Horn == f.horn && u.PanelInputs().Override == f.override &&
		u.WatchdogTripped == f.watchdog && u.PanelInputs().Mode == f.mode
}

// remember keeps what same compares with.
func (l *levels) remember(s *Station) {
	state, u := s.Plant.State(), s.Interlock
	l.from = sources{
		driving: s.driving, coil: s.in.BrakeCoil, set: state.BrakeSet, release: u.BrakeRelease,
		dragging: state.BrakeDragging, enable: u.Enable, preLimit: u.PreLimit,
		finalLimit: u.FinalLimit, structure: state.StructureHit, channel: u.Channel,
		instant: u.InstantContact, delayed: u.DelayedContact, discrepancy: u.Discrepancy,
		refused: u.ResetRefused, horn: u.Horn, override: u.PanelInputs().Override,
		watchdog: u.WatchdogTripped, mode: u.PanelInputs().Mode, pressed: pressed(state),
	}
}

func pressed(state *plant.State) bool {
	return state.BufferDepth[plant.Azimuth] != 0 || state.BufferDepth[plant.Elevation] != 0
}

func (l *levels) look(to *record.Recorder, s *Station, now time.Duration) {
	if l.same(s) {
		return
	}
	l.remember(s)
	words := [levelWords]uint64{l.motors(s), l.axes(s), l.chain(s)}
	if words != l.was || !l.known {
		for k := range l.bits {
			for b := range l.bits[k] {
				if diff := words[k] ^ l.was[k]; !l.known || diff>>b&1 == 1 {
					l.tell(to, &l.bits[k][b], int64(words[k]>>b&1), now)
				}
			}
		}
		l.was = words
	}
	for m := range s.Drives {
		if state := int64(s.driving.state[m]); state != l.states[m] || !l.known {
			l.states[m] = state
			to.Edge(now, channel.DriveState.Of(plant.MotorNames[m]), state)
		}
	}
	if mode := int64(s.Interlock.PanelInputs().Mode); mode != l.mode || !l.known {
		l.mode = mode
		to.Edge(now, channel.Mode, mode)
	}
	l.known = true
}

// tell writes an edge, and the stop cause that an opening limit switch is.
func (l *levels) tell(to *record.Recorder, bit *levelBit, level int64, now time.Duration) {
	to.Edge(now, bit.name, level)
	if level == 1 && l.known && bit.limit != "" {
		to.Mark(now, record.Cause, string(bit.limit), bit.axis, bit.end)
	}
}

func (l *levels) motors(s *Station) uint64 {
	state := s.Plant.State()
	var p packer
	for m := range s.Drives {
		p.add(s.driving.powered[m])
		p.add(s.driving.sto[m])
		p.add(s.in.BrakeCoil[m])
		p.add(state.BrakeSet[m])
		turning := math.Abs(state.MotorRate[m]) > float64(s.set.Standstill[plant.MotorAxis[m]].Rate)
		p.add(state.BrakeDragging[m] && turning)
		p.add(s.Interlock.BrakeRelease[m])
	}
	return p.word
}

func (l *levels) axes(s *Station) uint64 {
	state, u := s.Plant.State(), s.Interlock
	var p packer
	for a := range plant.AxisCount {
		p.add(u.Enable[a])
		if a >= plant.MainAxes {
			continue
		}
		chain := &s.limits[a]
		middle := state.Position[a] > float64(chain.Buffer[0]+chain.Buffer[1])/2
		for end := range 2 {
			p.add(u.PreLimit[a][end])
			p.add(u.FinalLimit[a][end])
			p.add(state.BufferDepth[a] > 0 && middle == (end == plant.Upper))
		}
		p.add(state.StructureHit[a])
	}
	return p.word
}

func (l *levels) chain(s *Station) uint64 {
	u := s.Interlock
	var p packer
	p.add(u.Channel[0])
	p.add(u.Channel[1])
	p.add(u.InstantContact)
	p.add(u.DelayedContact)
	p.add(u.Discrepancy)
	p.add(u.ResetRefused)
	p.add(u.Horn)
	p.add(u.PanelInputs().Override)
	p.add(u.WatchdogTripped)
	return p.word
}
