package trend

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Geometric are the lines for counts of takeoffs between events: if every
// takeoff brings the event with the same probability and none depends on
// another, they are geometric.
type Geometric struct {
	Mean float64 // takeoffs without event between two events
	// P is the estimated probability per takeoff, 1/(1+Mean); PUnbiased the
	// minimum-variance one, NaN for a single gap.
	P, PUnbiased float64
	// Sigma are mean and three standard deviations, which geometric counts
	// do not follow well; Exact the quantiles ThreeSigma and 1-ThreeSigma.
	Sigma, Exact Limits
}

// GeometricChart makes the lines from the gaps, of which it wants at least one.
func GeometricChart(gaps []float64) Geometric {
	n, mean := float64(len(gaps)), stat.Mean(gaps, nil)
	half := 3 * math.Sqrt(mean*(mean+1))
	out := Geometric{
		Mean: mean, P: 1 / (1 + mean), PUnbiased: (n - 1) / (n*(mean+1) - 1),
		Sigma: Limits{math.Max(0, mean-half), mean, mean + half},
	}
	if len(gaps) < 2 {
		out.PUnbiased = math.NaN()
	}
	out.Exact = Limits{GeometricQuantile(out.P, ThreeSigma), mean, GeometricQuantile(out.P, 1-ThreeSigma)}
	return out
}

// GeometricQuantile is the least number of takeoffs without event that is
// exceeded with a probability of at most 1-q, for the probability p of the
// event on each. gonum has no geometric distribution; this is its closed form.
func GeometricQuantile(p, q float64) float64 {
	if p >= 1 {
		return 0
	}
	return math.Max(0, math.Ceil(math.Log1p(-q)/math.Log1p(-p)-1-1e-12))
}

// ExponentialLimits are the lines for times between events whose mean is
// given: median, and the quantiles tail and 1-tail of the exponential law.
func ExponentialLimits(mean, tail float64) Limits {
	e := distuv.Exponential{Rate: 1 / mean}
	return Limits{e.Quantile(tail), e.Quantile(0.5), e.Quantile(1 - tail)}
}
