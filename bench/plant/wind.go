package plant

import (
	"math"

	"haltmark/bench/quantity"
)

// airDensityKgPerM3 is that of the standard atmosphere at sea level.
const airDensityKgPerM3 = 1.225

// windCoefficients are those of sin x and -sin 2x in a main axis's wind torque, x
// being the yaw (azimuth) or the pitch (elevation) of the dish from the wind. A
// shape with its extremes near 130 deg, assumed, not measured on any antenna.
func windCoefficients(axis Axis) (first, second float64) {
	switch axis {
	case Azimuth:
		return 0.0463, 0.0858
	case Elevation:
		return 0.0386, 0.0715
	}
	return 0, 0
}

// WindPressurePa returns the dynamic pressure of a wind, in pascals: half the
// density times the square of the speed.
func WindPressurePa(wind quantity.Speed) float64 {
	return 0.5 * airDensityKgPerM3 * float64(wind) * float64(wind)
}

// WindTorque returns the torque of a wind on an axis of a dish of the given
// diameter, the dish turned away from the wind by an angle: pressure times
// aperture times diameter times the coefficient of that attitude. Nought on a
// polarization axis.
func WindTorque(
	axis Axis, diameter quantity.Length, wind quantity.Speed, away quantity.Angle,
) quantity.Torque {
	first, second := windCoefficients(axis)
	x := float64(away)
	return scaledWind(diameter, wind, first*math.Sin(x)-second*math.Sin(2*x))
}

// WindTorqueMax returns the size of a wind's torque at the worst attitude.
func WindTorqueMax(
	axis Axis, diameter quantity.Length, wind quantity.Speed,
) quantity.Torque {
	first, second := windCoefficients(axis)
	if second == 0 {
		return 0
	}
	// The slope first*cos x - 2*second*cos 2x is zero at two cosines; the
	// dish turned with its back to the wind has the larger torque.
	cosine := (first - math.Sqrt(first*first+32*second*second)) / (8 * second)
	sine := math.Sqrt(1 - cosine*cosine)
	return scaledWind(diameter, wind, first*sine-second*2*sine*cosine)
}

func scaledWind(
	diameter quantity.Length, wind quantity.Speed, coefficient float64,
) quantity.Torque {
	d := float64(diameter)
	aperture := math.Pi / 4 * d * d
	return quantity.Torque(coefficient * WindPressurePa(wind) * aperture * d)
}
