package trend_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"rollonset/report/trend"
)

func TestMannKendall(t *testing.T) {
	for _, c := range []struct {
		name   string
		values []float64
		s      int
		z      float64
		slope  float64
	}{
		// By hand: without ties the variance of n = 5 is 5·4·15/18 = 50/3.
		{"rising", []float64{1, 2, 3, 4, 5}, 10, 9 / math.Sqrt(50.0/3), 1},
		{"one step back", []float64{1, 3, 2, 4, 5}, 8, 7 / math.Sqrt(50.0/3), 1},
		// One tie of two takes 2·1·9/18 = 1 off: 47/3.
		{"a tie is neither", []float64{1, 2, 2, 4, 5}, 9, 8 / math.Sqrt(50.0/3-1), 1},
		{"falling, tied", []float64{-1, -2, -2, -4, -5}, -9, -8 / math.Sqrt(50.0/3-1), -1},
		{"all alike", []float64{3, 3, 3, 3}, 0, 0, 0},
	} {
		times := make([]float64, len(c.values))
		for i := range times {
			times[i] = float64(i)
		}
		got := trend.MannKendall(times, c.values)
		if got.S != c.s || math.Abs(got.Z-c.z) > 1e-12 || math.Abs(got.Slope-c.slope) > 1e-12 {
			t.Errorf("%s: %+v, want S %d, Z %v, slope %v", c.name, got, c.s, c.z, c.slope)
		}
	}
	if got := trend.MannKendall([]float64{1, 2, 9}, []float64{0, 1, 4}); got.Slope != 0.5 {
		t.Errorf("unequal times: slope %v, want 0.5, the middle of 0.5, 3/7 and 1", got.Slope)
	}
	if got := trend.MannKendall(nil, nil); got.P != 1 || !math.IsNaN(got.Slope) {
		t.Errorf("nothing: %+v", got)
	}
}

// Without drift the test holds its level, ties or none.
func TestMannKendallLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	const runs = 4000
	for _, ties := range []bool{false, true} {
		times, values := make([]float64, 24), make([]float64, 24)
		hits := 0
		for range runs {
			for i := range values {
				times[i], values[i] = float64(i), r.NormFloat64()
				if ties {
					values[i] = math.Round(values[i])
				}
			}
			if trend.MannKendall(times, values).P <= 0.01 {
				hits++
			}
		}
		if share := float64(hits) / runs; share > 0.015 || share < 0.004 {
			t.Errorf("ties %v: %.4f below 0.01", ties, share)
		}
	}
}
