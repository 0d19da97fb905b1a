package trend

import (
	"math"
	"testing"
)

func TestTails(t *testing.T) {
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		// By counting: 2 drawn of 3 marked and 2 others, none or one marked.
		{"hypergeometric 0", hypergeometricAtMost(0, 2, 3, 2), 1.0 / 10},
		{"hypergeometric 1", hypergeometricAtMost(1, 2, 3, 2), 7.0 / 10},
		{"hypergeometric 2", hypergeometricAtMost(2, 2, 3, 2), 1},
		{"hypergeometric impossible", hypergeometricAtMost(0, 4, 3, 2), 0},
		{"binomial", binomialAtLeast(2, 3, 0.5), 0.5},
		{"binomial all", binomialAtLeast(0, 3, 0.5), 1},
		{"binomial none", binomialAtLeast(4, 3, 0.5), 0},
		{"binomial certain", binomialAtLeast(3, 3, 1), 1},
		{"Poisson", poissonAtLeast(1, 2), 1 - math.Exp(-2)},
		{"Poisson all", poissonAtLeast(0, 2), 1},
		{"Poisson none", poissonAtLeast(1, 0), 0},
		// Far out there are still digits: 20 of 20 at one half.
		{"binomial far out", binomialAtLeast(40, 40, 0.5) * math.Exp2(40), 1},
		// X ~ Poisson(16), computed in check-values 1.1.
		{"Poisson(16) >= 31", poissonAtLeast(31, 16) / 5.67262e-04, 1},
	} {
		if math.Abs(c.got-c.want) > 1e-6 {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
}
