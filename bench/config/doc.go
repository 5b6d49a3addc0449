// Package config loads what people write: stations, drive sheets, register
// maps, controller profiles and requirements. It is the only package that knows
// YAML and line numbers.
//
// Loading is strict: an unknown key, a missing value, a number without its unit
// or an impossible combination is refused, all that is wrong is gathered, and
// each is one line: file and line, what, why, what to do. Nothing is opened and
// nothing moves before a file has passed.
//
// A bare name is embedded; a name with a separator or an extension is a file. A
// reference is looked for beside the file that names it, then among the
// embedded. A station becomes a flat table of parameters, each with its range
// and origin, the derived ones among them, and the parameter structs of plant,
// devices and stand-in.
package config
