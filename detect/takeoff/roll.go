package takeoff

import (
	"math"
	"slices"
	"time"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// The roll starts where the acceleration along the runway first reaches
// rollFrom and stays. ktPerG turns g into kt per second: standard gravity
// over the knot (9.80665 / (1852/3600)).
const (
	rollFrom = 0.05 // g, the bound of 4-detection; common practice, no published source
	ktPerG   = 9.80665 * 3600 / 1852
	// rollReach is how long before the thrust advance the roll can have
	// begun: a crew that advances slowly is moving before it is armed.
	rollReach = 30 * time.Second
	// clearlyRolling is the gain, kt, that only a takeoff roll shows.
	clearlyRolling = 15.0
	// rollingFrom is the speed, kt, above which the roll went on from taxi.
	rollingFrom = 4.0
	// stood is how long before the roll start an aircraft that stood still
	// begins from a stand: with the brakes released at stabilised thrust it
	// creeps up to a walking pace first. Common practice, no published source.
	stood = 8 * time.Second
)

// rollStart finds where the takeoff acceleration began, and whether the
// aircraft was already moving then.
func (f *finder) rollStart(c candidate, limit span.Instant) (span.Moment, bool) {
	sure, ok := f.surelyRolling(c, limit)
	if !ok {
		return span.Moment{}, false
	}
	m := f.rollByAcceleration(c, sure)
	if !m.Known {
		m = f.rollBySpeed(c, sure)
	}
	v, _ := f.speedAt(m.At)
	return m, m.Known && v >= rollingFrom && !f.stoodBefore(m.At)
}

// stoodBefore says whether a sample shows the aircraft standing shortly before t.
func (f *finder) stoodBefore(t span.Instant) bool {
	for p := range f.speed.Good(span.Span{From: t.Add(-stood), To: t}) {
		if p.Value < 1 {
			return true
		}
	}
	return false
}

// surelyRolling is the first sample of the roll that has gained clearlyRolling
// over the slowest speed before it, or the peak of a roll that gained less.
func (f *finder) surelyRolling(c candidate, limit span.Instant) (flightdata.Point, bool) {
	sp := span.Span{From: c.From.Add(-rollReach), To: limit.Add(5 * time.Second)}
	slow := math.Inf(1)
	var best flightdata.Point
	found := false
	for p := range f.speed.Good(sp) {
		if p.At <= c.From || p.Value < slow {
			slow = min(slow, p.Value)
			if p.At < c.From {
				slow = min(p.Value+1, slow+1) // taxi speed before the advance drifts
			}
		}
		if p.At < c.From {
			continue
		}
		if p.Value >= slow+clearlyRolling {
			return p, true
		}
		if !found || p.Value > best.Value {
			best, found = p, true
		}
	}
	return best, found && best.Value >= slow+f.rule.RolledFrom/2
}

// rollByAcceleration walks back from the sure roll over the longitudinal
// acceleration to where it last was below rollFrom. The accelerometer also
// feels the slope and its own bias; both are in the baseline before the roll.
func (f *finder) rollByAcceleration(c candidate, sure flightdata.Point) span.Moment {
	s := f.rec.Get(flightdata.LongAcceleration)
	if !f.rec.Has(flightdata.LongAcceleration) {
		return span.Moment{}
	}
	from := c.From.Add(-rollReach)
	pts := smooth(slices.Collect(s.Good(span.Span{From: from, To: sure.At + 1})), s.Period)
	level := rollFrom
	if base, ok := f.accelerationBias(s, c, sure); ok {
		level += base
	} else {
		return span.Moment{}
	}
	i := len(pts) - 1
	for i > 0 && pts[i].Value < level {
		i-- // the sure sample may fall on a dip
	}
	for i > 0 && !stays(pts, i, level) {
		i--
	}
	for i > 0 && (pts[i-1].Value >= level || dips(pts, i-1, level)) {
		i--
	}
	if i == 0 || len(pts) < 3 {
		return span.Moment{}
	}
	at := trigger.Cross(pts[i-1], pts[i], level)
	margin := max(s.Period, 250*time.Millisecond)
	return span.Within(at, pts[i-1].At.Add(-margin), pts[i].At.Add(margin))
}

// stays says whether sample i and its follower are both at the level.
func stays(pts []flightdata.Point, i int, level float64) bool {
	return pts[i].Value >= level && (i+1 >= len(pts) || pts[i+1].Value >= level)
}

// dips says whether sample i is a lone dip: the two samples before it are
// at the level again, and the dip is shallow.
func dips(pts []flightdata.Point, i int, level float64) bool {
	return i >= 2 && pts[i].Value > level-rollFrom/2 && pts[i-1].Value >= level && pts[i-2].Value >= level
}

// smooth is the running mean of three samples, for series fast enough that
// it does not blur the start.
func smooth(pts []flightdata.Point, period time.Duration) []flightdata.Point {
	if period > 300*time.Millisecond || len(pts) < 3 {
		return pts
	}
	out := slices.Clone(pts)
	for i := 1; i+1 < len(pts); i++ {
		out[i].Value = (pts[i-1].Value + pts[i].Value + pts[i+1].Value) / 3
	}
	return out
}

// accelerationBias is what the accelerometer reads beyond the change of
// speed, over a stretch before the roll: mean reading less mean gain. Over the
// roll itself it would be as good; before it, it does not depend on its start.
func (f *finder) accelerationBias(s *flightdata.Series, c candidate, sure flightdata.Point) (float64, bool) {
	for _, sp := range []span.Span{
		{From: c.From.Add(-25 * time.Second), To: c.From.Add(-5 * time.Second)},
		{From: c.From, To: sure.At},
	} {
		if f.airSet.Overlaps(sp) {
			continue // the attitude in flight is not that on the ground
		}
		if b, ok := f.biasOver(s, sp); ok {
			return b, true
		}
	}
	return 0, false
}

func (f *finder) biasOver(s *flightdata.Series, sp span.Span) (float64, bool) {
	v0, ok0 := f.speedAt(sp.From)
	v1, ok1 := f.speedAt(sp.To)
	n, sum := 0, 0.0
	for p := range s.Good(sp) {
		n, sum = n+1, sum+p.Value
	}
	if !ok0 || !ok1 || n < 5 || sp.Length() < 4*time.Second {
		return 0, false
	}
	gain := (v1 - v0) / sp.Length().Seconds() / ktPerG
	return sum/float64(n) - gain, true
}

// rollBySpeed finds the same from the ground speed alone: its slope between
// samples, read at their middles, crosses rollFrom; below that the ramp is
// drawn back to the speed before it.
func (f *finder) rollBySpeed(c candidate, sure flightdata.Point) span.Moment {
	s := f.speed
	pts := slices.Collect(s.Good(span.Span{From: c.From.Add(-rollReach), To: sure.At + 1}))
	if len(pts) < 3 {
		return span.Moment{}
	}
	slopes := make([]flightdata.Point, len(pts)-1)
	for i := range slopes {
		dt := pts[i+1].At.Sub(pts[i].At).Seconds()
		slopes[i] = flightdata.Point{At: (pts[i].At + pts[i+1].At) / 2, Value: (pts[i+1].Value - pts[i].Value) / dt}
	}
	slopes = overOneSecond(slopes, s.Period)
	level := rollFrom * ktPerG
	i := len(slopes) - 1
	for i > 0 && (slopes[i-1].Value >= level || dips(slopes, i-1, level)) {
		i--
	}
	if i == 0 {
		return span.Within(pts[0].At, pts[0].At.Add(-rollReach), pts[1].At)
	}
	at := trigger.Cross(slopes[i-1], slopes[i], level)
	margin := max(s.Period, 500*time.Millisecond)
	return span.Within(at, slopes[i-1].At.Add(-margin), slopes[i].At.Add(margin))
}

// overOneSecond averages the slopes of a fast series over about a second, so
// that the quantum of the speed does not look like acceleration.
func overOneSecond(slopes []flightdata.Point, period time.Duration) []flightdata.Point {
	if period <= 0 || period >= 700*time.Millisecond {
		return slopes
	}
	half := int(time.Second / period / 2)
	out := slices.Clone(slopes)
	for i := range slopes {
		lo, hi := max(0, i-half), min(len(slopes)-1, i+half)
		sum := 0.0
		for _, p := range slopes[lo : hi+1] {
			sum += p.Value
		}
		out[i].Value = sum / float64(hi-lo+1)
	}
	return out
}
