package trend_test

import (
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rollonset/report/trend"
)

// 95 % means at least 95 % for the exact intervals, for every true mean: the
// coverage is summed exactly, so no chance is left in the test.
func TestGarwoodCovers(t *testing.T) {
	limits := make([]trend.Interval, 120)
	for n := range limits {
		limits[n] = trend.Garwood(n, 0.95)
	}
	for mean := 0.05; mean < 40; mean *= 1.03 {
		covered, p := 0.0, distuv.Poisson{Lambda: mean}
		for n, l := range limits {
			if l.Low <= mean && mean <= l.High {
				covered += p.Prob(float64(n))
			}
		}
		if covered < 0.95-1e-9 {
			t.Errorf("mean %.3f is covered %.4f of the time", mean, covered)
		}
	}
}

func TestClopperPearsonCovers(t *testing.T) {
	const n = 60
	least, wilson := 1.0, 1.0
	for share := 0.002; share < 1; share += 0.004 {
		exact, score := 0.0, 0.0
		p := distuv.Binomial{N: n, P: share}
		for x := range n + 1 {
			if l := trend.ClopperPearson(x, n, 0.95); l.Low <= share && share <= l.High {
				exact += p.Prob(float64(x))
			}
			if l := trend.Wilson(x, n, 0.95); l.Low <= share && share <= l.High {
				score += p.Prob(float64(x))
			}
		}
		least, wilson = min(least, exact), min(wilson, score)
	}
	if least < 0.95 {
		t.Errorf("exact interval covers %.4f at its worst", least)
	}
	// The score interval is not exact, as its text says.
	if wilson >= 0.95 || wilson < 0.80 {
		t.Errorf("score interval covers %.4f at its worst, expected below 0.95", wilson)
	}
}

// Limits and prediction limits hold their probability for every mean.
func TestLimitsHoldTheirTail(t *testing.T) {
	const tail = 0.01
	for mean := 0.1; mean < 60; mean *= 1.2 {
		l, p := trend.PoissonLimits(mean, tail), distuv.Poisson{Lambda: mean}
		if above := 1 - p.CDF(l.High); above > tail+1e-12 {
			t.Errorf("mean %.2f: %.4f above", mean, above)
		}
		if above := 1 - p.CDF(l.High-1); l.High > 0 && above <= tail {
			t.Errorf("mean %.2f: limit %v is not the tightest", mean, l.High)
		}
		if below := p.CDF(l.Low - 1); below > tail+1e-12 {
			t.Errorf("mean %.2f: %.4f below", mean, below)
		}
		// A baseline of five times the exposure, itself by chance.
		above := 0.0
		base := distuv.Poisson{Lambda: 5 * mean}
		for b := range 600 {
			if w := base.Prob(float64(b)); w > 1e-12 {
				above += w * (1 - p.CDF(trend.PredictionLimit(b, 5, 1, tail)))
			}
		}
		if above > tail+1e-9 {
			t.Errorf("mean %.2f: prediction limit is exceeded %.5f of the time", mean, above)
		}
	}
	for _, share := range []float64{0.01, 0.2, 0.7} {
		l, p := trend.BinomialLimits(50, share, tail), distuv.Binomial{N: 50, P: share}
		if above, below := 1-p.CDF(l.High), p.CDF(l.Low-1); above > tail+1e-12 || below > tail+1e-12 {
			t.Errorf("share %v: %v above, %v below", share, above, below)
		}
		if next := p.CDF(l.Low); next <= tail {
			t.Errorf("share %v: lower limit %v is not the tightest", share, l.Low)
		}
	}
}

// denseRunLength solves the same chain as a full system with gonum.
func denseRunLength(c trend.EventSum, ratio float64) float64 {
	const cells = 16
	step := 1 / (cells * (c.Factor - 1) / logOf(c.Factor))
	p := distuv.Poisson{Lambda: ratio * step}
	a, b := mat.NewDense(c.Cells, c.Cells, nil), mat.NewVecDense(c.Cells, nil)
	for s := range c.Cells {
		a.Set(s, s, 1)
		b.SetVec(s, 1)
		for k := range 12 {
			if to := max(s-1, 0) + k*cells; to < c.Cells {
				a.Set(s, to, a.At(s, to)-p.Prob(float64(k)))
			}
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		panic(err)
	}
	return x.AtVec(0) * step
}
