package station

import (
	"reflect"
	"slices"
	"testing"
)

// Whatever a kind of device forgets is named here: each function and word that every kind
// has, the session that its protocol asks for, and a role and key of its own.
func TestKinds_ForgetNothing(t *testing.T) {
	either := []string{"bank", "open"}                          // by the protocol
	maybe := []string{"Optional", "Unasked", "within", "paced"} // whose zero value means something
	var roles []Role
	var keys []string
	for _, k := range Kinds() {
		v := reflect.ValueOf(k)
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if v.Field(i).IsZero() && !slices.Contains(either, name) && !slices.Contains(maybe, name) {
				t.Errorf("the %s has no %s", k.Role, name)
			}
		}
		p := k.Protocol
		if (k.bank != nil) != p.Units || (k.open != nil) == p.Units {
			t.Errorf("the %s speaks %s; a device of a protocol with units has a bank, any other "+
				"opens a session", k.Role, p.Name)
		}
		if p.Name == "" || p.Network == "" || p.framing == nil {
			t.Errorf("the %s speaks a protocol that forgets something: %+v", k.Role, p)
		}
		if slices.Contains(roles, k.Role) || slices.Contains(keys, k.Key) {
			t.Errorf("the %s has the role or the key of another", k.Role)
		}
		roles, keys = append(roles, k.Role), append(keys, k.Key)
		if k.faults == nil {
			continue
		}
		for _, f := range k.faults() {
			if f.Name == "" || f.Does == "" || f.On.All == nil || f.act == nil {
				t.Errorf("a fault %q of the %s lacks its name, what it does, its target or its act",
					f.Name, k.Role)
			}
		}
	}
}
