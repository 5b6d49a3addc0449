package plant

import (
	"math"

	"haltmark/bench/quantity"
)

// Wind is a wind at one instant.
type Wind struct {
	Speed quantity.Speed
	From  quantity.Angle // the azimuth from which it blows
}

// Torques returns what the wind does to each axis of a dish that looks that way,
// positive towards the upper end. Azimuth's yaw is the beam's azimuth from the
// wind; elevation's pitch is the beam's from the wind, seen in the vertical plane
// that holds the wind: elevation itself against the wind, 180 deg less elevation
// with the wind behind. A wind from the side is taken as strong as any on both
// axes, which is more than it does. Motion of the dish is left out.
func (w Wind) Torques(
	dish quantity.Length, azimuth, elevation quantity.Angle,
) [AxisCount]quantity.Torque {
	yaw := azimuth - w.From
	up, along := math.Sincos(float64(elevation))
	pitch := quantity.Angle(math.Atan2(up, along*math.Cos(float64(yaw))))
	return [AxisCount]quantity.Torque{
		Azimuth:   WindTorque(Azimuth, dish, w.Speed, yaw),
		Elevation: WindTorque(Elevation, dish, w.Speed, pitch),
	}
}

// WorstTorques returns the torques of a wind that finds each axis at its worst
// attitude and pushes it towards its upper end.
func (w Wind) WorstTorques(dish quantity.Length) [AxisCount]quantity.Torque {
	return [AxisCount]quantity.Torque{
		Azimuth:   WindTorqueMax(Azimuth, dish, w.Speed),
		Elevation: WindTorqueMax(Elevation, dish, w.Speed),
	}
}
