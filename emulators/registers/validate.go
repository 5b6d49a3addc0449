package registers

import (
	"errors"
	"fmt"
	"math"

	"haltmark/emulators/modbus"
)

// Validate tells the first thing wrong with the map, naming map and quantity.
// A quantity may stand in several spaces but not twice in one; points must not
// overlap; and the bits of one register are all writable or none, because a
// write always carries the whole register.
func (m Map) Validate() error {
	if len(m.Points) == 0 {
		return fmt.Errorf("registers: map %s has no points", m.Name)
	}
	if m.Gaps >= gapsCount {
		return fmt.Errorf("registers: map %s: gaps %v", m.Name, m.Gaps)
	}
	type place struct {
		space    Space
		quantity string
	}
	seen := make(map[place]bool, len(m.Points))
	for _, p := range m.Points {
		err := p.validate()
		here := place{p.Space, p.Quantity}
		if err == nil && seen[here] {
			err = fmt.Errorf("stands twice in %v", p.Space)
		}
		if err != nil {
			return fmt.Errorf("registers: map %s: %s: %w", m.Name, p.Quantity, err)
		}
		seen[here] = true
	}
	_, err := tablesOf(m, 1, make([]int, len(m.Points)))
	return err
}

func (p Point) validate() error {
	switch {
	case p.Quantity == "":
		return errors.New("point without a quantity")
	case p.Space >= modbus.SpaceCount:
		return fmt.Errorf("no space %d", p.Space)
	case p.Type >= typeCount || p.Order >= orderCount || p.Side >= sideCount:
		return fmt.Errorf("type %v, order %v, side %v", p.Type, p.Order, p.Side)
	case p.Space.Bits() && p.Type != Bit:
		return fmt.Errorf("type %v in %v; need bit", p.Type, p.Space)
	case p.Write && !p.Space.Writable():
		return fmt.Errorf("%v cannot be written", p.Space)
	case int(p.Address)+p.Type.words() > 1<<16:
		return fmt.Errorf("%v at %d passes the last address 65535", p.Type, p.Address)
	case math.IsNaN(p.Scale) || math.IsInf(p.Scale, 0) || p.Scale < 0:
		return fmt.Errorf("scale %v; need a positive number", p.Scale)
	case math.IsNaN(p.Offset) || math.IsInf(p.Offset, 0):
		return fmt.Errorf("offset %v; need a number", p.Offset)
	}
	return p.validateBit()
}

func (p Point) validateBit() error {
	inRegister := p.Type == Bit && !p.Space.Bits()
	switch {
	case inRegister && (p.Bit < 0 || p.Bit > 15):
		return fmt.Errorf("bit %d; need 0 to 15", p.Bit)
	case !inRegister && p.Bit != 0 && p.Bit != -1:
		return fmt.Errorf("bit %d of a %v in %v; need none", p.Bit, p.Type, p.Space)
	case p.Type != Bit:
		return nil
	case p.Order != Big:
		return fmt.Errorf("order %v of a bit; need big", p.Order)
	case p.Side == SideMotor || p.Offset != 0 || (p.Scale != 0 && p.Scale != 1):
		return errors.New("a bit has no scale, offset or side")
	}
	return nil
}
