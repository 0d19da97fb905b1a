package whatif

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// TestJudgeNeverSaysMoreThanItKnows: for a range with edges, whatever was
// flown, a certain verdict is the true one.
func TestJudgeNeverSaysMoreThanItKnows(t *testing.T) {
	decided, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		low, high := 0.0, 10.0
		switch rapid.IntRange(0, 2).Draw(t, "sides") {
		case 0:
			low = math.Inf(-1)
		case 1:
			high = math.Inf(1)
		}
		values := rapid.SliceOfN(rapid.Float64Range(-3, 13), 1, 4).Draw(t, "values")
		l := limits{Min: rapid.SampledFrom([]float64{math.NaN(), -1, 0, 1.5}).Draw(t, "min"), Max: rapid.SampledFrom([]float64{math.NaN(), 8.5, 10, 11}).Draw(t, "max"), Margin: math.NaN()}
		out := func(low, high float64) bool {
			for _, v := range values {
				if v < low || v > high {
					return true
				}
			}
			return false
		}
		f := archive.FindingView{State: "within limits", Value: values[0], LimitLow: low, LimitHigh: high, Worst: math.Inf(1)}
		if math.IsInf(low, 0) {
			f.LimitLow = math.NaN()
		}
		if math.IsInf(high, 0) {
			f.LimitHigh = math.NaN()
		}
		if out(low, high) {
			f.State = "out of limits"
		}
		margin := func(v float64) float64 { return math.Min(v-low, high-v) }
		f.Margin = margin(values[0])
		for _, v := range values {
			f.Worst = math.Min(f.Worst, margin(v))
		}
		truth := out(instead(l.Min, low), instead(l.Max, high))
		got := l.judge(&f, &profile.Check{SpeedTo: math.Inf(1)})
		all++
		if got != perhaps {
			decided++
		}
		if got == surely && !truth || got == no && truth {
			t.Fatalf("verdict %d, truth %v: values %v in [%v, %v], changed %+v", got, truth, values, low, high, l)
		}
	})
	if decided*2 < all {
		t.Errorf("only %d of %d verdicts are certain", decided, all)
	}
}

// TestPersistenceMakesAnInstantUncertain: an instant out of limits is an
// event only where nothing must last.
func TestPersistenceMakesAnInstantUncertain(t *testing.T) {
	f := archive.FindingView{State: "within limits", Value: 1, LimitLow: math.NaN(), LimitHigh: 2, Margin: 1, Worst: 0.2}
	l := limits{Min: math.NaN(), Max: 1.5, Margin: math.NaN()}
	rule := &profile.Check{SpeedTo: math.Inf(1)}
	if got := l.judge(&f, rule); got != surely {
		t.Errorf("without persistence the verdict is %d", got)
	}
	rule.Persistence = 2 * time.Second
	if got := l.judge(&f, rule); got != perhaps {
		t.Errorf("with persistence the verdict is %d", got)
	}
	if got := l.judge(&f, nil); got != perhaps {
		t.Errorf("without profile the verdict is %d", got)
	}
}
