package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// GroupCount is what one group brings: events in an exposure (takeoffs).
type GroupCount struct {
	Events   int
	Exposure float64
}

// Prior is the gamma distribution of the groups' true rates. Mean is that of
// all groups together; Shape over Rate is the mean, and Rate is in takeoffs:
// how many takeoffs the knowledge of the other groups is worth.
type Prior struct {
	Mean, Shape, Rate float64
	// Pooled says that the groups differ no more than chance makes them; then
	// the prior weighs as much as all takeoffs together.
	Pooled bool
}

// EstimatePrior is by moments: the spread of the observed rates about the
// common one, weighted by exposure, less what Poisson counts of one common
// rate would spread. Wants some exposure; without events Mean is 0 and the
// shape is that of one half event, so that a rate of 0 is not taken as known.
func EstimatePrior(groups []GroupCount) Prior {
	events, exposure, squares := 0.0, 0.0, 0.0
	for _, g := range groups {
		events += float64(g.Events)
		exposure += g.Exposure
		squares += g.Exposure * g.Exposure
	}
	mean := events / exposure
	if events == 0 {
		return Prior{Mean: 0, Shape: 0.5, Rate: exposure, Pooled: true}
	}
	spread, used := 0.0, 0.0
	for _, g := range groups {
		if g.Exposure > 0 {
			spread += g.Exposure * math.Pow(float64(g.Events)/g.Exposure-mean, 2)
			used++
		}
	}
	// E[spread] = mean (k-1) + variance (exposure - squares/exposure).
	variance := 0.0
	if between := exposure - squares/exposure; between > 0 {
		variance = (spread - mean*(used-1)) / between
	}
	rate := exposure
	pooled := variance <= mean/exposure
	if !pooled {
		rate = mean / variance
	}
	return Prior{Mean: mean, Shape: mean * rate, Rate: rate, Pooled: pooled}
}

// Shrunken is the rate of a group in the light of all groups.
type Shrunken struct {
	Rate     float64  // mean of the posterior, per takeoff
	Interval Interval // the middle 90 % of the posterior
	// Higher is the probability that the group's true rate exceeds the
	// common rate of all groups.
	Higher float64
	shape  float64 // of the posterior
}

// Shrink is the posterior of one group: gamma, with the group's events and
// takeoffs added to those of the prior (conjugate). A group of few takeoffs
// is drawn towards the common rate, a large one speaks for itself.
func (p Prior) Shrink(g GroupCount) Shrunken {
	post := distuv.Gamma{Alpha: p.Shape + float64(g.Events), Beta: p.Rate + g.Exposure}
	return Shrunken{
		Rate: post.Mean(), Interval: Interval{post.Quantile(0.05), post.Quantile(0.95)},
		Higher: post.Survival(p.Mean), shape: post.Alpha,
	}
}
