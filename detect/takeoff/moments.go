package takeoff

import (
	"cmp"
	"math"
	"slices"
	"time"

	"rollonset/detect/motion"
	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// attempt fills in the moments of a candidate whose outcome is known.
func (f *finder) attempt(c candidate, outcome Outcome, why string, lift span.Moment) {
	a := Attempt{
		Outcome: outcome, Why: why, LiftOff: lift,
		ThrustAdvance: c.advance, Onset: c.advance.Later(f.rule.OnsetAfter),
		GroundBy: f.groundBy, ThrustBy: f.prof.Thrust.Measure, Engines: f.engineNumbers(),
	}
	limit := f.limit(c, lift)
	if outcome != RejectedNoRoll {
		a.RollStart, a.Rolling = f.rollStart(c, limit)
	}
	a.Rotation = f.rotation(c, limit)
	switch {
	case a.Reject():
		f.rejectMoments(&a, c)
	case outcome == Undetermined:
		a.PerhapsCut = f.thrustCut(c)
	}
	a.End = f.end(&a, c)
	f.peakSpeed(&a, c)
	f.onTime(&a)
	f.keep(span.Span{From: c.From, To: a.End})
	if outcome == Undetermined && !a.PerhapsCut.Known && c.cutOpen {
		// A reject may have begun once nobody can tell the thrust any more.
		a.End = min(a.End, c.To)
	}
	f.out.Attempts = append(f.out.Attempts, a)
}

// limit is the last instant of the roll proper: lift-off, or the fall of the
// thrust.
func (f *finder) limit(c candidate, lift span.Moment) span.Instant {
	if lift.Known {
		return lift.At
	}
	return min(c.To, c.nextFrom)
}

// end is where the attempt is over.
func (f *finder) end(a *Attempt, c candidate) span.Instant {
	switch {
	case a.LiftOff.Known:
		return a.LiftOff.At
	case a.Stop.Known:
		return a.Stop.At
	}
	return min(c.To.Add(tailTime), c.nextFrom, f.whole().To)
}

// peakSpeed reads the highest ground speed: of a reject around the cut, else
// up to lift-off or the end.
func (f *finder) peakSpeed(a *Attempt, c candidate) {
	if !f.rec.Has(flightdata.GroundSpeed) {
		return
	}
	to := a.End
	if a.Reject() {
		to = min(a.End, c.To.Add(tailTime/3))
	}
	peak, ok := f.fastest(span.Span{From: c.From, To: to + 1})
	if !ok {
		return
	}
	a.PeakSpeed = f.crest(peak)
	if a.Reject() && a.Rolled() {
		a.Peak = f.peakMoment(peak, span.Span{From: c.From, To: to + 1})
	}
}

// speedNoise is what quantum and noise leave open of a recorded ground speed,
// kt: half a knot each. 14 CFR part 121 appendix M asks for 0.2 % of range.
const speedNoise = 1.0

// crest is the top of the parabola through the highest sample and its
// neighbours: between two samples a second apart a rejected takeoff gains and
// loses more than a knot. The bracket reaches up to where the gain before the
// sample would have led until the next one.
func (f *finder) crest(peak flightdata.Point) flightdata.Reading {
	r := flightdata.Reading{Value: peak.Value, Low: peak.Value - speedNoise/2, High: peak.Value + speedNoise/2, OK: true}
	a, okA := f.speed.Last(peak.At - 1)
	c, okC := f.speed.Next(peak.At)
	if !okA || !okC || peak.At.Sub(a.At) > f.speed.MaxAge() || c.At.Sub(peak.At) > f.speed.MaxAge() {
		return r
	}
	h1, h2 := peak.At.Sub(a.At).Seconds(), c.At.Sub(peak.At).Seconds()
	s1, s2 := (peak.Value-a.Value)/h1, (c.Value-peak.Value)/h2
	reach := max(s1, 0) * h2
	if s2 > 0 { // still rising, as at a lift-off: no crest to draw
		r.High = max(r.High, c.Value)
		return r
	}
	if bend := (s2 - s1) / (h1 + h2); bend < 0 {
		slope := s1 + float64(bend*h1) // of the parabola at the peak sample
		r.Value += min(-float64(slope*slope)/(4*bend), reach)
	}
	r.High = max(r.High, r.Value+speedNoise/2, peak.Value+reach/2+speedNoise/2, f.corner(a, peak, c)+speedNoise/2)
	return r
}

// corner is how far the speed rose if it turned at once, between two samples:
// before or after the highest one, a and c being its neighbours.
func (f *finder) corner(a, peak, c flightdata.Point) float64 {
	top := peak.Value
	if b, ok := f.speed.Last(a.At - 1); ok && a.At.Sub(b.At) <= f.speed.MaxAge() {
		if p, ok := trigger.Corner(b, a, peak, c); ok {
			top = max(top, p.Value)
		}
	}
	if d, ok := f.speed.Next(c.At); ok && d.At.Sub(c.At) <= f.speed.MaxAge() {
		if p, ok := trigger.Corner(a, peak, c, d); ok {
			top = max(top, p.Value)
		}
	}
	return top
}

// peakMoment is the middle of the samples that show the peak; it lies between
// the neighbours of the first and the last of them.
func (f *finder) peakMoment(peak flightdata.Point, sp span.Span) span.Moment {
	last := peak.At
	for p := range f.speed.Good(span.Span{From: peak.At, To: sp.To}) {
		if p.Value != peak.Value {
			break
		}
		last = p.At
	}
	m := span.Within(peak.At+(last-peak.At)/2, peak.At, last)
	if b, ok := f.speed.Last(peak.At - 1); ok {
		m.Earliest = b.At.Add(-motion.MaxLag)
	}
	if n, ok := f.speed.Next(last); ok {
		m.Latest = n.At
	}
	return m
}

// rejectMoments finds the thrust cut and the stop of a reject.
func (f *finder) rejectMoments(a *Attempt, c candidate) {
	a.ThrustCut = f.thrustCut(c)
	if !a.ThrustCut.Known {
		// No engine's samples show where its fall began, only that it was over.
		a.ThrustCut = span.Within(c.To, max(c.To.Add(-cutReach), c.From), c.To)
	}
	if a.Outcome == RejectedNoRoll {
		return
	}
	a.Stop = f.stop(c)
}

// stoppedBelow is the ground speed, kt, at which an aircraft stands for the
// resolution of a recorded ground speed.
const stoppedBelow = 2.0

// stopUnseen is how long the speed may drop out before it is seen to stand:
// after longer, nothing tells when the aircraft stopped. Common practice, no
// published source.
const stopUnseen = 30 * time.Second

// stop is where the speed line reaches zero after the cut, or where the
// aircraft turns off the runway at taxi speed; unknown when nobody saw it.
func (f *finder) stop(c candidate) span.Moment {
	heading := f.rec.Get(flightdata.Heading)
	straight := heading.At(c.To)
	var a, b flightdata.Point // last two samples while moving
	for p := range f.speed.Good(span.Span{From: c.To, To: c.nextFrom}) {
		if b.At != 0 && p.At.Sub(b.At) > stopUnseen {
			break
		}
		if p.Value < stoppedBelow {
			return f.standsAt(a, b, p)
		}
		if h := heading.At(p.At); straight.OK && h.OK && p.Value < f.rule.TaxiBelow &&
			math.Abs(math.Remainder(h.Value-straight.Value, 360)) > 30 {
			return span.Within(p.At, p.At.Add(-f.speed.Period), p.At)
		}
		a, b = b, p
	}
	return span.Moment{}
}

// standsAt draws the line through the last two moving samples to zero; it
// cannot be much later than the sample that stands.
func (f *finder) standsAt(a, b, p flightdata.Point) span.Moment {
	if b.At == 0 && b.Value == 0 {
		return span.Within(p.At, p.At.Add(-f.speed.Period), p.At)
	}
	// The recorded speed lags and its last knots are noise: half a second.
	slack := max(f.speed.Period*3/5, 600*time.Millisecond)
	at, late := p.At, p.At.Add(f.speed.Period)
	if slope := (b.Value - a.Value) / b.At.Sub(a.At).Seconds(); a.Value >= stoppedBelow && slope < 0 { // a is zero when it was the only one
		at = b.At.Add(time.Duration(min(-b.Value/slope*1e9, float64(time.Hour))))
		// A gentle stop is still rolling there, on the same line; and a line
		// through two samples is no better than the speed is told.
		late = max(late, p.At.Add(time.Duration(min((p.Value+speedTold)/-slope*1e9, float64(longestCreep)))))
	}
	at = min(max(at, b.At), late)
	return span.Within(at, b.At.Add(-slack), max(late, p.At.Add(slack)))
}

// speedTold is how well, kt, a recorded ground speed tells a walking pace:
// half of the coarsest step it is commonly recorded in.
const speedTold = 0.5

// longestCreep bounds how long the last knots before a stop can take.
const longestCreep = 3 * time.Second

func sortAttempts(a []Attempt) {
	slices.SortStableFunc(a, func(x, y Attempt) int { return cmp.Compare(x.ThrustAdvance.At, y.ThrustAdvance.At) })
}

func sortLookAlikes(l []LookAlike) {
	slices.SortStableFunc(l, func(x, y LookAlike) int { return cmp.Compare(x.Span.From, y.Span.From) })
}
