package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ThreeSigma is the probability beyond one line at three standard deviations
// of a normal value: the usual tail for exact limits.
const ThreeSigma = 0.0013498980316300933

// PoissonLimits are exact probability limits for a count of the given mean:
// a count strictly above High has at most the probability tail, and so has
// one strictly below Low; each is the tightest such number. Low is 0 where no
// count is too low, which is nothing to be flagged.
func PoissonLimits(mean, tail float64) Limits {
	p := distuv.Poisson{Lambda: mean}
	return Limits{
		Low:    math.Max(0, greatest(func(n int) bool { return p.CDF(float64(n-1)) <= tail })),
		Center: mean,
		High:   least(func(n int) bool { return poissonAtLeast(n+1, mean) <= tail }),
	}
}

// BinomialLimits are the same for a count out of trials.
func BinomialLimits(trials int, share, tail float64) Limits {
	return Limits{
		// As many failures as are one too many for their own limit.
		Low:    float64(trials) - least(func(n int) bool { return binomialAtLeast(n+1, trials, 1-share) <= tail }),
		Center: float64(trials) * share,
		High:   least(func(n int) bool { return binomialAtLeast(n+1, trials, share) <= tail }),
	}
}

// PredictionLimit is the greatest count in exposure that is still no surprise
// after events were seen in base: a count strictly above it has at most the
// probability tail, whatever the common rate is. Limits about an estimated
// rate forget that the estimate is one: twelve baseline events leave it
// uncertain by a third. This limit pays for that. It is the exact test of
// RateRatio turned round, and is +Inf when there is no base to compare with.
func PredictionLimit(events int, base, exposure, tail float64) float64 {
	if base <= 0 || exposure <= 0 {
		return math.Inf(1)
	}
	share := exposure / (exposure + base)
	return least(func(n int) bool { return binomialAtLeast(n+1, n+1+events, share) <= tail })
}

// least is the smallest n >= 0 at which ok turns true, for an ok that stays
// true: doubling, then halving.
func least(ok func(int) bool) float64 {
	if ok(0) {
		return 0
	}
	low, high := 0, 1
	for !ok(high) && high < 1<<40 {
		low, high = high, 2*high
	}
	for high-low > 1 {
		if middle := (low + high) / 2; ok(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return float64(high)
}

// greatest is the largest n >= 0 at which ok is true, for an ok that turns
// false for good; -1 when it never is.
func greatest(ok func(int) bool) float64 {
	return least(func(n int) bool { return !ok(n) }) - 1
}
