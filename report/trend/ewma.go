package trend

import "math"

// EWMA is the exponentially weighted moving average (NIST e-Handbook
// 6.3.2.4): each point is weight times the value plus (1 - weight) times the
// point before, beginning from start. It has the length of values.
func EWMA(values []float64, start, weight float64) []float64 {
	out := make([]float64, len(values))
	for i, value := range values {
		start = weight*value + (1-weight)*start
		out[i] = start
	}
	return out
}

// EWMALimits are the lines of the i-th point, from 1, for independent values
// of the given standard deviation; i of 0 gives those that the points reach
// in the end. width is usually 3.
func EWMALimits(target, deviation, weight, width float64, i int) Limits {
	variance := weight / (2 - weight)
	if i > 0 {
		variance *= 1 - math.Pow(1-weight, float64(2*i))
	}
	half := width * deviation * math.Sqrt(variance)
	return Limits{target - half, target, target + half}
}
