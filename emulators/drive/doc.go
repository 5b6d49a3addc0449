// Package drive emulates one motor drive that speaks CiA 402: every state, the
// profile and cyclic modes of velocity and torque, ramps and stops by option code,
// a speed loop with a torque offset, and the safe torque off input. Where its
// parameters say so it has the other safe functions of IEC 61800-5-2, a
// direct-current link with its resistor, the I2t of its motor, and trips of its
// own. Servo is such a drive for the two motors of an axis.
//
// It has two faces. The physical face is stepped with the plant: motor speed and
// inputs in, torque at the axis out. The wire face is the objects of the profile
// as quantities, which a register map puts on the wire; what is stored changes
// the state at once and the torque with the next step, and reading changes
// nothing. Rates, angles and torques are those at the axis, in SI units.
//
// A drive left alone keeps pulling: its torque offset acts until the power stage
// is off. Only its communication watchdog, its stops and its STO input end that.
package drive
