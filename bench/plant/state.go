package plant

import "time"

// Input is what acts on the plant during one step, in N m at the axis. Torque is
// positive towards the upper end.
type Input struct {
	MotorTorque [MotorCount]float64
	BrakeCoil   [MotorCount]bool   // true = powered, which releases
	External    [AxisCount]float64 // wind and unbalance, on the load
	Pin         [MainAxes]bool     // true = the stow pin is asked in
}

// State is the plant at one instant: rad, rad/s, N m, J, all at the axis.
type State struct {
	Position, Rate           [AxisCount]float64 // of the load
	MotorPosition, MotorRate [MotorCount]float64
	MotorTorque              [MotorCount]float64 // of the drive, in the last step
	GearTorque               [MotorCount]float64 // motor to load; zero on a rigid axis
	BrakeTorque              [MotorCount]float64 // what brake and drag really did, signed
	BrakeSet                 [MotorCount]bool
	BrakeDragging            [MotorCount]bool    // driven through a set brake, turning
	BrakeClosedAt            [MotorCount]float64 // motor rate at the last closure
	BrakeEnergy              [MotorCount]float64 // taken since the last closure
	BufferDepth              [AxisCount]float64  // how far a buffer is pressed, up to its stroke
	BufferEnergy             [AxisCount]float64  // pressed into it since it was last touched
	StructureDepth           [AxisCount]float64  // how far the structure gives way
	StructureHit             [AxisCount]bool     // since the axis was last placed
}

// Faults are the ways in which the mechanics can be unsound. They may be changed
// between any two steps; New makes them healthy.
type Faults struct {
	BrakeScale     [MotorCount]float64       // factor on the brake's torque; 1 = healthy
	BrakeLate      [MotorCount]time.Duration // added to the next engage delay
	BrakeDrag      [MotorCount]float64       // N m of rubbing, set or not
	BrakeStuckOpen [MotorCount]bool          // never closes
	BrakeStuckSet  [MotorCount]bool          // never opens; open wins over set
}
