package sanity

import "testing"

// TestShortBurst: a burst of thrust in taxi lasts as long as a speed is late;
// the change over all of it agrees although the middle seconds do not. The same
// burst read in km/h as knots does disagree.
func TestShortBurst(t *testing.T) {
	speed := []float64{0, 0.3, 4.6, 4.1, 2, 0.2, 0, 0, 0, 0}
	pull := []float64{0.2, 0.4, 2.5, 4.8, 2.2, 0.4, 0, 0, 0, 0}
	if r := burst.ratio(speed, pull, nil); r == r {
		t.Errorf("a burst that only comes late gives a ratio of %g, want none", r)
	}
	for i := range speed {
		speed[i] *= 1.852
	}
	if r := burst.ratio(speed, pull, nil); !(r > disagreeHigh) {
		t.Errorf("a burst in another unit gives a ratio of %g, want above %g", r, disagreeHigh)
	}
}
