package scenario

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/quantity"
)

// check tells what the values of one sentence cannot mean; nil when they can.
type check func(is Words) error

// Bounds of what a sentence may say; those of a station are closer.
const (
	torqueMax = 100e6 // N m
	driftMax  = 90 * quantity.DegreePerSecond
	angleMax  = 360.0            // deg, as the faults take it
	spanMax   = 10 * time.Minute // for which a person holds something
	channels  = 2                // of the emergency stop
)

// needs adds checks, which stand before any run.
func (p *Phrase) needs(checks ...check) *Phrase {
	p.checks = append(p.checks, checks...)
	return p
}

// switched holds a phrase to the axes with limit switches, buffers and brakes.
func switched(is Words) error {
	if !is.Axis.Main() {
		return fmt.Errorf("%s has no limit switches, buffers or brakes; only azimuth and elevation do",
			is.Axis.Words())
	}
	return nil
}

// hasMotor holds a phrase to the motors that its axis has, each with its drive
// and its brake.
func hasMotor(is Words) error {
	_, count := is.Axis.Motors()
	if is.Number >= 1 && is.Number <= count {
		return nil
	}
	have := "1 alone"
	if count > 1 {
		have = "1 and 2"
	}
	return fmt.Errorf("%s has no motor, drive or brake %d; it has %s", is.Axis.Words(), is.Number,
		have)
}

func hasChannel(is Words) error {
	if is.Number < 1 || is.Number > channels {
		return fmt.Errorf("the emergency stop has no channel %d; it has channels 1 and 2", is.Number)
	}
	return nil
}

// inward holds a phrase to an angle that only goes inward.
func inward(is Words) error {
	if a := is.Angle.Degrees(); a < 0 || a > angleMax {
		return fmt.Errorf("%.6g deg is no angle inboard; need 0 deg to %g deg", a, angleMax)
	}
	return nil
}

// apart holds a phrase to an angle that makes a difference, either way.
func apart(is Words) error {
	if a := is.Angle.Degrees(); a == 0 || a < -angleMax || a > angleMax {
		return fmt.Errorf("%g deg is no jump; need an angle other than 0 deg, %g deg at most",
			a, angleMax)
	}
	return nil
}

func walking(is Words) error {
	if is.Rate <= 0 {
		return errors.New("a drift needs a rate above 0 deg/s")
	}
	if is.Rate > driftMax {
		return fmt.Errorf("%g deg/s is no drift; need at most %g deg/s", is.Rate.DegreesPerSecond(),
			driftMax.DegreesPerSecond())
	}
	return nil
}

func lasts(is Words) error {
	if is.Span <= 0 || is.Span > spanMax {
		return fmt.Errorf("%v is no time to hold or to wait; need more than 0 s and at most %v",
			is.Span, spanMax)
	}
	return nil
}

func pushing(is Words) error {
	if is.Torque <= 0 {
		return errors.New("a push needs a torque above 0 N m; the end it is towards tells its sense")
	}
	if is.Torque > torqueMax {
		return fmt.Errorf("a push of %g MN m is more than any antenna bears; need at most %g MN m",
			float64(is.Torque)/1e6, torqueMax/1e6)
	}
	return nil
}
