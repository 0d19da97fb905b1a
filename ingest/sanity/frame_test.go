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

// TestRollJustBegun: the data end six seconds after the levers went on. Each
// speed is sampled at the end of its second, so that its change comes nearly a
// second after the pull of the same second.
func TestRollJustBegun(t *testing.T) {
	speed := []float64{0, 0, 0, 0, 0, 0, 0, 0, 0.5, 1, 2.5, 4.5, 6, 7, 8, 7.5, 7.6}
	pull := []float64{0, 0, 0, 0, 0, 0, 0, 0, 0.1, 0.2, 1.1, 2.6, 4.3, 5.9, 7.3, 7.7, 7.7}
	for _, f := range []frame{longFrame, shortFrame, burst} {
		if r := f.ratio(speed, pull, nil); r < disagreeLow || r > disagreeHigh {
			t.Errorf("over %d s a roll that has just begun gives a ratio of %g", f.window, r)
		}
	}
	for i := range speed {
		speed[i] *= 1.852
	}
	if r := shortFrame.ratio(speed, pull, nil); !(r > disagreeHigh) {
		t.Errorf("the same in km/h gives a ratio of %g, want above %g", r, disagreeHigh)
	}
}
