package trend_test

import (
	"math"
	"testing"

	"rollonset/report/trend"
)

func TestTakeoffs(t *testing.T) {
	for _, c := range []struct {
		n          float64
		many, once string
	}{
		{0.4, "about 0 takeoffs", "once in about 0 takeoffs"},
		{34.4, "about 34 takeoffs", "once in about 34 takeoffs"},
		{999, "about 1,000 takeoffs", "once in about 1,000 takeoffs"},
		{3449, "about 3,400 takeoffs", "once in about 3,400 takeoffs"},
		{159731, "about 160,000 takeoffs", "once in about 160,000 takeoffs"},
		{999999, "about 1 million takeoffs", "once in about 1 million takeoffs"},
		{12340000, "about 12 million takeoffs", "once in about 12 million takeoffs"},
		{1590000, "about 1.6 million takeoffs", "once in about 1.6 million takeoffs"},
		{159731190, "more than 100 million takeoffs", "less than once in 100 million takeoffs"},
		{math.Inf(1), "more than 100 million takeoffs", "less than once in 100 million takeoffs"},
		{math.NaN(), "a number of takeoffs that cannot be told", "once in a number of takeoffs that cannot be told"},
	} {
		if got := trend.Takeoffs(c.n); got != c.many {
			t.Errorf("Takeoffs(%v) = %q, want %q", c.n, got, c.many)
		}
		if got := trend.Once(c.n); got != c.once {
			t.Errorf("Once(%v) = %q, want %q", c.n, got, c.once)
		}
	}
}

func TestProbability(t *testing.T) {
	for _, c := range []struct {
		p    float64
		want string
	}{{0, "below 0.000001"}, {9.99e-7, "below 0.000001"}, {1e-6, "0.00000100"}, {0.0005126, "0.000513"}, {0.0996, "0.0996"}, {0.09996, "0.100"}, {0.9996, "1.00"}, {1, "1.00"}, {math.NaN(), "not told"}} {
		if got := trend.Probability(c.p); got != c.want {
			t.Errorf("Probability(%v) = %q, want %q", c.p, got, c.want)
		}
	}
}
