// Package encoder emulates an absolute position encoder with the quantities of
// CiA 406: position in counts with resolution, offset, direction and wrap at the
// total range, speed, alarms, warnings and the operating status; an eccentric disc,
// latency, and a second read head where there is one.
//
// It is stepped with the plant and keeps no memory of being read. Angles are
// those of the axis in radians. Faults are plain fields; an encoder that no
// longer answers is a matter of the link, not of this package.
//
// The meaning of the objects is CiA 406's, secondary and partly from memory: the profile
// is sold under licence. testdata/SOURCES.md tells which is which.
package encoder
