package takeoff

import (
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

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
// the fuel control to act; common practice, no published source. spoolUsual is
// what is taken for the single best value.
const (
	spoolLag   = 300 * time.Millisecond
	spoolUsual = spoolLag / 3
	// fallSlack is what noise and the bend of the fall leave open of where it
	// began.
	fallSlack = 60 * time.Millisecond
)

// narrowed brings the fall of the acceleration to bear on a cut that slow
// samples leave wider than the lag between the two: thrust is cut before the
// acceleration falls, and not long before. A fall before the bracket is brakes
// and says nothing.
func (f *finder) narrowed(m span.Moment, c candidate) span.Moment {
	s := f.rec.Get(flightdata.LongAcceleration)
	if !m.Known || s.Len() == 0 || m.Width() <= spoolLag {
		return m
	}
	fall, ok := f.accelerationFall(s, span.Span{From: m.Earliest.Add(-2 * time.Second), To: m.Latest.Add(2 * spoolLag)})
	early, late := max(m.Earliest, fall.Earliest.Add(-spoolLag)), min(m.Latest, fall.Latest)
	if !ok || late <= early {
		return m
	}
	if f.nodding(m) {
		// Likely enough for the best value, but no proof: the bracket stays.
		return span.Within(min(max(fall.At.Add(-spoolUsual), early), late), m.Earliest, m.Latest)
	}
	return span.Within(min(max(fall.At.Add(-spoolUsual), early), late), early, late)
}

// nodding says whether the nose moves about a moment, and the pitch is sampled
// too slowly to take what the accelerometer feels of it off: half a degree is
// as much as clearFall.
func (f *finder) nodding(m span.Moment) bool {
	s := f.rec.Get(flightdata.Pitch)
	low, high := math.Inf(1), math.Inf(-1)
	for p := range s.Good(span.Span{From: m.Earliest.Add(-time.Second), To: m.Latest.Add(time.Second)}) {
		low, high = min(low, p.Value), max(high, p.Value)
	}
	return high-low > 0.5 && s.Period > spoolLag
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
	if at, ok := bend(pts, i); ok {
		return span.Within(at, at.Add(-fallSlack), at.Add(fallSlack)), true
	}
	return span.Within((pts[i].At+pts[i+1].At)/2, pts[i].At, pts[i+1].At), true
}

// bend is where the line through the first two samples of the fall after
// sample i meets the level before it. An engine loses thrust at a steady rate
// at first, so the line is straight until the brakes bite; a fall that steepens
// at once is theirs, and one over within a sample shows no line.
func bend(pts []flightdata.Point, i int) (span.Instant, bool) {
	if i+2 >= len(pts) {
		return 0, false
	}
	level := levelBefore(pts, i)
	b, c := pts[i+1], pts[i+2]
	slope := (c.Value - b.Value) / c.At.Sub(b.At).Seconds()
	first := level - b.Value
	if slope >= 0 || first < clearFall/2 || b.Value-c.Value < first/2 {
		return 0, false
	}
	at := b.At.Add(time.Duration(first / slope * 1e9))
	// The level before may hide the very beginning, but no more of it than
	// clearFall between two samples.
	return min(max(at, pts[i-1].At), b.At), true
}

// levelBefore is the mean of the steady samples up to sample i.
func levelBefore(pts []flightdata.Point, i int) float64 {
	sum, n := 0.0, 0
	for k := i; k >= 0 && n < 6 && math.Abs(pts[k].Value-pts[i].Value) <= clearFall; k-- {
		sum, n = sum+pts[k].Value, n+1
	}
	return sum / float64(n)
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
