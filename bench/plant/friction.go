package plant

// body is a mass with its friction, and how a step of it goes.
type body struct {
	scale       float64 // step over inertia, s/(kg m^2), and
	keep        float64 // what is left of a rate: viscous friction by the trapezoidal rule
	coulombNm   float64
	breakawayNm float64
	perStribeck float64 // s/rad
}

func newBody(a *AxisParameters, inertia, h float64) body {
	b := body{
		coulombNm: float64(a.LoadCoulomb), breakawayNm: float64(a.LoadBreakaway),
	}
	b.weigh(float64(a.LoadViscous), inertia, h)
	if a.StribeckRate > 0 {
		b.perStribeck = 1 / float64(a.StribeckRate)
	}
	return b
}

// weigh gives the body an inertia, kg m^2, under viscous friction, N m s/rad.
func (b *body) weigh(viscous, inertia, h float64) {
	beta := viscous * h / (2 * inertia)
	b.keep = (1 - beta) / (1 + beta)
	b.scale = h / inertia / (1 + beta)
}

// frictionNm is the dry friction at a rate: Coulomb, and a rational Stribeck
// curve on top of it.
func (b *body) frictionNm(rate float64) float64 {
	if b.breakawayNm == 0 {
		return b.coulombNm
	}
	x := rate * b.perStribeck
	return b.coulombNm + b.breakawayNm/(1+float64(x*x))
}

// free is the rate after one step under a torque, dry resistance left out.
func (b *body) free(rate, torqueNm float64) float64 {
	return float64(b.keep*rate) + float64(b.scale*torqueNm)
}

// clamp takes dry resistance off a rate: at most up from a positive one, at most
// down from a negative one. What cannot get past zero is held there exactly.
func clamp(rate, up, down float64) float64 {
	if rate > up {
		return rate - up
	}
	if rate >= -down {
		return 0
	}
	return rate + down // no number stays none
}
