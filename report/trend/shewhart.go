package trend

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// Limits are the lines of a control chart at one point.
type Limits struct {
	Low, Center, High float64
}

// Above and Below say whether a value lies outside. Both are strict: a value
// on the line is inside.
func (l Limits) Above(value float64) bool { return value > l.High }

// Below says whether a value lies under the lower line, strictly.
func (l Limits) Below(value float64) bool { return value < l.Low }

// CChart gives the lines for counts from equal exposures: the mean count plus
// and minus width times its square root, the lower one not under 0 (NIST
// e-Handbook 6.3.3.1, width 3). The square root stands for the spread of a
// Poisson count, and the normal shape of it is fair only from a mean of 5.
func CChart(counts []float64, width float64) Limits {
	center := stat.Mean(counts, nil)
	half := width * math.Sqrt(center)
	return Limits{math.Max(0, center-half), center, center + half}
}

// UChart gives the lines of each point for rates of events over exposures
// that differ. Points and exposures have the same length; a point without
// exposure has lines of NaN, as it has no rate. See CChart for the shape.
func UChart(counts, exposures []float64, width float64) []Limits {
	center := floats.Sum(counts) / floats.Sum(exposures)
	out := make([]Limits, len(counts))
	for i, exposure := range exposures {
		out[i] = rateLimits(center, exposure, width)
	}
	return out
}

// rateLimits are the normal lines about a rate for one exposure.
func rateLimits(rate, exposure, width float64) Limits {
	if exposure <= 0 {
		return Limits{math.NaN(), math.NaN(), math.NaN()}
	}
	half := width * math.Sqrt(rate/exposure)
	return Limits{math.Max(0, rate-half), rate, rate + half}
}

// PChart gives the lines of each point for shares of trials (NIST e-Handbook
// 6.3.3.2, width 3): the common share plus and minus width standard
// deviations of a binomial share, kept within 0 and 1.
func PChart(counts, trials []float64, width float64) []Limits {
	center := floats.Sum(counts) / floats.Sum(trials)
	out := make([]Limits, len(counts))
	for i, n := range trials {
		half := width * math.Sqrt(center*(1-center)/n)
		out[i] = Limits{math.Max(0, center-half), center, math.Min(1, center+half)}
	}
	return out
}

// Individuals gives the lines for single values (NIST e-Handbook 6.3.2.2):
// their mean plus and minus 3 standard deviations, estimated as the mean
// moving range over 1.128, the expected range of two normal values. It wants
// at least two values.
func Individuals(values []float64) (limits Limits, meanRange float64) {
	for i := 1; i < len(values); i++ {
		meanRange += math.Abs(values[i]-values[i-1]) / float64(len(values)-1)
	}
	center, half := stat.Mean(values, nil), 3*meanRange/1.128
	return Limits{center - half, center, center + half}, meanRange
}
