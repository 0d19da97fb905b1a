package trend

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// The tails below are those of gonum's distributions, taken from the
// incomplete gamma and beta functions directly: a Survival that is 1 - CDF
// has no digits left at the 1e-8 at which many tests are done at once.

// poissonAtLeast is P(X >= n) of a Poisson count of the given mean.
func poissonAtLeast(n int, mean float64) float64 {
	switch {
	case n <= 0:
		return 1
	case mean <= 0:
		return 0
	}
	return mathext.GammaIncReg(float64(n), mean)
}

// binomialAtLeast is P(X >= n) of a binomial count.
func binomialAtLeast(n, trials int, share float64) float64 {
	switch {
	case n <= 0:
		return 1
	case n > trials || share <= 0:
		return 0
	case share >= 1:
		return 1
	}
	return mathext.RegIncBeta(float64(n), float64(trials-n+1), share)
}

// hypergeometricAtMost is P(X <= x) where X is how many of the draws are
// marked, drawn without return from marked and other ones: the exact test of
// two shares given their total (Fisher). gonum has no such distribution; its
// binomial coefficients come from gonum's logarithm of the beta function.
func hypergeometricAtMost(x, draws, marked, others int) float64 {
	low := max(0, draws-others)
	all := logChoose(marked+others, draws)
	sum := 0.0
	for k := low; k <= min(x, draws, marked); k++ {
		sum += math.Exp(logChoose(marked, k) + logChoose(others, draws-k) - all)
	}
	return math.Min(1, sum)
}

func logChoose(n, k int) float64 {
	return -math.Log(float64(n+1)) - mathext.Lbeta(float64(n-k+1), float64(k+1))
}
