package configuration

import (
	"rollonset/ingest/span"
)

// arose is when the stretch that begins with marks[i] was first there under
// thrust. A check that is asked from a later start, the roll or a speed, was
// not there before that.
func (j *judge) arose(marks []mark, i int) span.Moment {
	a, first := j.attempt, marks[i]
	switch {
	case first.at > j.judged.From:
		return j.change(first.at, a.ThrustAdvance)
	case j.judged.From == a.Onset.At:
		return j.change(j.firstOutside(first.at, a.ThrustAdvance.At), a.ThrustAdvance)
	case j.judged.From == a.RollStart.At:
		return a.RollStart
	}
	return span.Exactly(j.judged.From)
}

// firstOutside walks back from an outside sample to the first of its stretch,
// or to the last one that was there before the thrust.
func (j *judge) firstOutside(at, advance span.Instant) span.Instant {
	s := j.ruler.watch
	for at > advance {
		p, ok := s.Last(at - 1)
		if !ok || at.Sub(p.At) > s.MaxAge() || j.ruler.mark(p).state != Outside {
			break
		}
		at = p.At
	}
	return at
}

// change is the moment of the change that the sample at first is the first to
// show: after the last sample that was within limits, and under thrust.
func (j *judge) change(first span.Instant, advance span.Moment) span.Moment {
	if first <= advance.At {
		return advance
	}
	early, s := advance.Earliest, j.ruler.watch
	for p, ok := s.Last(first - 1); ok && p.At > early; p, ok = s.Last(p.At - 1) {
		if j.ruler.mark(p).state == Within {
			early = p.At
			break
		}
	}
	return span.Within(first, early, max(first, early))
}
