package synth

import (
	"math"
	"testing"
)

// about fails unless got is within half a unit of the last printed digit.
func about(t *testing.T, what string, got, want, half float64) {
	t.Helper()
	if math.Abs(got-want) > half {
		t.Errorf("%s: %.6f, want %.6f ± %g", what, got, want, half)
	}
}

// integrate integrates from speed v until the speed passes to, interpolating the
// last step with constant acceleration.
func integrate(b body, f forces, v, to, d float64, thrust func(float64) float64) (time, distance float64) {
	for {
		next, s, a := b.advance(f, v, d, thrust)
		if (to >= v && next >= to) || (to < v && next <= to) {
			part := (to - v) / a
			return time + part, distance + v*part + a*part*part/2
		}
		v, time, distance = next, time+d, distance+s
	}
}

// A body pulled at constant acceleration a, without friction or air.
func constant(a float64) (body, forces) {
	return body{mass: 1, gravity: gravity}, forces{thrust: a, air: true}
}

// Constant acceleration: check-values 7.4, computed from s = v²/2a, t = v/a.
func TestConstantAcceleration(t *testing.T) {
	for _, c := range []struct{ g, t80, s80, t140, s140 float64 }{
		{0.10, 41.967, 863.59, 73.442, 2644.74},
		{0.15, 27.978, 575.72, 48.961, 1763.16},
		{0.20, 20.983, 431.79, 36.721, 1322.37},
		{0.25, 16.787, 345.43, 29.377, 1057.89},
		{0.30, 13.989, 287.86, 24.481, 881.58},
	} {
		b, f := constant(c.g * gravity)
		time, dist := integrate(b, f, 0, 80*knot, dt, nil)
		about(t, "0-80 kt time", time, c.t80, 0.0005+1e-9)
		about(t, "0-80 kt distance", dist, c.s80, 0.005+1e-9)
		time, dist = integrate(b, f, 0, 140*knot, dt, nil)
		about(t, "0-140 kt time", time, c.t140, 0.0005+1e-9)
		about(t, "0-140 kt distance", dist, c.s140, 0.005+1e-9)
	}
}

// The constructed accelerate-stop of check-values 7.4: V1 140 kt, 0.20 g, two
// seconds at V1 (14 CFR 25.109(a)), 0.30 g stop; computed 2347.9913 m.
func TestAccelerateStop(t *testing.T) {
	b, f := constant(0.20 * gravity)
	time, out := integrate(b, f, 0, 140*knot, dt, nil)
	about(t, "time to V1", time, 36.7211, 0.00005)
	hold := 2 * 140 * knot
	stop := body{mass: 1, gravity: gravity}
	held := forces{braking: 0.30}
	time, back := integrate(stop, held, 140*knot, 0, dt, nil)
	about(t, "time to stop", time, 24.4807, 0.00005)
	about(t, "accelerate-stop distance", out+hold+back, 2347.9913, 0.00005+1e-6)
}

// Anderson, Aircraft Performance and Design (1999), Example 6.6: ground roll
// 2242 ft before the rotation, published; 2241.751 and 21.6251 s computed.
// The acceleration there is g (KT + KA v²).
func TestPublishedGroundRoll(t *testing.T) {
	const g, kt, ka, lift = 32.2, 0.301, -4.525e-7, 205.1
	b := body{mass: 1}
	thrust := func(v float64) float64 { return g * (kt + ka*v*v) }
	time, dist := integrate(b, forces{air: true}, 0, lift, dt, thrust)
	about(t, "ground roll, ft", dist, 2242, 0.5)
	about(t, "ground roll, ft, closed form", dist, math.Log(1+ka/kt*lift*lift)/(2*g*ka), 0.01)
	about(t, "time", time, 21.6251, 0.001)
	about(t, "with 3 s of rotation", dist+3*lift, 2857, 0.5)
}

// The twin-jet deck of check-values 7.3 (inputs published, outputs computed by
// quadrature in speed): 2862.045 ft, 24.9359 s; 0-80 kt 999.268 ft.
func TestTwinJetDeck(t *testing.T) {
	const g, rho, weight = 32.174, 0.0023769, 95000.0
	b := body{mass: weight / g, gravity: g, density: rho, wing: 1000, rolling: 0.025}
	f := forces{cl: 0.30, cd: 0.080}
	lapse := parabola([3]float64{0, 111.6, 334}, [3]float64{31450, 29835, 28475})
	vs := math.Sqrt(2 * weight / (rho * 1000 * 2.0))
	about(t, "stall speed", vs, 199.92, 0.005)
	time, dist := integrate(b, f, 0, 1.1*vs, dt, lapse)
	about(t, "ground run, ft", dist, 2862.045, 0.01)
	about(t, "ground run, s", time, 24.9359, 0.0001)
	_, dist = integrate(b, f, 0, 80*knot/foot, dt, lapse)
	about(t, "0-80 kt, ft", dist, 999.268, 0.01)

	// Stop of the same deck: brakes 0.30 (in place of rolling), no thrust.
	stop := b
	stop.rolling = 0.30
	time, dist = integrate(stop, f, 194.8442, 0, dt, nil)
	about(t, "stop, ft", dist, 1982.35, 0.05)
	about(t, "stop, s", time, 20.294, 0.001)
}

// parabola is the quadratic through three points.
func parabola(x, y [3]float64) func(float64) float64 {
	return func(v float64) float64 {
		sum := 0.0
		for i := range x {
			term := y[i]
			for j := range x {
				if j != i {
					term *= (v - x[j]) / (x[i] - x[j])
				}
			}
			sum += term
		}
		return sum
	}
}

// Kinetic energy lost by a braked stop equals the work of the brakes:
// 154,500 lb from 140 kt, 181.759560 MJ (check-values 7.1, exact).
func TestEnergyOfStop(t *testing.T) {
	mass := 154500 * 0.45359237
	b := body{mass: mass, gravity: gravity}
	_, dist := integrate(b, forces{braking: 0.3}, 140*knot, 0, dt, nil)
	about(t, "brake work, MJ", 0.3*mass*gravity*dist/1e6, 181.759560, 1e-6)
}

// At half the distance of a constant acceleration the speed is 0.7071 of the
// final speed (check-values 7.2 f).
func TestHalfDistance(t *testing.T) {
	b, f := constant(5)
	_, whole := integrate(b, f, 0, 134, dt, nil)
	_, half := integrate(b, f, 0, 134/math.Sqrt2, dt, nil)
	about(t, "share", half/whole, 0.5, 1e-9)
}

// Brakes hold a body against less thrust than they can take, and no friction
// ever drives it backwards.
func TestHeldAtRest(t *testing.T) {
	b := body{mass: 1000, gravity: gravity, rolling: 0.015}
	v, s, a := b.advance(forces{thrust: 2000, braking: 0.3}, 0, dt, nil)
	if v != 0 || s != 0 || a != 0 {
		t.Errorf("moved under brakes: %v %v %v", v, s, a)
	}
	v, s, _ = b.advance(forces{braking: 0.3}, 0.01, dt, nil)
	if v != 0 || s <= 0 {
		t.Errorf("stop inside a step: speed %v, distance %v", v, s)
	}
	if v, _, _ := b.advance(forces{thrust: 2000}, 0, dt, nil); v <= 0 {
		t.Error("released, and does not move")
	}
}

func TestSine(t *testing.T) {
	for deg := -720.0; deg <= 720; deg += 0.5 {
		sin, cos := sinCos(deg)
		about(t, "sine", sin, math.Sin(deg*math.Pi/180), 1e-12)
		about(t, "cosine", cos, math.Cos(deg*math.Pi/180), 1e-12)
	}
}
