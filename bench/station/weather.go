package station

import (
	"fmt"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/seed"
)

// Weather is the wind over a station, whose torque follows the attitude of the
// dish, and the mast that tells it.
type Weather struct {
	Mean quantity.Speed
	From quantity.Angle // the azimuth from which it blows
	// Intensity is the standard deviation of the gusts over the mean; 0 is a
	// steady wind, and then the model and the length mean nothing.
	Intensity quantity.Ratio
	Model     plant.GustModel
	Length    quantity.Length // von Karman's, along the wind
}

// air is the wind as it blows.
type air struct {
	blows       bool      // something but the constant wind of the parameters
	changed     bool      // at this step, by a fault
	winds       []blowing // that stand, the station's own first; the last one blows
	steps       []rising
	looks       [plant.AxisCount]float64 // where the dish last looked, rad
	now         plant.Wind
	told        plant.WindAverages
	every       int64         // plant steps between two values of the gusts
	sampled     int64         // plant steps between two samples of the averages
	strongUntil time.Duration // it counts as beyond a limit for stowing
	seed        seed.Seed
}

// blowing is one wind.
type blowing struct {
	id    fault.ID // of the fault that made it; ownWind of the station's own
	mean  quantity.Speed
	from  quantity.Angle
	gusts *plant.Gusts // nil of a steady wind
	gust  float64      // m/s
	since time.Duration
	rise  time.Duration // from since on, over which it takes the place of what blew before
}

// ownWind stands for no fault.
const ownWind fault.ID = -1

// rising is a step of the wind.
type rising struct {
	id    fault.ID
	by    quantity.Speed
	since time.Duration
	rise  time.Duration
}

// newAir makes the wind of the parameters, and returns the torques with which the
// station begins at a position.
func (s *Station) newAir(o Options) (external [plant.AxisCount]float64, err error) {
	a := &s.air
	a.seed = o.Seed
	a.every = max(int64(plant.GustPeriod/s.step), 1)
	a.sampled = max(int64(plant.WindSamplePeriod/s.step), 1)
	if w := s.set.Weather; w != nil {
		if w.Intensity > 0 && !(w.Mean > 0 && w.Length > 0) {
			return external, fmt.Errorf("station %s: gusts need a mean wind and a length above 0",
				s.set.Name)
		}
		a.blows = true
		a.winds = append(a.winds, s.blowing(ownWind, *w, 0))
	}
	a.looks = o.Position
	s.field.still = a.torques(&s.set, 0)
	s.feel()
	return s.field.still, nil
}

// blowing makes a wind with the station's own stream of chance.
func (s *Station) blowing(id fault.ID, w Weather, rise time.Duration) blowing {
	b := blowing{id: id, mean: w.Mean, from: w.From, since: s.Now(), rise: rise}
	if w.Intensity > 0 {
		b.gusts = plant.NewGusts(w.Model.Spectrum(plant.Turbulence{Mean: w.Mean,
			Deviation: w.Mean * quantity.Speed(w.Intensity), Length: w.Length}),
			s.air.seed.Stream("wind"))
		b.gust = b.gusts.Next()
	}
	return b
}

// turned has the next step take in another wind. A wind that begins finds the dish
// where it is; one that goes on looks again when its next value is due.
func (s *Station) turned() {
	a := &s.air
	if !a.blows {
		a.looks = s.Plant.State().Position
	}
	a.becalmed(s.Now())
	a.blows, a.changed = true, true
}

// blow carries the wind to this step. It changes at every value
// of the gusts, which is when the attitude is looked at too, and at faults. A
// station that knows only its constant wind pays one comparison.
func (s *Station) blow(now time.Duration) {
	a := &s.air
	if !a.blows {
		return
	}
	due := s.n%a.every == 0
	if !due && !a.changed {
		return
	}
	if due {
		a.looks = s.Plant.State().Position
		for i := range a.winds {
			if b := &a.winds[i]; b.gusts != nil {
				b.gust = b.gusts.Next()
			}
		}
	}
	a.changed = false
	a.blows = len(a.winds)+len(a.steps) > 0
	s.field.still = a.torques(&s.set, now)
	for axis, torque := range s.field.still {
		s.field.external[axis] = torque + s.field.pushed[axis]
	}
	if s.n%a.sampled == 0 {
		s.weigh(now)
	}
}

// due is when the wind changes next.
func (a *air) due(s *Station) time.Duration {
	if !a.blows {
		return never
	}
	return time.Duration((s.n+a.every-1)/a.every*a.every) * s.step
}

// torques of wind and unbalance. Without a wind of its own a station has the
// constant one of its parameters, each main axis at its worst attitude.
func (a *air) torques(set *Parameters, now time.Duration) (all [plant.AxisCount]float64) {
	for axis, torque := range set.External {
		all[axis] = float64(torque)
	}
	if len(a.winds)+len(a.steps) == 0 {
		a.now = plant.Wind{Speed: set.Wind}
		return all
	}
	torques, wind := a.blown(set, now, len(a.winds))
	a.now = wind
	for axis := range plant.MainAxes {
		all[axis] = float64(set.Plant.Axes[axis].ConstantUnbalance()) + torques[axis]
	}
	return all
}

// blown is the wind of the first so many that blow, and its torque on each main axis,
// N m. The last of them counts; while it rises, a share of what blew before does too.
func (a *air) blown(
	set *Parameters, now time.Duration, count int,
) (torques [plant.MainAxes]float64, wind plant.Wind) {
	if count == 0 && len(a.winds) > 0 {
		for axis := range torques { // the constant one, which no mast tells
			torques[axis] = float64(set.External[axis] - set.Plant.Axes[axis].ConstantUnbalance())
		}
		return torques, wind
	}
	wind.Speed = set.Wind
	if count > 0 {
		b := &a.winds[count-1]
		wind = plant.Wind{Speed: b.mean + quantity.Speed(b.gust), From: b.from}
	}
	for _, r := range a.steps {
		wind.Speed += r.at(now)
	}
	wind.Speed = max(wind.Speed, 0)
	each := wind.WorstTorques(set.Dish)
	if count > 0 {
		each = wind.Torques(set.Dish, quantity.Angle(a.looks[plant.Azimuth]),
			quantity.Angle(a.looks[plant.Elevation]))
	}
	for axis := range torques {
		torques[axis] = float64(each[axis])
	}
	if count == 0 {
		return torques, wind
	}
	if share := a.winds[count-1].risen(now); share < 1 {
		before, was := a.blown(set, now, count-1)
		for axis := range torques {
			torques[axis] = float64(share*torques[axis]) + float64((1-share)*before[axis])
		}
		wind.Speed = wind.Speed*quantity.Speed(share) + was.Speed*quantity.Speed(1-share)
	}
	return torques, wind
}

// risen is the share of a wind that is there.
func (b *blowing) risen(now time.Duration) float64 {
	if now-b.since >= b.rise {
		return 1
	}
	return float64(now-b.since) / float64(b.rise)
}

// at is how much of a step is there.
func (r rising) at(now time.Duration) quantity.Speed {
	if r.rise <= 0 || now-r.since >= r.rise {
		return r.by
	}
	return r.by * quantity.Speed(float64(now-r.since)/float64(r.rise))
}

// Wind returns the wind at the station's last step, and its mean over 10 min and
// its gust over 3 s as the trade tells them. A wind that never changed is all three.
func (s *Station) Wind() (now plant.Wind, mean, gust quantity.Speed) {
	a := &s.air
	if a.told.Mean() == 0 && a.told.Gust() == 0 {
		return a.now, a.now.Speed, a.now.Speed
	}
	return a.now, a.told.Mean(), a.told.Gust()
}
