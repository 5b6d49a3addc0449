// Package plant is the mechanics of a station's four axes: load and motors,
// gears with spring and backlash, friction, brakes on the motor shafts, buffers and
// structure at the ends of travel. It is pure: no clock, socket or file, and no
// chance but a stream that the caller gives.
//
// It owns the motion between two instants one step apart, the geometry of a
// limit chain, and the figures that follow from an axis's parameters (derive.go).
// It also has the arithmetic of wind: published gust spectra, a seeded sum of
// harmonics that has them, means and gusts as the trade tells them, and the
// torque by attitude. Step knows none of that: wind, unbalance and drive torque
// come in as Input.
//
// What an axis may have beyond that is optional (optional.go): a reflector apart from
// its mount, gravity and inertia by attitude, a stow pin, a cable wrap; and so is
// the account of its energy (ledger.go).
//
// Angles, rates, torques and inertias of motors are those at the axis, the gear
// divided out and its losses inside. Method: position Verlet; dry friction,
// brakes and buffers act on the velocity and clamp it to exactly zero, so that
// what is held does not creep.
package plant
