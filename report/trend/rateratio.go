package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// RatioMethod names how RateRatio tests, for pages: two exact two-sided p
// values of the same data are in use, and they differ.
const RatioMethod = "exact test given the total number of events (binomial); two-sided p by least likelihood; interval by Clopper-Pearson"

// Ratio compares two rates.
type Ratio struct {
	// Ratio is the first rate over the second: +Inf when only the second has
	// no event, NaN when neither has one or an exposure is nothing.
	Ratio    float64
	Interval Interval // of the ratio; from 0 to +Inf when nothing is known
	// P is the two-sided p value that sums all splits of the events that are
	// no more likely than the one seen. PDoubled doubles the smaller tail and
	// is never smaller than that tail; some programs print it instead.
	P, PDoubled float64
	// PHigher is one-sided: the probability of a first count at least so
	// high were the two rates the same. PLower is the other side.
	PHigher, PLower float64
}

// RateRatio compares the rate of events1 in exposure1 with that of events2 in
// exposure2 by the method that RatioMethod names. Given the total, the first
// count is binomial when both are Poisson, so nothing is approximate.
func RateRatio(events1 int, exposure1 float64, events2 int, exposure2, level float64) Ratio {
	out := Ratio{Ratio: math.NaN(), Interval: Interval{0, math.Inf(1)}, P: 1, PDoubled: 1, PHigher: 1, PLower: 1}
	total := events1 + events2
	if exposure1 <= 0 || exposure2 <= 0 || total == 0 {
		return out
	}
	share := exposure1 / (exposure1 + exposure2)
	out.Ratio = float64(events1) / exposure1 / (float64(events2) / exposure2)
	split := ClopperPearson(events1, total, level)
	odds := func(p float64) float64 { return p / (1 - p) * exposure2 / exposure1 }
	out.Interval = Interval{odds(split.Low), odds(split.High)}
	out.PHigher = binomialAtLeast(events1, total, share)
	out.PLower = binomialAtLeast(events2, total, 1-share)
	out.PDoubled = math.Min(1, 2*math.Min(out.PHigher, out.PLower))
	out.P = leastLikelihood(events1, total, share)
	return out
}

// leastLikelihood sums the probabilities of all counts that are no more
// likely than x. Equal likelihoods differ in their last bits when they are
// computed on the two sides, hence the hair of slack.
func leastLikelihood(x, n int, share float64) float64 {
	b := distuv.Binomial{N: float64(n), P: share}
	bound := b.LogProb(float64(x)) + 1e-7
	sum := 0.0
	for k := range n + 1 {
		if b.LogProb(float64(k)) <= bound {
			sum += b.Prob(float64(k))
		}
	}
	return math.Min(1, sum)
}
