package takeoff

import (
	"fmt"
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// onGround judges a candidate that never flew: a reject, a burst of taxi
// thrust, or standing thrust that is settled later.
func (f *finder) onGround(c candidate) {
	c = f.untilStop(c)
	end := min(c.To.Add(tailTime), c.nextFrom)
	peak, ok := f.fastest(span.Span{From: c.From, To: min(end, c.To.Add(coast))})
	base, _ := f.speedAt(c.From)
	switch {
	case !ok:
		f.undetermined(c, "no speed recorded under the thrust")
	case f.lostUnderThrust(c):
		f.undetermined(c, f.whyOpen(c.To))
	case peak.Value < f.rule.RolledFrom:
		f.standing = append(f.standing, c)
	case f.taxi(c, peak):
		// Halves away from zero, as pages round; the format alone goes to even.
		f.lookAlike("taxi burst", c, fmt.Sprintf("peak %.0f kt, no faster than taxi, and not followed by a takeoff roll", math.Round(peak.Value)))
	case f.slowed(peak, end):
		f.attempt(c, Rejected, fmt.Sprintf("thrust cut on the ground and the speed fell from %.0f kt", math.Round(peak.Value)), span.Moment{})
	case peak.Value < base+f.rule.SpeedFall/2:
		f.lookAlike("taxi burst", c, "the speed did not rise under the thrust")
	case end >= f.whole().To.Add(-time.Second) || f.speedLostBefore(end):
		f.undetermined(c, f.whyOpen(end))
	default:
		f.undetermined(c, "thrust was cut on the ground and the speed did not fall")
	}
}

// untilStop ends a candidate at the last engine that fell before the aircraft
// came to a stop. Thrust that goes on after that, of one engine left forward or
// of a frozen sensor, carries no takeoff on: the aircraft stands.
func (f *finder) untilStop(c candidate) candidate {
	peak, ok := f.fastest(c.Span)
	if !ok || peak.Value < f.rule.RolledFrom {
		return c
	}
	stood := c.To // the first sample that stands: what comes later is no part of this
	for p := range f.speed.Good(span.Span{From: peak.At, To: c.To}) {
		if p.Value < stoppedBelow {
			stood = p.At
			break
		}
	}
	if stood >= c.To {
		return c
	}
	last := span.Instant(0)
	for _, g := range f.engines {
		for _, ep := range g.forward.Episodes {
			if !ep.OpenEnd && ep.To.At > c.From && ep.To.At < stood {
				last = max(last, ep.To.At)
			}
		}
	}
	if last > c.From {
		c.To, c.cutOpen = last, false
	}
	return c
}

// lostUnderThrust says whether the data ended or dropped out with the thrust
// on, so that nobody can tell what became of the roll.
func (f *finder) lostUnderThrust(c candidate) bool {
	return c.cutOpen || c.To >= f.whole().To
}

// taxi tells a burst of taxi thrust: slow, and the heading turns, or the speed
// hardly rises. A recorded warning makes an advance an attempt, unless the
// aircraft is still turning when the thrust is gone: a takeoff is straight.
func (f *finder) taxi(c candidate, peak flightdata.Point) bool {
	if peak.Value >= f.rule.TaxiBelow {
		return false
	}
	turned := f.turned(span.Span{From: c.From, To: c.To.Add(5 * time.Second)}) >= f.rule.TaxiTurn
	turning := f.turned(span.Span{From: c.To.Add(-time.Second), To: c.To.Add(4 * time.Second)}) >= f.rule.TaxiTurn/3
	if f.warned(c.Span.Widen(0, 2*time.Second)) {
		return turned && turning
	}
	base, ok := f.speedAt(c.From)
	return turned || ok && peak.Value < base+f.rule.SpeedFall/2
}

// slowed says whether the speed fell by SpeedFall from its peak, or to a
// stop, before end.
func (f *finder) slowed(peak flightdata.Point, end span.Instant) bool {
	low, ok := f.slowest(span.Span{From: peak.At, To: end})
	return ok && (low.Value <= peak.Value-f.rule.SpeedFall || low.Value < 3)
}

func (f *finder) speedLostBefore(t span.Instant) bool {
	p, ok := f.speed.Last(t)
	return !ok || t.Sub(p.At) > f.speed.MaxAge()
}

func (f *finder) whyOpen(t span.Instant) string {
	if t >= f.whole().To.Add(-2*time.Second) {
		return fmt.Sprintf("the data ends at %.1f s, with the roll under way", f.whole().To.Seconds())
	}
	return fmt.Sprintf("the data drops out at %.1f s, with the roll under way", t.Seconds())
}
