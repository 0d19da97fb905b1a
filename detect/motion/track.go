package motion

import (
	"cmp"
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// MaxLag is the most by which a recorded ground speed comes late: the filter
// of an inertial reference and the transport to the recorder. Common practice,
// no published source.
const MaxLag = 500 * time.Millisecond

// ktPerG is standard gravity in kt per second, exact by definition
// (9.80665 m/s² over 1852/3600 m/s).
const ktPerG = 9.80665 * 3600 / 1852

// Track is the motion of one roll. The zero value knows nothing.
type Track struct {
	// Lag is by how much the recorded ground speed comes late, at best, and
	// LagLow and LagHigh the bracket of it. Not Fused: 0, 0 and MaxLag.
	Lag, LagLow, LagHigh time.Duration
	// Fused says that the acceleration and the ground speed agree and are
	// one; without it, Speed is the recorded ground speed on its own.
	Fused bool
	// Spread is the root mean square of recorded less fused speed, kt.
	Spread float64

	speed  *flightdata.Series
	points []flightdata.Point // fused speed, kt, at the samples of the acceleration
}

// Of fuses ground speed and longitudinal acceleration over sp, which is to
// hold one roll and its stop and little before.
func Of(rec *flightdata.Recording, sp span.Span) Track {
	t := Track{LagHigh: MaxLag, speed: rec.Get(flightdata.GroundSpeed)}
	f := fit{sums: summed(level(rec, sp))}
	for p := range t.speed.Good(sp) {
		if p.Value >= stands { // a speed that is cut off at zero tells no lag
			f.speeds = append(f.speeds, p)
		}
	}
	if !f.lags() {
		return t
	}
	// Samples of the acceleration say what was so at them, and a change between
	// two may have come at once: half a period either way. A lag that may as
	// well be none is none.
	half := rec.Get(flightdata.LongAcceleration).Period / 2
	t.Lag, t.LagLow, t.LagHigh = f.lag, max(f.low-half, firstLag), f.high+half
	if t.LagLow <= 0 {
		t.Lag = 0
		f.at(0)
	}
	t.Fused, t.Spread = true, f.spread
	t.points = f.track()
	return t
}

// stands is the ground speed, kt, below which a recorded one may be cut off
// at zero or held by a filter.
const stands = 3.0

// fastEnough is the slowest period at which an acceleration resolves what
// happens between two samples of the ground speed.
const fastEnough = 300 * time.Millisecond

// mostJump is the change from one sample to the next, g, from which on the
// samples do not follow the motion: brakes and thrust take longer. Common
// practice, no published source.
const mostJump = 0.4

// longestStep is the longest step that a sum may go over, two slow samples and
// the jitter of their clock: a lone masked sample does not end it.
const longestStep = 2*fastEnough + fastEnough/10

// level is the acceleration along the runway, g: the accelerometer also feels
// the weight along the fuselage, by the sine of the pitch.
func level(rec *flightdata.Recording, sp span.Span) []flightdata.Point {
	s, pitch := rec.Get(flightdata.LongAcceleration), rec.Get(flightdata.Pitch)
	if s.Len() == 0 || s.Period > fastEnough {
		return nil
	}
	var out []flightdata.Point
	for p := range s.Good(sp) {
		if r := pitch.At(p.At); r.OK {
			p.Value -= math.Sin(r.Value * math.Pi / 180)
		}
		out = append(out, p)
	}
	return out
}

// summed is the integral of the acceleration, kt, straight between samples;
// nothing when there is a gap or a jump, for a sum cannot cross one.
func summed(acc []flightdata.Point) []flightdata.Point {
	out := slices.Clone(acc)
	sum := 0.0
	for i := range out {
		if i > 0 {
			dt := acc[i].At.Sub(acc[i-1].At)
			if dt > longestStep || math.Abs(acc[i].Value-acc[i-1].Value) > mostJump {
				return nil
			}
			sum += float64((acc[i-1].Value+acc[i].Value)/2*ktPerG) * dt.Seconds()
		}
		out[i].Value = sum
	}
	return out
}

// At is the speed over the ground at an instant, kt, at the time at which it
// really was: the fused speed, else the recorded one. The bracket is what the
// spread and the lag leave open.
func (t *Track) At(at span.Instant) flightdata.Reading {
	if v, ok := between(t.points, at); t.Fused && ok {
		d := t.doubt()
		return flightdata.Reading{Value: v, Low: v - d, High: v + d, OK: true}
	}
	r := t.speed.At(at)
	for _, lag := range []time.Duration{t.LagLow, t.LagHigh} {
		if e := t.speed.At(at.Add(lag)); r.OK && e.OK {
			r.Low, r.High = min(r.Low, e.Low), max(r.High, e.High)
		}
	}
	return r
}

// doubt is what is open of a fused speed, kt: an offset of the ground speed as
// a whole, which no sum can see, and three standard errors of its level.
func (t *Track) doubt() float64 { return leastDoubt + float64(t.Spread) }

const leastDoubt = 0.25

// Fastest is the highest fused speed inside sp with its bracket, kt, and when
// it was: somewhere in the stretch around it that is as fast for all that the
// samples can tell. False when the track is not fused there.
func (t *Track) Fastest(sp span.Span) (flightdata.Reading, span.Moment, bool) {
	best := -1
	for i, p := range t.points {
		if sp.Holds(p.At) && (best < 0 || p.Value > t.points[best].Value) {
			best = i
		}
	}
	if best < 0 {
		return flightdata.Reading{}, span.Moment{}, false
	}
	top := t.points[best]
	from, to := best, best // a flat top goes on
	for from > 0 && t.points[from].Value >= top.Value-leastDoubt {
		from--
	}
	for to+1 < len(t.points) && t.points[to].Value >= top.Value-leastDoubt {
		to++
	}
	d := t.doubt()
	return flightdata.Reading{Value: top.Value, Low: top.Value - d, High: top.Value + d, OK: true},
		span.Within(t.points[from].At+(t.points[to].At-t.points[from].At)/2, t.points[from].At, t.points[to].At), true
}

// Over widens the reading at an instant by the speeds between two others.
func (t *Track) Over(at, from, to span.Instant) flightdata.Reading {
	r := t.At(at)
	if !r.OK {
		return r
	}
	for _, edge := range []span.Instant{from, to} {
		if e := t.At(edge); e.OK {
			r.Low, r.High = min(r.Low, e.Low), max(r.High, e.High)
		}
	}
	for _, p := range t.points {
		if p.At > from && p.At < to {
			r.High = max(r.High, p.Value+t.doubt())
		}
	}
	return r
}

// Distance is the way over the ground between two instants, m: the integral of
// the recorded speed, read as much later as it comes late. NaN where the speed
// has a gap or does not reach both ends.
func (t *Track) Distance(from, to span.Instant) float64 {
	return Distance(t.speed, from.Add(t.Lag), to.Add(t.Lag))
}

// Between is what the brackets of two instants and of the lag leave open of
// the distance between them, m; NaN where Distance is.
func (t *Track) Between(from, to span.Moment) (low, high float64) {
	late := max(to.Earliest.Add(t.LagLow), from.Latest.Add(t.Lag))
	low = Distance(t.speed, from.Latest.Add(t.Lag), late)
	high = Distance(t.speed, from.Earliest.Add(t.Lag), to.Latest.Add(t.LagHigh))
	slack := leastSlack + float64(slackShare*high)
	return max(low-slack, 0), high + slack
}

// leastSlack, m, and slackShare are what the rounding of a recorded speed and
// the straight lines between its samples leave open of a distance; common
// practice, no published source.
const (
	leastSlack = 1.0
	slackShare = 0.005
)

// between reads a line through points at an instant.
func between(pts []flightdata.Point, at span.Instant) (float64, bool) {
	i, _ := slices.BinarySearchFunc(pts, at, func(p flightdata.Point, t span.Instant) int { return cmp.Compare(p.At, t) })
	return line(pts, i, at)
}

// line reads the line at an instant of which i is the first point at or after it.
func line(pts []flightdata.Point, i int, at span.Instant) (float64, bool) {
	switch {
	case i < len(pts) && pts[i].At == at:
		return pts[i].Value, true
	case i == 0 || i == len(pts):
		return math.NaN(), false
	}
	a, b := pts[i-1], pts[i]
	share := float64(at-a.At) / float64(b.At-a.At)
	return a.Value + float64(share*(b.Value-a.Value)), true
}
