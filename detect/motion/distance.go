package motion

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// metresPerSecond is one knot in m/s, exact by definition (NIST SP 811
// appendix B.8: the nautical mile is 1852 m).
const metresPerSecond = 1852.0 / 3600

// Distance is the way over the ground between two instants, m: the integral
// of the recorded speed, straight between samples. NaN where the series has a
// gap or does not reach both ends.
func Distance(speed *flightdata.Series, from, to span.Instant) float64 {
	if to < from {
		return math.NaN()
	}
	a := speed.At(from)
	if !a.OK {
		return math.NaN()
	}
	last := flightdata.Point{At: from, Value: a.Value}
	sum := 0.0
	step := func(p flightdata.Point) bool {
		dt := p.At.Sub(last.At)
		sum += float64((last.Value + p.Value) / 2 * dt.Seconds())
		ok := dt <= speed.MaxAge()
		last = p
		return ok
	}
	for p := range speed.Good(span.Span{From: from + 1, To: to}) {
		if !step(p) {
			return math.NaN()
		}
	}
	b := speed.At(to)
	if !b.OK || !step(flightdata.Point{At: to, Value: b.Value}) {
		return math.NaN()
	}
	return sum * metresPerSecond
}
