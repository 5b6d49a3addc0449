package config

import (
	"fmt"
	"math"
	"net/netip"
	"slices"
	"strings"

	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/snmp"
)

// Controller is a controller's profile as loaded.
type Controller struct {
	controller.Profile
	File File
}

// LoadController loads a controller's profile by its embedded name or its file's
// path.
func LoadController(name string) (*Controller, error) {
	f, err := open(kindController, name)
	if err != nil {
		return nil, err
	}
	r := &report{}
	var form controllerFile
	p := &profile{document: decode(f, &form, r), r: r}
	if err := r.err(); err != nil {
		return nil, err
	}
	p.base = p.oid("base", &form.Base)
	c := &Controller{Profile: p.read(&form), File: f.summary()}
	if len(r.found) == 0 {
		if err := c.Check(); err != nil {
			text := strings.ReplaceAll(err.Error(), "\n", "; ")
			r.add(f, 1, "%s; mend it", strings.TrimPrefix(text, "controller: "))
		}
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return c, nil
}

// profile is a profile being read.
type profile struct {
	*document
	r    *report
	base snmp.OID
}

func (p *profile) complain(at, format string, args ...any) {
	p.r.add(p.file, p.line(at), "%s %s", at, fmt.Sprintf(format, args...))
}

func (p *profile) read(form *controllerFile) controller.Profile {
	launches := []string{"standin", "command", "external"}
	launch := slices.Index(launches, form.Launch.value)
	if launch < 0 {
		p.complain("launch", "%q is not known; need standin, command or external", form.Launch.value)
	}
	out := controller.Profile{
		Name:           form.Controller.value,
		Launch:         controller.Launch(max(launch, 0)),
		Command:        form.Command.values,
		Agent:          p.endpoint("agent.endpoint", &form.Agent.Endpoint),
		Notify:         p.endpoint("notifications.endpoint", &form.Notifications.Endpoint),
		ReadCommunity:  form.Agent.ReadCommunity.value,
		WriteCommunity: form.Agent.WriteCommunity.value,
		Timing:         p.timing(&form.Timing),
		Status:         p.oid("objects.status", &form.Objects.Status),
		Counter:        p.oid("objects.counter", &form.Objects.Counter),
		Version:        p.oid("objects.version", &form.Objects.Version),
		Layout:         p.layout(&form.Status),
		States:         p.states(form.States),
		Causes:         p.causes(form.Causes),
		AllAxes:        int(form.Axes.All.value),
		AxisNumbers: [plant.AxisCount]int{int(form.Axes.Azimuth.value),
			int(form.Axes.Elevation.value), int(form.Axes.PolarizationH.value),
			int(form.Axes.PolarizationV.value)},
		NotificationNumber: p.oid("notifications.number", &form.Notifications.Number),
		NotificationText:   p.oid("notifications.text", &form.Notifications.Text),
	}
	for i := range form.Notifications.Kinds {
		k := &form.Notifications.Kinds[i]
		at := fmt.Sprintf("notifications.kinds[%d].oid", i)
		out.Notifications = append(out.Notifications,
			controller.NotificationKind{OID: p.oid(at, &k.OID), Name: k.Name.value})
	}
	p.columns(form.Columns, &out)
	for i := range form.Commands {
		out.Commands = append(out.Commands, p.command(i, &form.Commands[i]))
	}
	if form.Result != nil {
		out.Result = p.result(form.Result)
	}
	return out
}

// oid reads an object identifier; one with a leading dot stands below base. A
// key that was left out gives nil.
func (p *profile) oid(at string, t *text) snmp.OID {
	if !t.set {
		return nil
	}
	name := t.value
	if strings.HasPrefix(name, ".") {
		name = p.base.String() + name
	}
	o, err := snmp.ParseOID(name)
	if err != nil {
		p.complain(at, "%q is no object identifier; %s; write numbers with dots between", t.value,
			strings.TrimPrefix(err.Error(), "snmp: "))
	}
	return o
}

// endpoint reads "udp 127.0.0.1:10161".
func (p *profile) endpoint(at string, t *text) link.Endpoint {
	network, address, _ := strings.Cut(t.value, " ")
	if _, err := netip.ParseAddrPort(address); err != nil || network != "udp" {
		p.complain(at, "%q is no endpoint; SNMP goes by UDP; write such as udp 127.0.0.1:10161",
			t.value)
	}
	return link.Endpoint{Network: network, Address: address}
}

func (p *profile) timing(t *pollTimingSection) controller.Timing {
	for _, row := range []struct {
		key  string
		span *value[span]
	}{{"poll", &t.Poll}, {"table", &t.Table}, {"silent", &t.Silent}, {"frozen", &t.Frozen},
		{"timeout", &t.Timeout}, {"result", &t.Result}} {
		p.bounds("timing."+row.key, "", row.span, p.r)
	}
	if t.Tries.value < 1 {
		p.complain("timing.tries", "is %d; a command is tried at least once; give 1 or more",
			t.Tries.value)
	}
	return controller.Timing{Poll: t.Poll.span(), Table: t.Table.span(), Silent: t.Silent.span(),
		Frozen: t.Frozen.span(), Timeout: t.Timeout.span(), Tries: int(t.Tries.value),
		ResultTimeout: t.Result.span()}
}

func (p *profile) layout(s *statusSection) controller.StatusLayout {
	field := func(f *fieldSection) controller.Field {
		if f == nil {
			return controller.Field{}
		}
		return controller.Field{Bit: int(f.Bit.value), Width: int(f.Width.value)}
	}
	return controller.StatusLayout{State: field(&s.State), Cause: field(s.Cause),
		CauseAxis: field(s.CauseAxis), Locked: field(s.Locked), Acquired: field(s.Acquired),
		Armed: field(s.Armed), Unacknowledged: field(s.Unacknowledged)}
}

// states reads the numbers of states, whose names must be the bench's.
func (p *profile) states(from []numberedSection) []controller.Numbered {
	var out []controller.Numbered
	for i, n := range from {
		if _, err := controller.ParseState(n.Name.value); err != nil {
			p.complain(fmt.Sprintf("states[%d]", i), "is unknown; %s; use a name of the bench",
				strings.TrimPrefix(err.Error(), "controller: "))
		}
		out = append(out, controller.Numbered{Number: int(n.Number.value), Name: n.Name.value})
	}
	return out
}

// causes reads the numbers of causes, whose names must be the cause table's, or none.
func (p *profile) causes(from []numberedSection) []controller.NumberedCause {
	var out []controller.NumberedCause
	table := Causes()
	for i, n := range from {
		one := controller.NumberedCause{Number: int(n.Number.value)}
		if n.Name.value != "none" {
			one.Cause = controller.Cause{Number: table.Number(n.Name.value), Name: n.Name.value}
			if one.Cause.Number == 0 {
				p.complain(fmt.Sprintf("causes[%d]", i), "is unknown; no cause that a controller "+
					"reports is called %q; use a name of the cause table", n.Name.value)
			}
		}
		out = append(out, one)
	}
	return out
}

func (p *profile) columns(from []columnSection, out *controller.Profile) {
	for i := range from {
		at := fmt.Sprintf("columns[%d]", i)
		c := controller.Column{Name: from[i].Name.value,
			Scale: p.scale(at+".scale", &from[i].Scale, p.r)}
		column := p.oid(at+".oid", &from[i].OID)
		for axis, number := range out.AxisNumbers {
			c.OIDs[axis] = column.Append(uint32(number))
		}
		out.Columns = append(out.Columns, c)
	}
}

func (p *profile) command(i int, from *commandSection) controller.Command {
	at := fmt.Sprintf("commands[%d]", i)
	verb, err := controller.ParseVerb(from.Verb.value)
	if err != nil {
		p.complain(at+".verb", "%s", strings.TrimPrefix(err.Error(), "controller: "))
	}
	c := controller.Command{Verb: verb}
	for k := range from.Set {
		c.Set = append(c.Set, p.write(fmt.Sprintf("%s.set[%d]", at, k), &from.Set[k]))
	}
	return c
}

// write reads one variable of a command's Set.
func (p *profile) write(at string, from *setSection) controller.Write {
	w := controller.Write{OID: p.oid(at+".oid", &from.OID),
		Scale: p.scale(at+".scale", &from.Scale, p.r)}
	types := map[string]snmp.Type{"integer": snmp.TypeInteger, "gauge": snmp.TypeGauge32,
		"octets": snmp.TypeOctetString}
	var ok bool
	if w.Type, ok = types[from.Type.value]; !ok {
		p.complain(at, "has type %q; need integer, gauge or octets", from.Type.value)
	}
	fills := []string{"", "axis", "value", "token"}
	fill := slices.Index(fills, from.Fill.value)
	switch {
	case fill < 0:
		p.complain(at, "has fill %q; need axis, value or token", from.Fill.value)
	case from.Fill.set == from.Fixed.set:
		p.complain(at, "has fixed and fill, or neither; a variable carries one thing; give one")
	case from.Fixed.set && (from.Fixed.value < math.MinInt32 || from.Fixed.value > math.MaxInt32):
		p.complain(at, "has fixed %d; an INTEGER has 32 bits; give a smaller one", from.Fixed.value)
	}
	w.Fill = controller.Fill(max(fill, 0))
	w.Fixed = snmp.Value{Type: w.Type, Int: from.Fixed.value}
	return w
}

func (p *profile) result(from *resultSection) *controller.Result {
	out := &controller.Result{Token: p.oid("result.token", &from.Token),
		Code: p.oid("result.code", &from.Code), Obeyed: int(from.Obeyed.value)}
	for _, reason := range from.Reasons {
		out.Reasons = append(out.Reasons,
			controller.Reason{Code: int(reason.Code.value), Text: reason.Text.value})
	}
	return out
}
