package config

import (
	"encoding"
	"fmt"
	"math"
	"slices"
	"strings"

	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/registers"
)

// LoadMap loads a register map by its embedded name or its file's path.
func LoadMap(name string) (registers.Map, error) {
	f, err := open(kindMap, name)
	if err != nil {
		return registers.Map{}, err
	}
	var r report
	m := readMap(f, "", &r)
	return m, r.err()
}

// readMap reads a register map, for a kind of device unless that is "".
func readMap(f *file, device string, r *report) registers.Map {
	var form mapFile
	own := &report{}
	d := decode(f, &form, own)
	defer func() { r.take(own.err()) }()
	if own.err() != nil {
		return registers.Map{}
	}
	if device != "" && form.Device.value != device {
		own.add(f, d.line("device"), "is a map for device %q; a seat of device %s names it; "+
			"name a map of the seat's device", form.Device.value, device)
	}
	known := d.quantities(&form, own)
	m := registers.Map{Name: form.Map.value}
	d.word("gaps", &form.Gaps, &m.Gaps, own)
	for i := range form.Points {
		at := fmt.Sprintf("points[%d]", i)
		m.Points = append(m.Points, d.point(at, &form.Points[i], own))
		if name := form.Points[i].Quantity.value; known != nil && !slices.Contains(known, name) {
			own.add(f, d.line(at+".quantity"), "%s.quantity is %q; no %s has that; %s", at, name,
				form.Device.value, suggest(name, known))
		}
	}
	if own.err() == nil {
		if err := m.Validate(); err != nil {
			own.add(f, d.blamed(err, m), "%s; mend the map",
				strings.TrimPrefix(err.Error(), "registers: map "+m.Name+": "))
		}
	}
	return m
}

// quantities are those that a map's kind of device has; nil where there is no such
// kind, which is reported.
func (d *document) quantities(form *mapFile, r *report) []string {
	var known []string
	for _, k := range station.Kinds() {
		if k.Protocol.Units && string(k.Role) == form.Device.value {
			return k.Quantities()
		}
		if k.Protocol.Units {
			known = append(known, string(k.Role))
		}
	}
	r.add(d.file, d.line("device"), "device is %q; no map is for that; need %s",
		form.Device.value, alternatives(known))
	return nil
}

// blamed is the line of the point that an error of Validate begins with.
func (d *document) blamed(err error, m registers.Map) int {
	rest := strings.TrimPrefix(err.Error(), "registers: map "+m.Name+": ")
	line := d.line("points")
	for i, p := range m.Points {
		if strings.HasPrefix(rest, p.Quantity+": ") {
			// Of a quantity that stands twice the later point is to blame.
			line = d.line(fmt.Sprintf("points[%d]", i))
		}
	}
	return line
}

// word reads a word that a type of its own understands; a key that was left out
// keeps the type's zero.
func (d *document) word(at string, t *text, into encoding.TextUnmarshaler, r *report) {
	if !t.set {
		return
	}
	if err := into.UnmarshalText([]byte(t.value)); err != nil {
		message := err.Error()
		_, message, _ = strings.Cut(message, ": ")
		r.add(d.file, d.line(at), "%s: %s", at, message)
	}
}

func (d *document) point(at string, form *pointSection, r *report) registers.Point {
	p := registers.Point{Quantity: form.Quantity.value, Bit: -1, Write: form.Write.value,
		Negate: form.Negate.value}
	d.word(at+".space", &form.Space, &p.Space, r)
	d.word(at+".type", &form.Type, &p.Type, r)
	d.word(at+".order", &form.Order, &p.Order, r)
	d.word(at+".side", &form.Side, &p.Side, r)
	if a := form.Address.value; a < 0 || a > math.MaxUint16 {
		r.add(d.file, d.line(at), "%s: address %d; need 0 to 65535", p.Quantity, a)
	} else {
		p.Address = uint16(a)
	}
	if form.Bit.set {
		p.Bit = int(form.Bit.value)
	}
	p.Scale = d.scale(at+".scale", &form.Scale, r)
	p.Offset = d.scale(at+".offset", &form.Offset, r)
	return p
}

// scale reads what one raw count is worth, "0.01 rpm", or an offset.
func (d *document) scale(at string, t *text, r *report) float64 {
	if !t.set {
		return 0
	}
	_, si, err := quantity.ParseAny(t.value)
	if err != nil {
		r.add(d.file, d.line(at), "%s: %v", at, err)
	}
	return si
}
