package synth

import "math"

// Constants of nature and of the standard atmosphere, exact by definition
// (ISO 2533: standard gravity, sea-level density; international knot, foot).
const (
	gravity   = 9.80665 // m/s²
	seaLevel  = 1.225   // kg/m³
	knot      = 1852.0 / 3600.0
	foot      = 0.3048
	stepsPerS = 64 // of the simulator; a power of two, so that times are exact
	dt        = 1.0 / stepsPerS
)

// body is a point mass on a straight track. Units are SI, or any coherent set.
type body struct {
	mass    float64
	gravity float64
	density float64
	wing    float64 // area
	rolling float64 // friction coefficient of free wheels
	slope   float64 // rise over run, positive uphill
}

// forces are what acts on the body at one instant.
type forces struct {
	thrust  float64 // at the present speed
	cl, cd  float64 // of the whole aircraft as it is configured
	braking float64 // friction coefficient of the brakes, on top of rolling
	wind    float64 // headwind
	air     bool    // no wheel on the ground
}

// lift is the lift at ground speed v.
func (b *body) lift(f *forces, v float64) float64 {
	air := v + f.wind
	return 0.5 * b.density * air * air * b.wing * f.cl
}

// accel is the acceleration along the track at ground speed v. At rest the
// friction only holds: it never pushes the body backwards.
func (b *body) accel(f *forces, v float64) float64 {
	air := v + f.wind
	q := 0.5 * b.density * air * air * b.wing
	push := f.thrust - float64(q*f.cd)
	if f.air {
		return push / b.mass // the flight path is the business of whoever flies
	}
	push -= float64(b.mass * b.gravity * b.slope)
	onWheels := max(float64(b.mass*b.gravity)-float64(q*f.cl), 0)
	hold := float64((b.rolling + f.braking) * onWheels)
	if v <= 0 && math.Abs(push) <= hold {
		return 0
	}
	return (push - hold) / b.mass
}

// advance moves a body with speed v by one step of length d and gives the new
// speed, the distance covered and the mean acceleration. thrust, when not
// nil, gives the thrust at a speed. The rule is the midpoint rule, exact for
// constant acceleration; a body that stops inside the step stays stopped.
func (b *body) advance(f forces, v, d float64, thrust func(v float64) float64) (speed, distance, acceleration float64) {
	if thrust != nil {
		f.thrust = thrust(v)
	}
	first := b.accel(&f, v)
	mid := max(v+float64(first*d/2), 0)
	if thrust != nil {
		f.thrust = thrust(mid)
	}
	a := b.accel(&f, mid)
	if v == 0 && first == 0 || v > 0 && mid == 0 {
		a = first // held at rest, or coming to rest inside the step
	}
	next := v + float64(a*d)
	if next <= 0 {
		if v == 0 {
			return 0, 0, 0
		}
		return 0, v * v / (2 * -a), a
	}
	return next, float64(v*d) + float64(a*d*d/2), a
}

// sinCos are the sine and cosine of an angle in degrees, by a series with
// rounded steps: the library's may differ between processors in the last bit.
func sinCos(deg float64) (sin, cos float64) {
	return sine(deg), sine(deg + 90)
}

func sine(deg float64) float64 {
	turns := math.Round(deg / 360)
	x := float64((deg - float64(turns*360)) * (math.Pi / 180))
	switch { // the series is short only near zero
	case x > math.Pi/2:
		x = math.Pi - x
	case x < -math.Pi/2:
		x = -math.Pi - x
	}
	x2 := x * x
	sum, term := x, x
	for k := 1; k <= 9; k++ {
		term = -float64(term*x2) / float64((2*k)*(2*k+1))
		sum += term
	}
	return sum
}
