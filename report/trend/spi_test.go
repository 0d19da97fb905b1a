package trend_test

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/distuv"

	"rollonset/report/trend"
)

// The twelve monthly rates of sources-regulatory D, T1 (derived).
var spiYear = []float64{2.1, 1.8, 2.4, 2.0, 1.6, 2.2, 1.9, 2.5, 1.7, 2.3, 2.0, 1.5}

func TestSPILines(t *testing.T) {
	l := trend.NewSPILines(spiYear)
	near(t, "mean", l.Mean, 2.0000, 1e-4)
	near(t, "population SD", l.Deviation, 0.302765, 1e-6) // the sample SD 0.316228 is the usual mistake
	near(t, "+1 SD", l.One, 2.302765, 1e-6)
	near(t, "+2 SD", l.Two, 2.605530, 1e-6)
	near(t, "+3 SD", l.Three, 2.908295, 1e-6)
}

func TestSPICrossings(t *testing.T) {
	l := trend.SPILines{Mean: 2, Deviation: 1, One: 3, Two: 4, Three: 5}
	one, two, three := trend.SPIOneAboveThree, trend.SPITwoAboveTwo, trend.SPIThreeAboveOne
	for _, c := range []struct {
		name   string
		points []float64
		want   []trend.SPICrossing
	}{
		{"on the lines is not above", []float64{5, 4, 4, 3, 3, 3}, []trend.SPICrossing{{three, 0, 2}}},
		{"exactly on +1 SD", []float64{3, 3, 3, 3}, nil},
		{"one above +3 SD", []float64{2, 5.1, 2}, []trend.SPICrossing{{one, 1, 1}}},
		{"two above +2 SD, apart", []float64{4.5, 2, 4.5}, nil},
		{"two above +2 SD, together", []float64{4.5, 4.1, 2}, []trend.SPICrossing{{two, 0, 1}}},
		{"three above +1 SD", []float64{3.1, 3.2, 3.3, 2}, []trend.SPICrossing{{three, 0, 2}}},
		{"a run goes on", []float64{3.1, 3.2, 3.3, 3.4}, []trend.SPICrossing{{three, 0, 2}, {three, 1, 3}}},
		// The boundary: a run starts anew, two points of the year before do not help.
		{"first two of a period", []float64{3.1, 3.2}, nil},
		{"all rules in one month", []float64{3.5, 4.5, 5.5}, []trend.SPICrossing{{one, 2, 2}, {two, 1, 2}, {three, 0, 2}}},
	} {
		if diff := cmp.Diff(c.want, l.Crossings(c.points)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// The raw lines are crossed often when nothing has changed, the more so the
// smaller the counts: doc.go states the figures that are measured here, and
// that is why a crossing alone is no alert.
func TestSPIFalseAlarmsAreMany(t *testing.T) {
	for _, c := range []struct {
		mean      float64 // events a month
		low, high float64 // share of years with a crossing
	}{{1, 0.27, 0.33}, {5, 0.19, 0.25}, {20, 0.155, 0.215}} {
		const years = 4000
		r := rand.New(rand.NewPCG(1, uint64(c.mean)))
		p := distuv.Poisson{Lambda: c.mean, Src: r}
		year := func() []float64 {
			out := make([]float64, 12)
			for i := range out {
				out[i] = p.Rand()
			}
			return out
		}
		crossed := 0
		for range years {
			if len(trend.NewSPILines(year()).Crossings(year())) > 0 {
				crossed++
			}
		}
		share := float64(crossed) / years
		t.Logf("%v events a month: %.3f of years without change have a crossing", c.mean, share)
		if share < c.low || share > c.high {
			t.Errorf("%v events a month: %.3f of years, stated %v to %v", c.mean, share, c.low, c.high)
		}
	}
}
