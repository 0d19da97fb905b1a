package trend_test

import (
	"math"
	"testing"

	"rollonset/report/trend"
)

func TestGarwood(t *testing.T) {
	// Spot values printed in textbooks, read or read-2nd.
	for _, c := range []struct {
		n               int
		level, low, hi  float64
		lowUnit, hiUnit float64
	}{
		{0, 0.95, 0, 3.689, 0, 1e-3},
		{1, 0.95, 0.0253, 5.572, 1e-4, 1e-3},
		{2, 0.95, 0.242, 7.225, 1e-3, 1e-3},
		{3, 0.95, 0.619, 8.767, 1e-3, 1e-3},
		{4, 0.95, 1.090, 10.242, 1e-3, 1e-3},
		{5, 0.95, 1.623, 11.668, 1e-3, 1e-3},
		{10, 0.95, 4.795, 18.390, 1e-3, 1e-3},
		{20, 0.95, 12.217, 30.888, 1e-3, 1e-3},
		{100, 0.95, 81.364, 121.627, 1e-3, 1e-3},
		{3, 0.90, 0.8177, 7.7537, 1e-4, 1e-4},
		// The rest of the table is computed.
		{5, 0.99, 1.0779, 14.1498, 1e-4, 1e-4},
		{50, 0.90, 38.9647, 63.2871, 1e-4, 1e-4},
		{500, 0.95, 457.1286, 545.8093, 1e-4, 1e-4},
		{1000, 0.99, 920.4240, 1084.3729, 1e-4, 1e-4},
	} {
		got := trend.Garwood(c.n, c.level)
		near(t, "low", got.Low, c.low, c.lowUnit)
		near(t, "high", got.High, c.hi, c.hiUnit)
	}
	// Closed forms: -log(alpha/2) above no event, -log(1-alpha/2) below one.
	near(t, "0 at 95 %", trend.Garwood(0, 0.95).High, -math.Log(0.025), 0)
	near(t, "0 at 90 %", trend.Garwood(0, 0.90).High, 2.9957323, 1e-7)
	near(t, "1 at 95 %", trend.Garwood(1, 0.95).Low, -math.Log(0.975), 0)
}

func TestRateInterval(t *testing.T) {
	for _, c := range []struct {
		n                    int
		exposure             float64
		rate, low, hi, digit float64
	}{
		{14, 400, 0.035, 0.019135, 0.058724, 1e-6},          // read
		{196, 280, 0.7, 0.6054271, 0.8051570, 1e-7},         // horse kicks, read
		{137, 24.19893, 5.661407, 4.753125, 6.692709, 1e-6}, // nickel workers, read
		{18, 8.7719, 2.05, 1.2161, 3.2431, 1e-4},            // per 10,000; rate read, interval computed
	} {
		got := trend.RateInterval(c.n, c.exposure, 0.95)
		near(t, "low", got.Low, c.low, c.digit)
		near(t, "high", got.High, c.hi, c.digit)
	}
	// T5: "Byar" names two formulas, so there is none here. The one-sided
	// 95 % lower limit of the horse kicks is that of a 90 % interval; read.
	near(t, "one-sided", trend.RateInterval(196, 280, 0.90).Low, 0.6198372, 1e-7)
	if got := trend.RateInterval(0, 0, 0.95); got.Low != 0 || !math.IsInf(got.High, 1) {
		t.Errorf("no exposure: %v, want from 0 to infinity", got)
	}
}

func TestRateRatio(t *testing.T) {
	got := trend.RateRatio(11, 800, 21, 3011, 0.95) // read-2nd, statistics-package output
	near(t, "ratio", got.Ratio, 1.971488, 1e-6)
	near(t, "low", got.Interval.Low, 0.8584264, 1e-7)
	near(t, "high", got.Interval.High, 4.2772659, 1e-7)
	// T6: two exact p of the same data; the report names which it prints.
	near(t, "p by least likelihood", got.P, 0.07967, 1e-5)
	near(t, "p doubled", got.PDoubled, 0.112017, 1e-6)
	got = trend.RateRatio(25, 1000, 25, 1000, 0.95) // read-2nd
	near(t, "low", got.Interval.Low, 0.55104408, 1e-8)
	near(t, "high", got.Interval.High, 1.81473686, 1e-8)
	near(t, "p of equals", got.P, 1, 0)

	if got := trend.RateRatio(0, 100, 0, 100, 0.95); !math.IsNaN(got.Ratio) || got.P != 1 {
		t.Errorf("no events: %+v, want nothing known", got)
	}
	if got := trend.RateRatio(3, 100, 0, 100, 0.95); !math.IsInf(got.Ratio, 1) || !math.IsInf(got.Interval.High, 1) {
		t.Errorf("events in the first only: %+v", got)
	}
	if got := trend.RateRatio(3, 0, 2, 100, 0.95); !math.IsNaN(got.Ratio) || got.PHigher != 1 {
		t.Errorf("no exposure: %+v", got)
	}
}

func TestBinomialIntervals(t *testing.T) {
	// Newcombe (1998), table I, read-2nd, five transcriptions agree.
	for _, c := range []struct {
		x, n                    int
		wilsonLow, wilsonHigh   float64
		clopperLow, clopperHigh float64
	}{
		{81, 263, 0.2553, 0.3662, 0.2527, 0.3676},
		{15, 148, 0.0624, 0.1605, 0.0578, 0.1617},
		{0, 20, 0.0000, 0.1611, 0.0000, 0.1684},
		{1, 29, 0.0061, 0.1718, 0.0009, 0.1776},
	} {
		w, p := trend.Wilson(c.x, c.n, 0.95), trend.ClopperPearson(c.x, c.n, 0.95)
		near(t, "Wilson low", w.Low, c.wilsonLow, 1e-4)
		near(t, "Wilson high", w.High, c.wilsonHigh, 1e-4)
		near(t, "Clopper-Pearson low", p.Low, c.clopperLow, 1e-4)
		near(t, "Clopper-Pearson high", p.High, c.clopperHigh, 1e-4)
	}
	// Computed: the corners and rare events.
	near(t, "0/10", trend.Wilson(0, 10, 0.95).High, 0.27753280, 1e-8)
	near(t, "10/10", trend.Wilson(10, 10, 0.95).Low, 0.72246720, 1e-8)
	near(t, "20/20", trend.ClopperPearson(20, 20, 0.95).Low, 0.83156653, 1e-8)
	near(t, "490/500", trend.ClopperPearson(490, 500, 0.95).High, 0.99036857, 1e-8)
	near(t, "3/10000", trend.ClopperPearson(3, 10000, 0.95).Low, 0.00006187, 1e-8)
	near(t, "1/100000", trend.Wilson(1, 100000, 0.95).High, 0.00005665, 1e-8)
	// NIST 7.2.4.2: 4 of 20 at 90 %, setup read, result computed.
	near(t, "4/20 low", trend.ClopperPearson(4, 20, 0.90).Low, 0.071354, 1e-6)
	near(t, "4/20 high", trend.ClopperPearson(4, 20, 0.90).High, 0.401028, 1e-6)
	for _, got := range []trend.Interval{trend.Wilson(0, 0, 0.95), trend.ClopperPearson(0, 0, 0.95)} {
		if got != (trend.Interval{Low: 0, High: 1}) {
			t.Errorf("no trials: %v, want the whole scale", got)
		}
	}
}
