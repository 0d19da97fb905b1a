package trend_test

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rollonset/report/trend"
)

// Worked by hand: 2 in 100 a month for six months, then 6 in 100. Splitting at
// the seventh month gives 12 ln(12/600) + 36 ln(36/600), the largest.
func TestBeginOfAStep(t *testing.T) {
	first := trend.Month(12 * 2031)
	told := []int{100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100}
	got := trend.BeginOf(first, []int{2, 2, 2, 2, 2, 2, 6, 6, 6, 6, 6, 6}, told)
	if got.Likely != first+6 || got.From > first+6 || got.To < first+6 || got.From < first+3 || got.To > first+9 {
		t.Errorf("begins in month %d (%d to %d), want 6", got.Likely-first, got.From-first, got.To-first)
	}
	for _, c := range []struct {
		name   string
		events []int
	}{
		{"no event", make([]int, 12)},
		{"a fall", []int{6, 6, 6, 6, 6, 6, 2, 2, 2, 2, 2, 2}},
		{"as it was", []int{3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3}},
	} {
		b := trend.BeginOf(first, c.events, told)
		if c.name != "a fall" && b.Known() {
			t.Errorf("%s begins in month %d", c.name, b.Likely-first)
		}
		if c.name == "a fall" && b.Known() && b.Likely < first+1 {
			t.Errorf("a fall begins in month %d", b.Likely-first)
		}
	}
	if b := trend.BeginOf(first, nil, nil); b.Known() {
		t.Errorf("no month begins in month %d", b.Likely)
	}
}

// TestBeginHoldsTheTrueMonth counts, for rises as large as alerts are raised for,
// how often the months that are named hold the one in which the rate rose. The
// seed is fixed, so the share is the same in every run.
func TestBeginHoldsTheTrueMonth(t *testing.T) {
	for _, c := range []struct{ before, after float64 }{{2.2, 4.4}, {2.2, 6}, {8, 13}, {20, 30}} {
		rnd := rand.New(rand.NewPCG(5, 7))
		held, width := 0, 0
		const runs, months, rise = 2000, 36, 24
		for range runs {
			events, told := make([]int, months), make([]int, months)
			for i := range events {
				rate := c.before
				if i >= rise {
					rate = c.after
				}
				events[i], told[i] = int(distuv.Poisson{Lambda: rate, Src: rnd}.Rand()), 700
			}
			b := trend.BeginOf(1, events, told)
			if b.From <= 1+rise && b.To >= 1+rise {
				held++
			}
			width += int(b.To-b.From) + 1
		}
		t.Logf("%g to %g events a month: held in %.1f %%, %.1f months on the average", c.before, c.after, 100*float64(held)/runs, float64(width)/runs)
		if share := float64(held) / runs; share < 0.95 {
			t.Errorf("%g to %g events a month: the months named hold the true one in %.1f %% of rises", c.before, c.after, 100*share)
		}
	}
}
