package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a two-sided confidence interval, in the unit of its estimate.
type Interval struct {
	Low, High float64
}

// Times is the interval in another unit: both ends multiplied by factor.
func (i Interval) Times(factor float64) Interval {
	return Interval{i.Low * factor, i.High * factor}
}

// Garwood is the exact interval for the mean of a Poisson count of which
// events were seen, by quantiles of chi-square (Garwood, Biometrika 28, 1936).
// level is the coverage, 0.95 for 95 %: the interval holds the true mean at
// least so often, whatever the mean. It assumes that events come one by one
// and do not bring each other about. Divide by the exposure for a rate.
func Garwood(events int, level float64) Interval {
	tail := (1 - level) / 2
	n := float64(events)
	out := Interval{High: distuv.ChiSquared{K: 2 * (n + 1)}.Quantile(1-tail) / 2}
	if events > 0 { // no event is compatible with a rate of nothing
		out.Low = distuv.ChiSquared{K: 2 * n}.Quantile(tail) / 2
	}
	return out
}

// RateInterval is Garwood's interval for a rate: events over exposure. Without
// exposure nothing is known: from 0 to infinity.
func RateInterval(events int, exposure, level float64) Interval {
	if exposure <= 0 {
		return Interval{0, math.Inf(1)}
	}
	return Garwood(events, level).Times(1 / exposure)
}

// ClopperPearson is the exact interval for a share of which events out of
// trials were seen (Clopper and Pearson, Biometrika 26, 1934): it holds the
// true share at least as often as level says. Without trials it is [0, 1].
func ClopperPearson(events, trials int, level float64) Interval {
	tail := (1 - level) / 2
	x, n := float64(events), float64(trials)
	out := Interval{0, 1}
	if events > 0 {
		out.Low = distuv.Beta{Alpha: x, Beta: n - x + 1}.Quantile(tail)
	}
	if events < trials {
		out.High = distuv.Beta{Alpha: x + 1, Beta: n - x}.Quantile(1 - tail)
	}
	return out
}

// Wilson is the score interval for a share, without continuity correction
// (Wilson, JASA 22, 1927; method 3 of Newcombe, Statistics in Medicine 17,
// 1998). It covers the true share level of the time on the average over
// shares, not at least so often for each: ClopperPearson does that.
func Wilson(events, trials int, level float64) Interval {
	if trials == 0 {
		return Interval{0, 1}
	}
	z := distuv.UnitNormal.Quantile(1 - (1-level)/2)
	n := float64(trials)
	share := float64(events) / n
	middle := share + z*z/(2*n)
	half := z * math.Sqrt(share*(1-share)/n+z*z/(4*n*n))
	out := Interval{(middle - half) / (1 + z*z/n), (middle + half) / (1 + z*z/n)}
	// At the ends of the scale the formula gives 0 and 1 but for rounding.
	if events == 0 {
		out.Low = 0
	}
	if events == trials {
		out.High = 1
	}
	return out
}
