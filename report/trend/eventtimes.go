package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// EventTimes are three tests of whether events come ever closer or ever
// rarer (NIST e-Handbook 8.2.3.4), for event times in rising order, counted
// in any exposure (takeoffs, hours) from the start of the watch.
type EventTimes struct {
	// Reversals counts the pairs of gaps of which the later is the longer;
	// without trend ReversalsMean of them are expected. More: ever rarer.
	Reversals     int
	ReversalsMean float64
	// ChiSquare is 2 sum log(end/time), chi-square with 2 n degrees of freedom
	// without trend; a large one says ever rarer. PChi is P(chi-square <= it).
	ChiSquare, PChi float64
	// Laplace is about normal without trend; negative says ever rarer, and
	// PLaplace is the probability of one so low.
	Laplace, PLaplace float64
	// Growth is 1 - b for the power law N(t) = Scale t^b with b = (n-1) over
	// sum log(end/time): positive says ever rarer. Between is the mean
	// exposure between events at the end.
	Growth, Scale, Between float64
}

// TestEventTimes tests the times of events up to the end of the watch. It
// wants at least two events, all after 0 and none after end.
func TestEventTimes(times []float64, end float64) EventTimes {
	n := float64(len(times))
	var out EventTimes
	out.Reversals, out.ReversalsMean = reversals(times), n*(n-1)/4
	logs, sum := 0.0, 0.0
	for _, t := range times {
		logs += math.Log(end / t)
		sum += t - end/2
	}
	out.ChiSquare = 2 * logs
	out.PChi = distuv.ChiSquared{K: 2 * n}.CDF(out.ChiSquare)
	out.Laplace = sum * math.Sqrt(12/n) / end
	out.PLaplace = distuv.UnitNormal.CDF(out.Laplace)
	// n-1 and not n: the unbiased estimate, which the published example has.
	b := (n - 1) / logs
	out.Growth, out.Scale, out.Between = 1-b, n/math.Pow(end, b), end/(n*b)
	return out
}

func reversals(times []float64) int {
	count := 0
	gap := func(i int) float64 {
		if i == 0 {
			return times[0]
		}
		return times[i] - times[i-1]
	}
	for i := range times {
		for j := i + 1; j < len(times); j++ {
			if gap(j) > gap(i) {
				count++
			}
		}
	}
	return count
}
