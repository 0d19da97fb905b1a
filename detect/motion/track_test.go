package motion_test

import (
	"math"
	"testing"
	"time"

	"rollonset/detect/motion"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// roll is a reject in closed form: at rest until 10 s, 0.2 g that builds up
// over 1 s, from 40 s on a change to -0.3 g over 2 s, at rest again. It gives
// acceleration (g) and speed (kt) at a time.
func roll(t float64) (acc, speed float64) {
	const ktPerG = 9.80665 * 3600 / 1852
	ramp := func(t, from, long, by float64) (a, v float64) {
		switch x := t - from; {
		case x <= 0:
			return 0, 0
		case x < long:
			return by * x / long, by * x * x / long / 2
		default:
			return by, by * (x - long/2)
		}
	}
	a1, v1 := ramp(t, 10, 1, 0.2)
	a2, v2 := ramp(t, 40, 2, -0.5)
	if v := (v1 + v2) * ktPerG; v > 0 {
		return a1 + a2, v
	}
	return 0, 0
}

// peakAt is when the acceleration of roll passes zero, 0.8 s into the change.
const peakAt = 40.8

// recorded samples roll: the ground speed at 1 Hz, late and in steps of a
// quantum, the acceleration at 4 Hz with an offset.
func recorded(lag, quantum, offset float64) *flightdata.Recording {
	series := func(p flightdata.Parameter, period time.Duration, value func(float64) float64) *flightdata.Series {
		s := &flightdata.Series{Parameter: p, Period: period}
		for at := span.Sec(0.05); at < span.Sec(90); at = at.Add(period) {
			s.Times, s.Values = append(s.Times, at), append(s.Values, value(at.Seconds()))
		}
		return s
	}
	return &flightdata.Recording{Series: map[flightdata.Parameter]*flightdata.Series{
		flightdata.GroundSpeed: series(flightdata.GroundSpeed, time.Second, func(t float64) float64 {
			_, v := roll(t - lag)
			return math.Round(v/quantum) * quantum
		}),
		flightdata.LongAcceleration: series(flightdata.LongAcceleration, 250*time.Millisecond, func(t float64) float64 {
			a, _ := roll(t)
			return a + offset
		}),
	}}
}

var whole = span.Span{From: span.Sec(8), To: span.Sec(64)}

// TestLag recovers a lag that nothing but the two series tells, whatever the
// offset of the accelerometer, and calls one that may be none none.
func TestLag(t *testing.T) {
	for _, c := range []struct{ lag, quantum, offset, want float64 }{
		{0, 0.5, 0, 0},
		{0, 1, 0.03, 0},
		{0.25, 0.5, -0.02, 0.25},
		{0.25, 1, 0.02, 0.25},
		{0.5, 1, 0, 0.5},
		{0.5, 0.5, 0.05, 0.5},
	} {
		tr := motion.Of(recorded(c.lag, c.quantum, c.offset), whole)
		if got := tr.Lag.Seconds(); !tr.Fused || math.Abs(got-c.want) > 0.04 {
			t.Errorf("lag %g, quantum %g, offset %g: found %g, fused %t", c.lag, c.quantum, c.offset, got, tr.Fused)
		}
		if lag := span.Instant(c.lag * 1e9); lag < span.Instant(tr.LagLow) || lag > span.Instant(tr.LagHigh) {
			t.Errorf("lag %g: the bracket %s to %s does not hold it", c.lag, tr.LagLow, tr.LagHigh)
		}
	}
}

// TestBetweenSamples compares speed, peak and distance with the closed form, at
// a lag at which the recorded speed itself is 2 kt off.
func TestBetweenSamples(t *testing.T) {
	tr := motion.Of(recorded(0.5, 1, 0.02), whole)
	for at := 15.0; at < 55; at += 0.37 {
		_, want := roll(at)
		r := tr.At(span.Sec(at))
		if !r.OK || math.Abs(r.Value-want) > 0.4 || want < r.Low || want > r.High {
			t.Errorf("at %.2f s: %.2f [%.2f, %.2f] kt, want %.2f", at, r.Value, r.Low, r.High, want)
		}
	}
	top, when, ok := tr.Fastest(whole)
	_, want := roll(peakAt)
	if !ok || math.Abs(top.Value-want) > 0.4 || want < top.Low || want > top.High {
		t.Errorf("fastest %.2f [%.2f, %.2f] kt, want %.2f", top.Value, top.Low, top.High, want)
	}
	if e, l := when.Earliest.Seconds(), when.Latest.Seconds(); e > peakAt || l < peakAt || l-e > 1.5 {
		t.Errorf("fastest from %.2f to %.2f s, want %.2f in it", e, l, peakAt)
	}
	// From 10 s to 40 s: 0.2 g builds up over 1 s, so the way is
	// 0.2 g (1/6 + 1/2·29 + 29²/2) = 853.51 m.
	metres := 0.2 * 9.80665 * (1.0/6 + 29.0/2 + 29.0*29/2)
	if got := tr.Distance(span.Sec(10), span.Sec(40)); math.Abs(got-metres) > 3 {
		t.Errorf("distance %.1f m, want %.1f", got, metres)
	}
	low, high := tr.Between(span.Within(span.Sec(10), span.Sec(9.8), span.Sec(10.2)), span.Within(span.Sec(40), span.Sec(39.9), span.Sec(40.1)))
	if low > metres || high < metres || high-low > 60 {
		t.Errorf("distance between %.1f and %.1f m, want %.1f in it", low, high, metres)
	}
}

// TestNotFused leaves the ground speed alone where the two cannot be one: no
// accelerometer, one that is too slow, one with a gap, one that jumps, one of
// another scale, or a roll too slow to fit.
func TestNotFused(t *testing.T) {
	for name, spoil := range map[string]func(*flightdata.Recording, *flightdata.Series){
		"none":     func(r *flightdata.Recording, _ *flightdata.Series) { delete(r.Series, flightdata.LongAcceleration) },
		"too slow": func(_ *flightdata.Recording, s *flightdata.Series) { s.Period = time.Second },
		"gap": func(_ *flightdata.Recording, s *flightdata.Series) {
			s.Masks = make([]flightdata.Mask, s.Len())
			for i := 100; i < 104; i++ {
				s.Masks[i] = flightdata.OutOfRange
			}
		},
		"jump":  func(_ *flightdata.Recording, s *flightdata.Series) { s.Values[100] += 0.6 },
		"scale": func(_ *flightdata.Recording, s *flightdata.Series) { times(s, 1.3) },
		"slow": func(r *flightdata.Recording, s *flightdata.Series) {
			times(s, 0.2)
			times(r.Get(flightdata.GroundSpeed), 0.2)
		},
		"other motion": func(_ *flightdata.Recording, s *flightdata.Series) {
			for i := range s.Values {
				s.Values[i] = 0.1 * math.Sin(float64(i)/20)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := recorded(0.5, 1, 0)
			spoil(r, r.Get(flightdata.LongAcceleration))
			tr := motion.Of(r, whole)
			if tr.Fused || tr.Lag != 0 || tr.LagLow != 0 || tr.LagHigh != motion.MaxLag {
				t.Errorf("fused %t, lag %s [%s, %s]", tr.Fused, tr.Lag, tr.LagLow, tr.LagHigh)
			}
			if _, _, ok := tr.Fastest(whole); ok {
				t.Error("a fastest speed without a fused one")
			}
		})
	}
}

func times(s *flightdata.Series, by float64) {
	for i := range s.Values {
		s.Values[i] *= by
	}
}
