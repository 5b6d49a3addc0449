package fault

import "fmt"

// On is a kind of thing that faults are done to.
type On struct {
	Words string // "an axis"
	All   func() []Target
}

// Target is one thing by name, with the indices of what it is; those that its kind does
// not have are 0.
type Target struct {
	Name                      string
	Axis, End, Motor, Channel int
	Device                    Device // the zero value where it is none
}

// Device is a device of a station by its role there, and which one of that role.
type Device struct {
	Role  string
	Index int
}

// String is the kind in words.
func (o On) String() string { return o.Words }

// Targets are the names of everything of this kind, in order.
func (o On) Targets() []string {
	var names []string
	for _, t := range o.All() {
		names = append(names, t.Name)
	}
	return names
}

// find is the target of this kind and name.
func (o On) find(name string) (Target, error) {
	for _, t := range o.All() {
		if t.Name == name {
			return t, nil
		}
	}
	return Target{}, fmt.Errorf("%q is not %s%s", name, o, suggest(name, o.Targets()))
}
