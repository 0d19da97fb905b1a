package reject_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/detect/motion"
	"rollonset/detect/reject"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

const (
	knot    = 1852.0 / 3600 // m/s, exact
	gravity = 9.80665       // m/s2, exact
	pound   = 0.45359237    // kg, exact
	footLb  = 0.3048 * pound * gravity
)

// near fails when got is off by more than half a unit of the printed digit.
func near(t *testing.T, what string, got, want, half float64) {
	t.Helper()
	if !(math.Abs(got-want) <= half+1e-9) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, half)
	}
}

// TestKinetic holds the energy to check-values 7.1: the constant of 14 CFR
// 23.735(a)(2) without its rounding to 0.0443. Computed.
func TestKinetic(t *testing.T) {
	near(t, "the exact constant", reject.Kinetic(pound, 1)*1e6/footLb, 0.0442701842, 5e-11)
	for _, c := range []struct{ lb, kt, wheels, total, each, ftlb float64 }{
		{12500, 100, 2, 7.502789, 3.751394, 2766886.5},
		{154500, 140, 4, 181.759560, 45.439890, 33514743.0},
		{174200, 150, 4, 235.257445, 58.814361, 43379246.8},
		{875000, 160, 16, 1344.499752, 84.031234, 61978257.9},
	} {
		e := reject.Kinetic(c.lb*pound, c.kt)
		near(t, "total MJ", e, c.total, 5e-7)
		near(t, "MJ per wheel", e/c.wheels, c.each, 5e-7)
		near(t, "ft·lb per wheel", e*1e6/footLb/c.wheels, c.ftlb, 0.05)
	}
	// The two accident aircraft of sources-regulatory E9, derived: 52.2, 263.4 MJ.
	near(t, "44,400 lb at 140 kt", reject.Kinetic(44400*pound, 140), 52.2, 0.05)
	near(t, "146,600 lb at 173 kt", reject.Kinetic(146600*pound, 173), 263.4, 0.05)
	// +10 % weight is +10 %, +10 % speed is +21 % (FAA Airplane Flying
	// Handbook, read).
	near(t, "weight", reject.Kinetic(110, 100)/reject.Kinetic(100, 100), 1.10, 1e-12)
	near(t, "speed", reject.Kinetic(100, 110)/reject.Kinetic(100, 100), 1.21, 1e-12)
}

// ramp is a ground speed under constant acceleration, kt per second, at rate
// samples a second, the last sample exactly at the end.
func ramp(acceleration, seconds float64, rate float64) *flightdata.Series {
	s := &flightdata.Series{Parameter: flightdata.GroundSpeed, Period: time.Duration(1e9 / rate)}
	for i := 0; ; i++ {
		at := float64(i) / rate
		if at >= seconds {
			break
		}
		s.Times, s.Values = append(s.Times, span.Sec(at)), append(s.Values, acceleration*at)
	}
	s.Times, s.Values = append(s.Times, span.Sec(seconds)), append(s.Values, acceleration*seconds)
	return s
}

// TestConstantAcceleration holds the distance to check-values 7.4: metres and
// seconds from 0 to 80 and to 140 kt. Computed.
func TestConstantAcceleration(t *testing.T) {
	for _, c := range []struct{ g, perSecond, t80, m80, t140, m140 float64 }{
		{0.10, 1.9063, 41.967, 863.59, 73.442, 2644.74},
		{0.15, 2.8594, 27.978, 575.72, 48.961, 1763.16},
		{0.20, 3.8125, 20.983, 431.79, 36.721, 1322.37},
		{0.25, 4.7657, 16.787, 345.43, 29.377, 1057.89},
		{0.30, 5.7188, 13.989, 287.86, 24.481, 881.58},
	} {
		a := c.g * gravity / knot
		near(t, "kt/s", a, c.perSecond, 5e-5)
		near(t, "seconds to 80 kt", 80/a, c.t80, 5e-4)
		near(t, "seconds to 140 kt", 140/a, c.t140, 5e-4)
		for _, rate := range []float64{0.5, 1, 8} {
			near(t, "metres to 80 kt", motion.Distance(ramp(a, 80/a, rate), 0, span.Sec(80/a)), c.m80, 0.006)
			near(t, "metres to 140 kt", motion.Distance(ramp(a, 140/a, rate), 0, span.Sec(140/a)), c.m140, 0.006)
		}
	}
}

// TestHalfDistance: under constant acceleration the speed at half the distance
// is 70.71 % of the final one, which is the same as: the distance up to 70.71 %
// of the time is half. Check-values 7.2 (f), computed.
func TestHalfDistance(t *testing.T) {
	s := ramp(4, 40, 1)
	half := motion.Distance(s, 0, span.Sec(40/math.Sqrt2))
	near(t, "half the distance", half/motion.Distance(s, 0, span.Sec(40)), 0.5, 1e-6)
	near(t, "the speed there", s.At(span.Sec(40/math.Sqrt2)).Value/160, 0.7071, 5e-5)
	// Example (f): 5 m/s2 over 1,800 m in 26.8 s to 134 m/s. Read.
	end := math.Sqrt(2 * 1800 / 5.0)
	s = ramp(5/knot, end, 1)
	near(t, "metres", motion.Distance(s, 0, span.Sec(end)), 1800, 1e-3)
	near(t, "m/s", s.At(span.Sec(end)).Value*knot, 134, 0.5)
	near(t, "metres in the first second", motion.Distance(s, 0, span.Sec(1)), 2.50, 0.005)
	near(t, "metres in the last second", motion.Distance(s, span.Sec(end-1), span.Sec(end)), 131.6641, 5e-4)
}

// TestDistanceIsToldOrNot: a gap or an end that the series does not reach
// gives no figure.
func TestDistanceIsToldOrNot(t *testing.T) {
	s := ramp(4, 40, 1)
	if d := motion.Distance(s, span.Sec(10), span.Sec(9)); !math.IsNaN(d) {
		t.Errorf("backwards: %g", d)
	}
	if d := motion.Distance(s, span.Sec(10), span.Sec(50)); !math.IsNaN(d) {
		t.Errorf("beyond the last sample: %g", d)
	}
	if d := motion.Distance(s, span.Sec(10), span.Sec(10)); d != 0 {
		t.Errorf("no time: %g", d)
	}
	if d := motion.Distance(nil, 0, span.Sec(10)); !math.IsNaN(d) {
		t.Errorf("no series: %g", d)
	}
	s.Masks = make([]flightdata.Mask, s.Len())
	for i := 12; i < 16; i++ {
		s.Masks[i] = flightdata.Stuck
	}
	if d := motion.Distance(s, span.Sec(5), span.Sec(20)); !math.IsNaN(d) {
		t.Errorf("over a gap of 5 s: %g", d)
	}
}

// TestDistanceAdds: the way from a to c over b is the sum of both.
func TestDistanceAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &flightdata.Series{Period: time.Second}
		for i := range 30 {
			s.Times, s.Values = append(s.Times, span.Sec(float64(i))), append(s.Values, rapid.Float64Range(0, 160).Draw(t, "kt"))
		}
		a := span.Instant(rapid.Int64Range(0, 14e9).Draw(t, "a"))
		b := a + span.Instant(rapid.Int64Range(0, 7e9).Draw(t, "ab"))
		c := b + span.Instant(rapid.Int64Range(0, 7e9).Draw(t, "bc"))
		sum, all := motion.Distance(s, a, b)+motion.Distance(s, b, c), motion.Distance(s, a, c)
		if math.Abs(sum-all) > 1e-6 {
			t.Fatalf("%g by parts, %g at once", sum, all)
		}
		if most := 160 * knot * c.Sub(a).Seconds(); all < 0 || all > most+1e-9 {
			t.Fatalf("%g m is not from 0 to %g m", all, most)
		}
	})
}

// TestBetween holds runway-scale distances to the WGS 84 geodesic of
// check-values 5, computed by Vincenty's inverse, printed to a tenth of a
// millimetre. A sphere would be off by up to 17 m.
func TestBetween(t *testing.T) {
	for _, c := range []struct{ lat, dlat, dlon, metres float64 }{
		{0, .027, 0, 2985.5054},
		{0, 0, .027, 3005.6263},
		{30, .027, 0, 2993.0221},
		{40, .027, 0, 2997.9421},
		{40, 0, .027, 2305.6341},
		{51.5, .02, .02, 2622.8399},
		{60, 0, .027, 1506.6000},
	} {
		near(t, "metres", reject.Between(c.lat, 12, c.lat+c.dlat, 12+c.dlon), c.metres, 1e-4)
		near(t, "metres, the other way", reject.Between(c.lat+c.dlat, 12+c.dlon, c.lat, 12), c.metres, 1e-4)
	}
	// Across the date line the way is the short one.
	near(t, "over 180 degrees", reject.Between(0, 179.99, 0, -179.983), 3005.6263, 1e-3)
}
