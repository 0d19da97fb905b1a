package trend

import "gonum.org/v1/gonum/stat"

// SPILines are the alert lines of a safety performance indicator (ICAO Doc
// 9859, 3rd ed., 4.3.5.8-9): mean of the preceding period's points plus one,
// two and three population standard deviations, frozen for the next period.
type SPILines struct {
	Points          int // the lines rest on so many points
	Mean, Deviation float64
	One, Two, Three float64
}

// NewSPILines makes the lines of the points of the preceding period, of which
// it wants at least two. The deviation is that of the population (divided by
// n), as the document has it. A month without exposure is no point of rate 0;
// it must not be among them.
func NewSPILines(points []float64) SPILines {
	mean, deviation := stat.PopMeanStdDev(points, nil)
	return SPILines{
		Points: len(points), Mean: mean, Deviation: deviation,
		One: mean + deviation, Two: mean + 2*deviation, Three: mean + 3*deviation,
	}
}

// The three rules of crossing the lines.
const (
	SPIOneAboveThree = "one month above the mean + 3 SD"
	SPITwoAboveTwo   = "two consecutive months above the mean + 2 SD"
	SPIThreeAboveOne = "three consecutive months above the mean + 1 SD"
)

// SPICrossing is one run of points that crossed the lines.
type SPICrossing struct {
	Rule string
	// First and Last are the indices of the run that completed the rule, both
	// within the points that were given to Crossings.
	First, Last int
}

// Crossings are the runs of the next period's points that meet a rule, each
// point that completes one, in the order of points and of rules. Above is
// strict. Runs begin with the first point given: the last points of the
// preceding period do not count, for they made the lines. Points are
// consecutive when no other point lies between them; a month without
// exposure is no point and neither continues nor breaks a run.
func (l SPILines) Crossings(points []float64) []SPICrossing {
	var out []SPICrossing
	rules := []struct {
		name   string
		line   float64
		length int
	}{{SPIOneAboveThree, l.Three, 1}, {SPITwoAboveTwo, l.Two, 2}, {SPIThreeAboveOne, l.One, 3}}
	runs := make([]int, len(rules))
	for i, point := range points {
		for r, rule := range rules {
			if point > rule.line {
				runs[r]++
			} else {
				runs[r] = 0
			}
			if runs[r] >= rule.length {
				out = append(out, SPICrossing{rule.name, i - rule.length + 1, i})
			}
		}
	}
	return out
}
