package station

import (
	"fmt"
	"slices"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/record"
)

// faultKind is one kind of fault at home: what it is, what it needs and what it does.
type faultKind struct {
	fault.Kind
	// needs tells what a station lacks for this fault to act; nil where every station
	// has it.
	needs func(p *Parameters, f fault.Fault) error
	// act carries out that the fault begins, or that it ends.
	act func(s *Station, e fault.Edge)
	// adds tells that each one of a kind counts beside the others, as two winds do. Any other
	// fault sets what it changes, and its end puts back what is sound.
	adds bool
}

// faultKinds lists every fault by its family, a file for each. Those of a kind of device
// stand where the kind is declared.
func faultKinds() []faultKind {
	all := slices.Concat(limitFaults(), brakeFaults(), panelFaults(), supplyFaults(),
		mechanicalFaults(), windFaults())
	for _, k := range Kinds() {
		all = append(all, k.faults()...)
	}
	return slices.Concat(all, wireFaults(), messageFaults())
}

// Faults is the catalogue of everything that can be broken.
func Faults() fault.Catalogue {
	kinds := faultKinds()
	all := make(fault.Catalogue, len(kinds))
	for i := range kinds {
		all[i] = kinds[i].Kind
		all[i].Home = &kinds[i]
	}
	return all
}

// Fault makes a fault that can act on this station, and does something there.
func (p *Parameters) Fault(
	name, target string, parameters map[string]string,
) (fault.Fault, error) {
	f, err := Faults().New(name, target, parameters)
	if err == nil {
		err = f.Idle()
	}
	if err == nil {
		_, err = p.admit(f)
	}
	return f, err
}

// admit is the one gate: it finds the kind of a fault, and tells why such a fault cannot act
// on this station, which lacks what it is about or could not meet its figure.
func (p *Parameters) admit(f fault.Fault) (*faultKind, error) {
	kind, ours := f.Kind().Home.(*faultKind)
	if !ours {
		return nil, fmt.Errorf("station %s: a fault %q of no catalogue here", p.Name, f.Name())
	}
	var err error
	if d, is := deviceOf(f.Target()); is {
		err = p.needSeat(d)
	}
	if err == nil && kind.needs != nil {
		err = kind.needs(p, f)
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot act on %s: %w", f.Name(), f.Target().Name, err)
	}
	return kind, nil
}

func (p *Parameters) lacks(what string) error {
	return fmt.Errorf("station %s has no %s", p.Name, what)
}

// needReport wants a quantity in the register map of a device: what is in none, nobody reads.
func (p *Parameters) needReport(d Device, quantity string) error {
	seat := p.Seat(d.Role, d.Index)
	if seat == nil {
		return p.needSeat(d)
	}
	for i := range seat.Map.Points {
		if seat.Map.Points[i].Quantity == quantity {
			return nil
		}
	}
	return p.lacks(fmt.Sprintf("%s in the register map %s of %v", quantity, seat.Map.Name, d))
}

// Plan adds a fault, before or while the station runs. Its error says why the fault cannot
// act here.
func (s *Station) Plan(e fault.Entry) (fault.ID, error) {
	kind, err := s.set.admit(e.Fault)
	if err != nil {
		return 0, err
	}
	id, err := s.plan.Add(e)
	if err == nil {
		s.planned = append(s.planned, kind)
	}
	return id, err
}

// Remove ends a fault at the next step.
func (s *Station) Remove(id fault.ID) { s.plan.Remove(id) }

// carryOut lets the faults act that begin or end at this step.
func (s *Station) carryOut(now time.Duration) {
	state := s.Plant.State()
	for _, e := range s.plan.Active(now, fault.Motion{Position: &state.Position, Rate: &state.Rate}) {
		s.planned[e.ID].act(s, e)
		if !e.Began {
			s.restore(now)
		}
		s.markFault(e)
	}
}

// restore begins what still stands once more, as the end of one fault may have cleared a
// field that it shares with another.
func (s *Station) restore(now time.Duration) {
	s.standing = s.plan.Standing(s.standing[:0], now)
	for _, e := range s.standing {
		if k := s.planned[e.ID]; !k.adds && !k.Event {
			k.act(s, e)
		}
	}
}

// sum adds a parameter up over all faults of this kind that stand on this target.
func (s *Station) sum(e fault.Edge, parameter string) (all float64) {
	for _, one := range s.plan.Standing(nil, e.At) {
		if one.Name() == e.Name() && one.Target() == e.Target() {
			all += one.Value(parameter)
		}
	}
	return all
}

func (s *Station) markFault(e fault.Edge) {
	if s.watch == nil {
		return
	}
	what := "ends"
	if e.Began {
		what = "begins"
	}
	for _, set := range e.Settings() {
		what += ", " + set.Name + " " + set.Value
	}
	if e.At-e.Due >= s.step { // meant for an earlier step than it acted in
		what += ", due " + e.Due.String()
	}
	s.watch.to.Mark(e.At, record.Fault, e.Name(), e.Target().Name, what)
}

func either[T any](on bool, then, otherwise T) T {
	if on {
		return then
	}
	return otherwise
}

// on, with and need say more of a kind: what it is done to, its parameters, what it needs.
func (k faultKind) on(what fault.On) faultKind { k.On = what; return k }

func (k faultKind) with(parameters ...fault.Parameter) faultKind {
	k.Parameters = parameters
	return k
}

func (k faultKind) need(needs func(*Parameters, fault.Fault) error) faultKind {
	k.needs = needs
	return k
}
