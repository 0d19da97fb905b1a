package trend_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"rollonset/report/trend"
)

// near compares with a printed number: half a unit of its last digit, for
// half-way ties are printed either way (14.445 as 14.44, 19.035 as 19.04).
func near(t *testing.T, what string, got, printed, unit float64) {
	t.Helper()
	if !(math.Abs(got-printed) <= unit/2+1e-9) {
		t.Errorf("%s = %.10g, published %v to within %g", what, got, printed, unit/2)
	}
}

// Counts of NIST e-Handbook 6.3.3.1, 25 wafers (read-2nd).
var wafers = []float64{16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13}

func outside(values []float64, limits func(int) trend.Limits) (high, low []int) {
	for i, v := range values {
		if limits(i).Above(v) {
			high = append(high, i+1)
		}
		if limits(i).Below(v) {
			low = append(low, i+1)
		}
	}
	return high, low
}

func equal(t *testing.T, what string, got []int, want ...int) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %v, want %v", what, got, want)
		return
	}
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
}

func TestCChartWafers(t *testing.T) {
	l := trend.CChart(wafers, 3)
	// Centre 16, UCL 28, LCL 4: NIST 6.3.3.1, read-2nd.
	near(t, "centre", l.Center, 16, 0)
	near(t, "UCL", l.High, 28, 0)
	near(t, "LCL", l.Low, 4, 0)
	// T18: wafer 3 lies on the UCL exactly and is not above it; computed.
	high, low := outside(wafers, func(int) trend.Limits { return l })
	equal(t, "above", high, 24)
	equal(t, "below", low)
	// Without wafer 24: CL 15.375, UCL 27.13829, LCL 3.61171, and wafer 3 is
	// out; computed.
	rest := append(append([]float64{}, wafers[:23]...), wafers[24])
	l = trend.CChart(rest, 3)
	near(t, "centre of 24", l.Center, 15.375, 0)
	near(t, "UCL of 24", l.High, 27.13829, 1e-5)
	near(t, "LCL of 24", l.Low, 3.61171, 1e-5)
	high, _ = outside(rest, func(int) trend.Limits { return l })
	equal(t, "above of 24", high, 3)
}

func TestCChartBoards(t *testing.T) {
	// Circuit boards, Montgomery, read-2nd: CL 19.84615, UCL 33.21086, LCL 6.481447.
	boards := []float64{21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15}
	l := trend.CChart(boards, 3)
	near(t, "CL", l.Center, 19.84615, 1e-5)
	near(t, "UCL", l.High, 33.21086, 1e-5)
	near(t, "LCL", l.Low, 6.481447, 1e-6)
	high, low := outside(boards, func(int) trend.Limits { return l })
	equal(t, "above", high, 20)
	equal(t, "below", low, 6)
}

func TestPoissonLimits(t *testing.T) {
	// X ~ Poisson(16), computed: P(X>28) 0.002189, P(X>=28) 0.004105,
	// P(X<4) 9.3142e-05, P(X<=4) 4.00438e-04.
	for _, c := range []struct{ tail, low, high float64 }{
		{0.0022, -1, 28},
		{0.002188, -1, 29},
		{0.0041051, -1, 27},
		{9.3e-5, 3, -1},
		{9.4e-5, 4, -1},
		{4.1e-4, 5, -1},
	} {
		l := trend.PoissonLimits(16, c.tail)
		if c.low >= 0 && l.Low != c.low || c.high >= 0 && l.High != c.high { // -1: no figure
			t.Errorf("tail %v: %v to %v, want %v to %v", c.tail, l.Low, l.High, c.low, c.high)
		}
	}
	// A rare event has no lower line, and its first count may be no surprise.
	if l := trend.PoissonLimits(0.5, trend.ThreeSigma); l.Low != 0 || l.High != 4 {
		t.Errorf("mean 0.5: %+v", l)
	}
	if l := trend.PoissonLimits(0, trend.ThreeSigma); l.Low != 0 || l.High != 0 {
		t.Errorf("mean 0: %+v", l)
	}
}

func TestPChartWafers(t *testing.T) {
	// NIST 6.3.3.2, 30 wafers of 50 chips, read-2nd; p-bar .2313 read.
	counts := []float64{12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6}
	trials, shares := make([]float64, 30), make([]float64, 30)
	for i := range counts {
		trials[i], shares[i] = 50, counts[i]/50
	}
	l := trend.PChart(counts, trials, 3)
	near(t, "p-bar", l[0].Center, 0.2313333, 1e-7)
	near(t, "UCL", l[0].High, 0.4102391, 1e-7) // T2: printed 0.4103 in one transcription
	near(t, "LCL", l[0].Low, 0.05242755, 1e-8)
	high, low := outside(shares, func(i int) trend.Limits { return l[i] })
	equal(t, "above", high, 15, 23) // memory, computed
	equal(t, "below", low)
}

func TestUChart(t *testing.T) {
	// Fabric, 20 rolls of 30 units, read: u-bar 0.30333, LCL .001671271, UCL
	// 0.60500. T10: the _ALPHA_ that the page prints is not used.
	counts := []float64{12, 11, 9, 15, 7, 6, 5, 10, 8, 8, 14, 5, 9, 13, 7, 5, 8, 11, 7, 12}
	sizes := make([]float64, 20)
	for i := range sizes {
		sizes[i] = 30
	}
	l := trend.UChart(counts, sizes, 3)[0]
	near(t, "u-bar", l.Center, 0.30333, 1e-5)
	near(t, "LCL", l.Low, 0.001671271, 1e-9)
	near(t, "UCL", l.High, 0.60500, 1e-5)

	// Fabrics2, 25 rolls of differing size, data read, limits computed.
	counts = []float64{7, 11, 15, 6, 11, 15, 5, 10, 8, 3, 3, 14, 3, 9, 7, 6, 7, 5, 14, 13, 11, 6, 6, 9, 11}
	sizes = []float64{30.0, 27.6, 30.4, 34.8, 26.0, 28.6, 28.0, 30.2, 28.2, 31.4, 30.3, 27.8, 27.0, 30.0, 32.1, 34.8, 26.5, 30.0, 31.3, 31.6, 29.4, 28.6, 27.5, 32.6, 31.7}
	lines := trend.UChart(counts, sizes, 3)
	near(t, "u-bar", lines[0].Center, 0.2880493, 1e-7)
	for _, c := range []struct {
		i         int
		low, high float64
	}{{1, 0, 0.582013}, {4, 0.015111, 0.560988}, {10, 0.000713, 0.575385}, {24, 0.006051, 0.570047}, {25, 0.002076, 0.574022}} {
		near(t, "LCL", lines[c.i-1].Low, c.low, 1e-6)
		near(t, "UCL", lines[c.i-1].High, c.high, 1e-6)
	}
	rates := make([]float64, len(counts))
	for i := range rates {
		rates[i] = counts[i] / sizes[i]
	}
	high, low := outside(rates, func(i int) trend.Limits { return lines[i] })
	equal(t, "above", high)
	equal(t, "below", low)

	// Dyed cloth, Montgomery, read-2nd; limits computed. T3: the copy with
	// the sizes rounded to whole numbers gives 1.40367 and is wrong.
	counts = []float64{14, 12, 20, 11, 7, 10, 21, 16, 19, 23}
	sizes = []float64{10.0, 8.0, 13.0, 10.0, 9.5, 10.0, 12.0, 10.5, 12.0, 12.5}
	lines = trend.UChart(counts, sizes, 3)
	near(t, "u-bar", lines[0].Center, 1.4232558, 1e-7)
	near(t, "LCL 13", lines[2].Low, 0.4306, 1e-4)
	near(t, "UCL 8", lines[1].High, 2.6886, 1e-4)
	near(t, "UCL 12.5", lines[9].High, 2.4356, 1e-4)
	if l := trend.UChart([]float64{1, 0}, []float64{10, 0}, 3)[1]; !math.IsNaN(l.High) || l.Above(5) || l.Below(-1) {
		t.Errorf("a month without exposure has limits: %+v", l)
	}
}

func TestEWMA(t *testing.T) {
	// NIST 6.3.2.4, three transcriptions agree: lambda 0.3, target 50, s 2.0539.
	x := []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	printed := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	l := trend.EWMALimits(50, 2.0539, 0.3, 3, 0)
	near(t, "UCL", l.High, 52.5884, 1e-4)
	// T2: the printed LCL 47.4115 comes from a factor rounded to 0.4201; exact:
	near(t, "LCL", l.Low, 47.411568, 1e-6)
	for i, z := range trend.EWMA(x, 50, 0.3) {
		near(t, "z", z, printed[i], 0.01)
		if l.Above(z) || l.Below(z) {
			t.Errorf("point %d signals; none is published", i+1)
		}
	}
	for i, half := range map[int]float64{1: 1.848510, 2: 2.256394, 3: 2.431406, 5: 2.551611, 10: 2.587399, 20: 2.588431} { // computed
		near(t, "half width", trend.EWMALimits(0, 2.0539, 0.3, 3, i).High, half, 1e-6)
	}
}

func TestTabularCUSUM(t *testing.T) {
	// NIST 6.3.2.3, three transcriptions agree: target 325, k 0.3175, h 4.1959.
	x := []float64{324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350}
	high := []float64{0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04} // T1: ties
	low := []float64{0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	for i, s := range (trend.Tabular{Target: 325, Slack: 0.3175, Signal: 4.1959}).Run(x) {
		near(t, "S_hi", s.High, high[i], 0.01)
		near(t, "S_lo", s.Low, low[i], 0.01)
		if s.AlarmHigh != (i >= 13) || s.AlarmLow { // signals at groups 14-20, read-2nd
			t.Errorf("group %d: signals %v, %v", i+1, s.AlarmHigh, s.AlarmLow)
		}
	}
}

func TestIndividuals(t *testing.T) {
	// NIST 6.3.2.2, two transcriptions agree.
	l, mr := trend.Individuals([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	near(t, "mean", l.Center, 50.81, 0.01)
	near(t, "moving range", mr, 1.8778, 1e-4)
	near(t, "UCL", l.High, 55.8041, 1e-4)
	near(t, "LCL", l.Low, 45.8159, 1e-4)
	// Valve failures, Montgomery, data memory, limits computed: hours to the
	// power 0.2777 on an individuals chart (1.128 printed for the divisor).
	hours := []float64{286, 948, 536, 124, 816, 729, 4, 143, 431, 8, 2837, 596, 81, 227, 603, 492, 1199, 1214, 2831, 96}
	for i := range hours {
		hours[i] = math.Pow(hours[i], 0.2777)
	}
	l, mr = trend.Individuals(hours)
	near(t, "mean", l.Center, 5.38662, 1e-5)
	near(t, "moving range", mr, 2.35921, 1e-5)
	near(t, "UCL", l.High, 11.66112, 1e-5)
	near(t, "LCL", l.Low, -0.88787, 1e-5)
}

func TestGeometricChart(t *testing.T) {
	// Dates read (adapted from Benneyan 1998), gaps and limits computed.
	gaps := []float64{0, 0, 2, 1, 13, 2, 0, 1, 1, 1, 1, 0, 1, 1, 16, 0, 1, 1, 2, 10, 1, 1, 2, 2, 0, 2, 3, 0}
	g := trend.GeometricChart(gaps)
	near(t, "mean", g.Mean, 2.321429, 1e-6)
	near(t, "p", g.P, 0.301075, 1e-6)
	near(t, "p unbiased", g.PUnbiased, 0.293478, 1e-6)
	near(t, "UCL", g.Sigma.High, 10.651743, 1e-6)
	near(t, "LCL", g.Sigma.Low, 0, 0)
	high, _ := outside(gaps, func(int) trend.Limits { return g.Sigma })
	equal(t, "above", high, 5, 15) // gaps 13 and 16
	near(t, "quantile", trend.GeometricQuantile(g.P, 0.99865), 18, 0)
	near(t, "quantile unbiased", trend.GeometricQuantile(g.PUnbiased, 0.99865), 19, 0)
	if g.Exact.High != 18 || g.Exact.Low != 0 {
		t.Errorf("exact limits %+v", g.Exact)
	}
	if one := trend.GeometricChart([]float64{4}); !math.IsNaN(one.PUnbiased) {
		t.Errorf("one gap has an unbiased p: %v", one.PUnbiased)
	}
}

func TestExponentialLimits(t *testing.T) {
	// Days between, Santiago and Smith (2013), data read, limits computed.
	days := []float64{
		0.57014, 0.07431, 0.15278, 0.14583, 0.13889, 0.14931, 0.03333, 0.08681, 0.33681, 0.03819, 0.24653, 0.29514, 0.11944, 0.05208, 0.12500,
		0.25000, 0.40069, 0.02500, 0.12014, 0.11458, 0.00347, 0.12014, 0.04861, 0.02778, 0.32639, 0.64931, 0.14931, 0.01389, 0.03819, 0.46806,
		0.22222, 0.29514, 0.53472, 0.15139, 0.52569, 0.07986, 0.27083, 0.04514, 0.13542, 0.08681, 0.40347, 0.12639, 0.18403, 0.70833, 0.15625,
		0.24653, 0.04514, 0.01736, 1.08889, 0.05208, 0.02778, 0.03472, 0.23611, 0.35972,
	}
	mean := stat.Mean(days, nil)
	near(t, "mean", mean, 0.2102624, 1e-7)
	l := trend.ExponentialLimits(mean, 0.00135)
	high, low := outside(days, func(int) trend.Limits { return l })
	equal(t, "above", high)
	equal(t, "below", low)
	near(t, "low", l.Low, 0.0002840, 1e-7)
	near(t, "median", l.Center, 0.145743, 1e-6) // T4: m ln 2, not ln 2
	near(t, "high", l.High, 1.389341, 1e-6)
}

func TestEventTimes(t *testing.T) {
	// NIST 8.2.3.4, data read-2nd, results computed unless said.
	got := trend.TestEventTimes([]float64{5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478}, 1500)
	if got.Reversals != 33 || got.ReversalsMean != 22.5 {
		t.Errorf("reversals %d of %v expected", got.Reversals, got.ReversalsMean)
	}
	near(t, "chi-square", got.ChiSquare, 37.228081, 1e-6)
	near(t, "P(chi-square)", got.PChi, 0.989014, 1e-6)
	near(t, "Laplace", got.Laplace, -1.326949, 1e-6)
	near(t, "P(Laplace)", got.PLaplace, 0.092263, 1e-6)
	near(t, "growth", got.Growth, 0.516494, 1e-6)  // read-2nd, there named beta
	near(t, "scale", got.Scale, 0.2913003, 1e-7)   // read-2nd
	near(t, "between", got.Between, 310.234, 1e-3) // read-2nd
}
