package takeoff

import (
	"cmp"
	"math"
	"slices"
	"time"

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
	f.keep(span.Span{From: c.From, To: a.End})
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

// SpeedLag is the most by which a recorded ground speed comes late: the filter
// of an inertial reference and the transport to the recorder. Common practice,
// no published source.
const SpeedLag = 500 * time.Millisecond

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
		m.Earliest = b.At.Add(-SpeedLag)
	}
	if n, ok := f.speed.Next(last); ok {
		m.Latest = n.At
	}
	return m
}

// rejectMoments finds the thrust cut and the stop of a reject.
func (f *finder) rejectMoments(a *Attempt, c candidate) {
	a.ThrustCut = f.thrustCut(c)
	if a.Outcome == RejectedNoRoll {
		return
	}
	a.Stop = f.stop(c)
}

// stoppedBelow is the ground speed, kt, at which an aircraft stands for the
// resolution of a recorded ground speed.
const stoppedBelow = 2.0

// stop is where the speed line reaches zero after the cut, or where the
// aircraft turns off the runway at taxi speed.
func (f *finder) stop(c candidate) span.Moment {
	heading := f.rec.Get(flightdata.Heading)
	straight := heading.At(c.To)
	var a, b flightdata.Point // last two samples while moving
	for p := range f.speed.Good(span.Span{From: c.To, To: c.nextFrom}) {
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
		// A gentle stop is still rolling there, on the same line.
		late = max(late, p.At.Add(time.Duration(min(-p.Value/slope*1e9, float64(longestCreep)))))
	}
	at = min(max(at, b.At), late)
	return span.Within(at, b.At.Add(-slack), p.At.Add(slack))
}

// longestCreep bounds how long the last knots before a stop can take.
const longestCreep = 3 * time.Second

// thrustCut is the start of the final reduction: of the lever where it is
// recorded, else of the arming measure; narrowed by the acceleration, which is
// sampled faster than either.
func (f *finder) thrustCut(c candidate) span.Moment {
	m := f.reduction(flightdata.ThrustLever, c)
	if !m.Known {
		m = f.reduction(f.prof.Thrust.Measure, c)
	}
	return f.narrowed(m, c)
}

// spoolLag is how long after the levers the acceleration can still hold, for
// the fuel control to act; common practice, no published source.
const spoolLag = 300 * time.Millisecond

// narrowed brings the fall of the acceleration to bear on a cut that slow
// samples leave wide: thrust is cut before the acceleration falls, and not
// long before. A fall before the bracket is brakes and says nothing.
func (f *finder) narrowed(m span.Moment, c candidate) span.Moment {
	s := f.rec.Get(flightdata.LongAcceleration)
	if !m.Known || s.Len() == 0 || m.Width() <= max(s.Period, 400*time.Millisecond) {
		return m
	}
	fall, ok := f.accelerationFall(s, span.Span{From: m.Earliest.Add(-2 * time.Second), To: m.Latest.Add(2 * spoolLag)})
	early, late := max(m.Earliest, fall.Earliest.Add(-spoolLag)), min(m.Latest, fall.Latest)
	if !ok || late <= early {
		return m
	}
	return span.Within(min(max(fall.At, early), late), early, late)
}

// clearFall is the fall from one sample of the acceleration to the next, g,
// that is more than noise: two steps of the resolution of 0.004 g
// (14 CFR part 121 appendix M no. 11).
const clearFall = 0.008

// accelerationFall is where the acceleration begins its last fall of the
// stretch: between the last sample that held and the first that fell. What the
// accelerometer feels of the attitude is taken off, for a reject after
// rotation lowers the nose.
func (f *finder) accelerationFall(s *flightdata.Series, sp span.Span) (span.Moment, bool) {
	pitch := f.rec.Get(flightdata.Pitch)
	var pts []flightdata.Point
	for p := range s.Good(sp) {
		if r := pitch.At(p.At); r.OK {
			p.Value -= math.Sin(r.Value * math.Pi / 180)
		}
		pts = append(pts, p)
	}
	i := len(pts) - 1
	for i > 0 && pts[i-1].Value <= pts[i].Value+clearFall {
		i-- // the fall may be over before the end of the stretch
	}
	low := i
	for i > 0 && pts[i-1].Value > pts[i].Value+clearFall {
		i--
	}
	if low == i || i < 2 || pts[i].Value-pts[low].Value < 4*clearFall {
		return span.Moment{}, false
	}
	// The thrust follows the levers by a third of the most it can.
	at := ((pts[i].At + pts[i+1].At) / 2).Add(-spoolLag / 3)
	return span.Within(at, pts[i].At, pts[i+1].At), true
}

// reduction walks each engine back from the fall of the thrust to where its
// value last held, and joins the engines: levers are pulled together, so the
// brackets of all engines hold one instant.
func (f *finder) reduction(p flightdata.Parameter, c candidate) span.Moment {
	var joint span.Moment
	for n := 1; n <= f.prof.Engines; n++ {
		m := f.lastHeld(f.rec.Get(p.Engine(n)), c)
		switch {
		case !m.Known:
		case !joint.Known:
			joint = m
		case max(joint.Earliest, m.Earliest) <= min(joint.Latest, m.Latest):
			joint.Earliest, joint.Latest = max(joint.Earliest, m.Earliest), min(joint.Latest, m.Latest)
			joint.At = min(max((joint.At+m.At)/2, joint.Earliest), joint.Latest)
		case m.At > joint.At:
			joint = m // an engine that failed earlier fell before the cut
		}
	}
	return joint
}

// cutReach is how long before the fall below the threshold a reduction can
// have begun: the slowest engines take several seconds from takeoff thrust.
const cutReach = 12 * time.Second

// lastHeld finds where a value that is low at the end of the candidate began
// its fall: between the last sample of the plateau and the first below it.
func (f *finder) lastHeld(s *flightdata.Series, c candidate) span.Moment {
	if s.Len() == 0 || s.Kind == flightdata.Discrete {
		return span.Moment{}
	}
	pts := slices.Collect(s.Good(span.Span{From: c.To.Add(-cutReach), To: c.To.Add(s.Period*2 + 1)}))
	if len(pts) < 3 {
		return span.Moment{}
	}
	high := pts[0].Value
	for _, p := range pts {
		high = max(high, p.Value)
	}
	low := pts[len(pts)-1].Value
	eps := 0.015 * max(math.Abs(high), 1) // noise and quantisation of the plateau
	if high-low < 4*eps {
		return span.Moment{} // it did not fall here
	}
	i := len(pts) - 1
	for i > 0 && (pts[i].Value < high-4*eps || pts[i-1].Value > pts[i].Value+eps) {
		i--
	}
	return heldUntil(pts, i, eps)
}

// heldUntil places the start of the ramp after plateau sample i. A ramp that
// the samples resolve is drawn back to the plateau by its slope; a fall that
// is over within a sample or two can have begun anywhere between the two, and
// the middle is the best guess.
func heldUntil(pts []flightdata.Point, i int, eps float64) span.Moment {
	if i+1 >= len(pts) {
		return span.Moment{}
	}
	a, b := pts[i], pts[i+1]
	at := (a.At + b.At) / 2
	if i+3 < len(pts) {
		fall, next := b.Value-pts[i+2].Value, pts[i+2].Value-pts[i+3].Value
		if fall > eps && next > fall/2 && next < fall*2 {
			slope := fall / pts[i+2].At.Sub(b.At).Seconds()
			at = b.At.Add(-time.Duration((a.Value - b.Value) / slope * 1e9))
		}
	}
	early := a.At
	if i > 0 && pts[i-1].Value > a.Value+eps/3 {
		early = pts[i-1].At // the plateau sample may already have begun to fall
	}
	slack := b.At.Sub(a.At) / 6 // noise of the samples, and a first fall too small to see
	return span.Within(min(max(at, a.At), b.At), early.Add(-slack), b.At.Add(slack/2))
}

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

func sortAttempts(a []Attempt) {
	slices.SortStableFunc(a, func(x, y Attempt) int { return cmp.Compare(x.ThrustAdvance.At, y.ThrustAdvance.At) })
}

func sortLookAlikes(l []LookAlike) {
	slices.SortStableFunc(l, func(x, y LookAlike) int { return cmp.Compare(x.Span.From, y.Span.From) })
}
