package trend_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"rollonset/report/trend"
)

func logOf(x float64) float64 { return math.Log(x) }

func TestRunLengthIsThatOfTheFullSystem(t *testing.T) {
	for _, cells := range []int{1, 5, 16, 17, 40, 90} {
		for _, ratio := range []float64{0.6, 1, 2} {
			c := trend.EventSum{Factor: 2, Cells: cells}
			got, want := c.RunLength(ratio), denseRunLength(c, ratio)
			if math.Abs(got/want-1) > 1e-6 {
				t.Errorf("%d cells, ratio %v: %v, full system %v", cells, ratio, got, want)
			}
		}
	}
	// A signal at the first event: one event is expected to come after 1.
	if got := (trend.EventSum{Factor: 2, Cells: 1}).RunLength(1); math.Abs(got-1) > 0.05 {
		t.Errorf("signal at the first event after %v expected events, want 1", got)
	}
}

// The run lengths stated are those of single takeoffs: a Bernoulli sum, each
// takeoff an event with probability 1/500 or twice that.
func TestRunLengthBySimulation(t *testing.T) {
	const rate, runs = 1.0 / 500, 3000
	for _, c := range []struct {
		signal int // events
		ratio  float64
	}{{3, 1}, {4, 1}, {4, 2}, {6, 2}} {
		sum := trend.EventSum{Factor: 2, Cells: 16 * c.signal}
		r := rand.New(rand.NewPCG(7, uint64(c.signal)))
		total, squares := 0.0, 0.0
		for range runs {
			n := simulate(sum, rate, c.ratio, r)
			total += n
			squares += n * n
		}
		mean := total / runs
		deviation := math.Sqrt((squares/runs - mean*mean) / runs)
		stated := sum.RunLength(c.ratio) / rate
		t.Logf("signal %d, ratio %v: stated %.0f takeoffs, simulated %.0f ± %.0f", c.signal, c.ratio, stated, mean, deviation)
		// 3 standard errors of the simulation and 2 % for the cells.
		if math.Abs(mean-stated) > 3*deviation+0.02*stated {
			t.Errorf("signal %d, ratio %v: stated %.0f takeoffs, simulated %.0f ± %.0f", c.signal, c.ratio, stated, mean, deviation)
		}
	}
}

// simulate runs takeoff by takeoff, skipping those without event: between
// events the sum only falls.
func simulate(c trend.EventSum, rate, ratio float64, r *rand.Rand) float64 {
	sum, takeoffs := 0.0, 0.0
	for {
		gap := math.Ceil(math.Log(1-r.Float64()) / math.Log1p(-rate*ratio)) // takeoffs up to and with the event
		takeoffs += gap
		sum = c.Next(c.Next(sum, 0, (gap-1)*rate), 1, rate)
		if sum >= c.Signal() {
			return takeoffs
		}
	}
}

// Of sums tuned to a chance, with a reference estimated from few events, at
// most that share signals when nothing changes.
func TestTunedSumsHoldTheirChance(t *testing.T) {
	t.Parallel()
	const chance, expected, runs = 0.05, 20, 2000
	tuner := trend.NewTuner(2)
	r := rand.New(rand.NewPCG(3, 4))
	signals, watched := 0, 0
	for range runs {
		events := poisson(r, expected) // a baseline as long as the watch
		reference := (float64(events) + 0.5) / expected
		c, ok := tuner.Tune(expected*reference, chance, float64(events)+0.5)
		if !ok {
			continue
		}
		watched++
		sum := 0.0
		for left := expected * 1.0; ; {
			gap := r.ExpFloat64()
			if left -= gap; left < 0 {
				break
			}
			if sum = c.Next(c.Next(sum, 0, gap*reference), 1, 0); sum >= c.Signal() {
				signals++
				break
			}
		}
	}
	share := float64(signals) / float64(watched)
	t.Logf("%d of %d watched, %.4f signal falsely; bound %v", watched, runs, share, chance)
	if share > chance+3*math.Sqrt(chance/runs) {
		t.Errorf("%.4f of sums signal falsely, bound %v", share, chance)
	}
	if share < chance/10 || watched < runs/2 {
		t.Errorf("%d watched, %.4f false signals: the sums are blunter than they need be", watched, share)
	}
	if _, ok := tuner.Tune(20, 1e-5, 0.5); ok {
		t.Error("a baseline without event was found fit to be watched")
	}
	known := tuner.FalseChance(trend.EventSum{Factor: 2, Cells: 80}, 20, math.Inf(1))
	if one := tuner.FalseChance(trend.EventSum{Factor: 2, Cells: 80}, 20, 12); one <= known {
		t.Errorf("an estimated reference gives %v false signals, a known one %v", one, known)
	}
}

func poisson(r *rand.Rand, mean float64) int {
	n := 0
	for left := mean - r.ExpFloat64(); left > 0; left -= r.ExpFloat64() {
		n++
	}
	return n
}
