package trend

import (
	"cmp"
	"math"
	"slices"
)

// FalseDiscovery turns the p values of many tests into q values (Benjamini
// and Hochberg, JRSS B 57, 1995): among all tests with a q of at most x, no
// more than the share x are expected to be false, for tests that are
// independent or rise and fall together. The order is that of p.
func FalseDiscovery(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	q := make([]float64, len(p))
	// From the largest p down, so that q never falls as p rises.
	best := 1.0
	for rank := len(p); rank > 0; rank-- {
		i := order[rank-1]
		best = math.Min(best, p[i]*float64(len(p))/float64(rank))
		q[i] = best
	}
	return q
}
