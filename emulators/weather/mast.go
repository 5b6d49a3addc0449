package weather

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
)

// Period is the span between two sentences: 1 Hz.
const Period = time.Second

// talker of weather instruments.
const talker = "WI"

// Parameters describe a mast.
type Parameters struct {
	Reference nmea.Reference
	Unit      nmea.Unit
	// Heading is the azimuth at which a relative angle reads 0.
	Heading quantity.Angle
}

// Check tells what is wrong with the parameters.
func (p Parameters) Check() error {
	switch {
	case p.Reference != nmea.Relative && p.Reference != nmea.True:
		return fmt.Errorf("weather: reference %q is neither R nor T", rune(p.Reference))
	case p.Unit.Each() == 0:
		return fmt.Errorf("weather: unit %q is none of N, M, K", rune(p.Unit))
	case math.IsNaN(float64(p.Heading)) || math.IsInf(float64(p.Heading), 0):
		return fmt.Errorf("weather: heading %g is no angle", float64(p.Heading))
	}
	return nil
}

// Faults are the ways in which a mast can be unsound. The zero value is sound.
type Faults struct {
	Silent  bool // says nothing
	Frozen  bool // repeats the wind that it felt when this began
	Invalid bool // tells its data as not valid, its fields empty
	// Unit, if not 0, is told instead of the mast's own; Mislabelled leaves the
	// number in the mast's own unit.
	Unit        nmea.Unit
	Mislabelled bool
	Spike       quantity.Speed // added to the speed that is told
}

// Mast is one weather mast. New makes one.
type Mast struct {
	// Faults may be changed at any time.
	Faults Faults

	set   Parameters
	speed quantity.Speed
	from  quantity.Angle
}

// New makes a mast in still air. The parameters are taken as Check finds them.
func New(p Parameters) *Mast { return &Mast{set: p} }

// Feel tells the mast the wind that blows: its speed, and the azimuth from which
// it comes.
func (m *Mast) Feel(speed quantity.Speed, from quantity.Angle) {
	if !m.Faults.Frozen {
		m.speed, m.from = speed, from
	}
}

// Sentence appends what the mast tells now: nothing when it is silent.
func (m *Mast) Sentence(dst []byte) []byte {
	if m.Faults.Silent {
		return dst
	}
	unit := m.set.Unit
	number := float64(max(m.speed+m.Faults.Spike, 0))
	if m.Faults.Unit != 0 {
		unit = m.Faults.Unit
	}
	if m.Faults.Mislabelled {
		number /= float64(m.set.Unit.Each())
	} else {
		number /= float64(unit.Each())
	}
	angle := m.from
	if m.set.Reference == nmea.Relative {
		angle -= m.set.Heading
	}
	w := nmea.Wind{Talker: talker, Reference: m.set.Reference, Unit: unit}
	if !m.Faults.Invalid {
		w.Angle, w.Speed = nmea.Given(angle.Degrees()), nmea.Given(number)
		w.Valid = true
	}
	return w.Append(dst)
}

// Session is one connection to a mast: a link.Session and a link.Emitter.
type Session struct {
	mast *Mast
	line []byte
	due  time.Duration // of the next sentence; below 0 before the first look
}

// Open makes the session of a new connection.
func (m *Mast) Open() *Session { return &Session{mast: m, due: -1} }

// Respond answers nothing, whatever is said.
func (s *Session) Respond(dst, _ []byte) []byte { return dst }

// Emit returns the sentence of each whole second, however late it is asked for, which
// is valid until the next one, and when the next is due.
func (s *Session) Emit(now time.Duration) (message []byte, next time.Duration) {
	if s.due < 0 {
		s.due = now + (Period-now%Period)%Period
	}
	if now < s.due {
		return nil, s.due
	}
	s.due = now - now%Period + Period
	s.line = s.mast.Sentence(s.line[:0])
	return s.line, s.due
}
