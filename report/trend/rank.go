package trend

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Drift is a rank test of whether values rise or fall over time, and by how
// much. It asks nothing of their distribution, but that they are independent:
// seasons are taken for a drift when less than whole years are tested.
type Drift struct {
	N int // values tested
	// S counts the pairs that rise less those that fall (Mann, Econometrica
	// 13, 1945); Z is S over its standard deviation, ties allowed for and one
	// taken off towards 0 for continuity. P is two-sided, by the normal law,
	// fair from 8 values; 1 with fewer than three.
	S    int
	Z, P float64
	// Slope is the median of the slopes of all pairs, per unit of time (Sen,
	// JASA 63, 1968), NaN with fewer than two values.
	Slope float64
}

// MannKendall tests values that were taken at times, both of one length and
// the times rising. (gonum's Kendall counts a tie as a rise or a fall, by its
// sign of zero, and medians of a quantised parameter tie often; so the pairs
// are counted here.)
func MannKendall(times, values []float64) Drift {
	out := Drift{N: len(values), P: 1, Slope: math.NaN()}
	var slopes []float64
	for j := range values {
		for i := range j {
			rise := values[j] - values[i]
			slopes = append(slopes, rise/(times[j]-times[i]))
			switch {
			case rise > 0:
				out.S++
			case rise < 0:
				out.S--
			}
		}
	}
	if len(slopes) > 0 {
		out.Slope = median(slopes)
	}
	deviation := math.Sqrt(rankVariance(values))
	if out.N < 3 || deviation == 0 || out.S == 0 {
		return out
	}
	toZero := math.Copysign(1, float64(out.S))
	out.Z = (float64(out.S) - toZero) / deviation
	out.P = math.Min(1, 2*distuv.UnitNormal.CDF(-math.Abs(out.Z)))
	return out
}

// rankVariance is the variance of S without trend, lessened by ties.
func rankVariance(values []float64) float64 {
	term := func(n float64) float64 { return n * (n - 1) * (2*n + 5) / 18 }
	variance := term(float64(len(values)))
	sorted := slices.Sorted(slices.Values(values))
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] == sorted[i] {
			j++
		}
		variance -= term(float64(j - i))
		i = j
	}
	return variance
}

// median is the middle value or the mean of the two middle ones. The two
// empirical quantiles of gonum at one half, from below and from above, are
// just these.
func median(values []float64) float64 {
	slices.Sort(values)
	low := stat.Quantile(0.5, stat.Empirical, values, nil)
	if len(values)%2 == 1 {
		return low
	}
	return (low + values[len(values)/2]) / 2
}
