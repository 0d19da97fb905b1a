package trend_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"rollonset/report/trend"
)

func TestFalseDiscovery(t *testing.T) {
	// By hand: p·m/rank from the largest down, never rising.
	p := []float64{0.04, 0.001, 0.03, 0.02, 0.9}
	want := []float64{0.05, 0.005, 0.05, 0.05, 0.9}
	for i, q := range trend.FalseDiscovery(p) {
		if math.Abs(q-want[i]) > 1e-12 {
			t.Errorf("q[%d] = %v, want %v", i, q, want[i])
		}
	}
	if got := trend.FalseDiscovery(nil); len(got) != 0 {
		t.Errorf("no tests: %v", got)
	}
}

// The moments give the spread of true rates back when there is one, and
// nothing but the common rate when there is none.
func TestEstimatePrior(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	const groups, rate = 400, 0.004
	var spread, alike []trend.GroupCount
	for range groups {
		exposure := 1000 + 4000*r.Float64()
		// Gamma of shape 2 as the sum of two exponentials.
		true2 := rate / 2 * (r.ExpFloat64() + r.ExpFloat64())
		spread = append(spread, trend.GroupCount{Events: poisson(r, true2*exposure), Exposure: exposure})
		alike = append(alike, trend.GroupCount{Events: poisson(r, rate*exposure), Exposure: exposure})
	}
	p := trend.EstimatePrior(spread)
	if math.Abs(p.Mean/rate-1) > 0.15 || p.Shape < 1.5 || p.Shape > 2.7 || p.Pooled {
		t.Errorf("prior %+v, want mean %v and shape 2", p, rate)
	}
	if p := trend.EstimatePrior(alike); p.Shape < 20 {
		t.Errorf("groups that are alike have a prior of shape %v", p.Shape)
	}
	if p := trend.EstimatePrior([]trend.GroupCount{{0, 500}, {0, 800}}); p.Mean != 0 || !(p.Shrink(trend.GroupCount{Events: 0, Exposure: 500}).Rate > 0) {
		t.Errorf("no events anywhere: %+v is taken as a known rate of 0", p)
	}
}

func TestShrink(t *testing.T) {
	// Posterior gamma(2+3, 1000+500): by hand, mean 5/1500.
	p := trend.Prior{Mean: 0.002, Shape: 2, Rate: 1000}
	got := p.Shrink(trend.GroupCount{Events: 3, Exposure: 500})
	near(t, "rate", got.Rate, 5.0/1500, 0)
	// P(gamma(5, 1500) > 0.002) = P(Poisson(3) <= 4) = 0.815263 (computed by
	// the sum of five terms); the interval ends likewise are chi-square of 10.
	near(t, "higher", got.Higher, math.Exp(-3)*(1+3+4.5+4.5+3.375), 0)
	near(t, "low", got.Interval.Low*3000, 3.9403, 1e-4)    // chi-square 10, 5 %: any table
	near(t, "high", got.Interval.High*3000, 18.3070, 1e-4) // 95 %
	// A small group is drawn to the rest, a large one is not.
	small := p.Shrink(trend.GroupCount{Events: 1, Exposure: 50}).Rate
	large := p.Shrink(trend.GroupCount{Events: 2000, Exposure: 100000}).Rate
	if small > 0.003 || math.Abs(large-0.02) > 0.001 {
		t.Errorf("small group %v, large group %v", small, large)
	}
}

// The 90 % intervals hold the true rates of the groups about so often.
func TestShrunkenIntervalsCover(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	covered, all := 0, 0
	for range 60 {
		var counts []trend.GroupCount
		var rates []float64
		for range 30 {
			rate := 0.004 / 3 * (r.ExpFloat64() + r.ExpFloat64() + r.ExpFloat64())
			rates = append(rates, rate)
			counts = append(counts, trend.GroupCount{Events: poisson(r, rate*2000), Exposure: 2000})
		}
		p := trend.EstimatePrior(counts)
		for i, c := range counts {
			got := p.Shrink(c).Interval
			all++
			if got.Low <= rates[i] && rates[i] <= got.High {
				covered++
			}
		}
	}
	if share := float64(covered) / float64(all); share < 0.87 || share > 0.93 {
		t.Errorf("90 %% intervals cover %.3f", share)
	}
}
