package takeoff

import (
	"slices"
	"time"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// rotation is where the pitch leaves its ground attitude for good: the line
// through its rise, drawn back to the attitude before.
func (f *finder) rotation(c candidate, limit span.Instant) span.Moment {
	s := f.rec.Get(flightdata.Pitch)
	base, ok := f.groundAttitude(c, limit)
	if !ok {
		return span.Moment{}
	}
	after := 3 * time.Second
	up := trigger.Above(s, trigger.Rule{On: base + rotated, Off: base + rotated/2, Persistence: 500 * time.Millisecond},
		span.Span{From: c.From, To: limit.Add(after)})
	for _, ep := range up.Episodes {
		if v, ok := f.speedAt(ep.From.At); !ok || v < f.rule.StartBelow {
			continue
		}
		if ep.OpenEnd && ep.To.Earliest <= ep.From.Latest {
			continue // the last sample alone: a spike looks the same
		}
		return f.riseBefore(s, ep.From.At, base)
	}
	return span.Moment{}
}

// rotated is the pitch above the ground attitude, deg, that only a rotation
// gives; common practice, no published source.
const rotated = 2.0

// groundAttitude is the median pitch of the roll before high speed.
func (f *finder) groundAttitude(c candidate, limit span.Instant) (float64, bool) {
	var v []float64
	for p := range f.rec.Get(flightdata.Pitch).Good(span.Span{From: c.From.Add(-10 * time.Second), To: limit}) {
		if speed, ok := f.speedAt(p.At); ok && speed < f.rule.StartBelow+20 {
			v = append(v, p.Value)
		}
	}
	if len(v) == 0 {
		// All of it was fast, as in a touch-and-go: the lowest attitude on the
		// wheels before the last seconds.
		return f.lowestPitch(span.Span{From: c.From.Add(-10 * time.Second), To: limit.Add(-2 * time.Second)})
	}
	slices.Sort(v)
	return v[len(v)/2], true
}

func (f *finder) lowestPitch(sp span.Span) (float64, bool) {
	low, ok := 0.0, false
	for p := range f.rec.Get(flightdata.Pitch).Good(sp) {
		if !f.airSet.Holds(p.At) && (!ok || p.Value < low) {
			low, ok = p.Value, true
		}
	}
	return low, ok
}

// riseBefore draws the rise back from t, where it is plain, to the attitude of
// the seconds before it: on long rolls the nose lightens and the attitude
// creeps, so the attitude of the early roll will not do.
func (f *finder) riseBefore(s *flightdata.Series, t span.Instant, base float64) span.Moment {
	if local, ok := medianOf(s, span.Span{From: t.Add(-10 * time.Second), To: t.Add(-4 * time.Second)}); ok {
		base = min(local, base+rotated/2)
	}
	pts := slices.Collect(s.Good(span.Span{From: t.Add(-6 * time.Second), To: t.Add(s.Period + 1)}))
	i := len(pts) - 1
	for i > 0 && pts[i].Value > base+rotated/4 {
		i--
	}
	if i+1 >= len(pts) {
		// The samples of the rise itself are masked or missing.
		m := span.Within(t, t.Add(-s.Period), t.Add(s.Period))
		if len(pts) > 0 {
			m.Earliest = min(m.Earliest, pts[i].At.Add(-s.Period))
		}
		return m
	}
	at := pts[i].At
	if j := min(i+2, len(pts)-1); j > i && pts[j].Value > pts[i].Value {
		slope := (pts[j].Value - pts[i].Value) / pts[j].At.Sub(pts[i].At).Seconds()
		back := max((pts[i].Value-base)/slope, 0)
		at = max(pts[i].At.Add(-time.Duration(back*1e9)), pts[0].At)
	}
	return span.Within(at, pts[i].At.Add(-s.Period), pts[i+1].At)
}

func medianOf(s *flightdata.Series, sp span.Span) (float64, bool) {
	var v []float64
	for p := range s.Good(sp) {
		v = append(v, p.Value)
	}
	if len(v) == 0 {
		return 0, false
	}
	slices.Sort(v)
	return v[len(v)/2], true
}
