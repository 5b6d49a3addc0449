package verdict

// Category is the stop category of a cause on the axis that it strikes:
// 0 takes the torque at once, 1 and 2 slow the axis along its ramp first.
func Category(cause string) (category int, known bool) {
	c, known := causeNamed(cause)
	return c.category, known
}
