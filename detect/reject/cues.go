package reject

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// The levels of the cues; common practice, no published source.
const (
	deviates   = 5.0  // deg off the heading of the roll
	thrustLoss = 0.15 // share of the level that one engine loses while others hold
)

// cues collects what came within CueWithin before the first action, and the
// warnings that were still on then: a crew may act on one that goes on. Such a
// warning counts from its beginning. Anything else that was there before goes
// on and says nothing of this moment.
func (m *measurer) cues() {
	to := m.out.FirstAction.At.At
	sp := span.Span{From: max(to.Add(-m.prof.Reject.CueWithin), m.a.ThrustAdvance.At), To: to + 1}
	if w := m.prof.Warning; w != nil {
		m.cueOn("takeoff warning", w.Parameter, sp)
	}
	m.cueOn("master warning", flightdata.MasterWarning, sp)
	m.cueThrust(sp)
	m.cueHeading(sp)
	m.cueAirspeed(sp)
	slices.SortStableFunc(m.out.Cues, func(a, b Cue) int { return cmp.Compare(a.At.At, b.At.At) })
}

// cueOn adds the first "on" of a warning that was on in sp; one that came on
// earlier counts from its beginning.
func (m *measurer) cueOn(what string, p flightdata.Parameter, sp span.Span) {
	s := m.series(p)
	if s.Len() == 0 {
		return
	}
	wide := span.Span{From: m.a.ThrustAdvance.At.Add(-5 * time.Second), To: sp.To}
	for _, ep := range trigger.InState(s, trigger.Rule{}, wide, slices.Index(s.States, "on")).Episodes {
		if ep.To.At >= sp.From {
			m.out.Cues = append(m.out.Cues, Cue{what, ep.From})
			return
		}
	}
}

// cueThrust finds an engine that lost thrust before the first action while
// at least one other held.
func (m *measurer) cueThrust(sp span.Span) {
	measure := m.prof.Thrust.Measure
	if measure == flightdata.ThrustLever {
		return // a lever does not show what the engine does
	}
	steady := func(s *flightdata.Series) (flightdata.Reading, flightdata.Reading) { return s.At(sp.From), s.At(sp.To) }
	held := false
	for n := 1; n <= m.prof.Engines; n++ {
		a, b := steady(m.series(measure.Engine(n)))
		held = held || a.OK && b.OK && b.Value >= a.Value*(1-thrustLoss/2) && b.Value >= m.prof.Thrust.Threshold
	}
	for n := 1; n <= m.prof.Engines && held; n++ {
		s := m.series(measure.Engine(n))
		high, fell := math.Inf(-1), false
		var before span.Instant
		for p := range s.Good(sp) {
			if fell = p.Value < high*(1-thrustLoss) && high >= m.prof.Thrust.Threshold; fell {
				m.out.Cues = append(m.out.Cues, Cue{fmt.Sprintf("thrust loss on engine %d", n), span.Within(p.At, before, p.At)})
				break
			}
			high, before = max(high, p.Value), p.At
		}
	}
}

func (m *measurer) cueHeading(sp span.Span) {
	if !m.a.Rolled() {
		return
	}
	ref, ok := m.runwayHeading()
	s := m.series(flightdata.Heading)
	if !ok {
		return
	}
	off := true // until a sample shows that it was not
	for p := range s.Good(sp.Widen(2*s.Period, 0)) {
		was := off
		off = math.Abs(math.Remainder(p.Value-ref, 360)) >= deviates
		if off && !was && p.At >= sp.From {
			m.out.Cues = append(m.out.Cues, Cue{"directional deviation", span.Within(p.At, p.At.Add(-s.Period), p.At)})
			return
		}
	}
}

// airspeedsOff is by how much two airspeeds, and airspeedOff by how much an
// airspeed and the ground speed must part, kt, for two samples; common
// practice, no published source. Wind and height set air and ground apart by
// more than they set two sides apart.
const (
	airspeedsOff = 10.0
	airspeedOff  = 20.0
)

// cueAirspeed finds an airspeed that parts from the other side's, or from the
// ground speed by more than it did in the roll before.
func (m *measurer) cueAirspeed(sp span.Span) {
	if !m.a.Rolled() {
		return
	}
	left, right := m.series(flightdata.Airspeed.Left()), m.series(flightdata.Airspeed.Right())
	at, ok := parts(left, right, 0, airspeedsOff, sp)
	for _, side := range sides(flightdata.Airspeed) {
		s, gs := m.series(side), m.series(flightdata.GroundSpeed)
		usual, told := usualGap(s, gs, span.Span{From: m.a.RollStart.At, To: sp.From})
		if !told {
			continue
		}
		if t, found := parts(s, gs, usual, airspeedOff, sp); found && (!ok || t.At < at.At) {
			at, ok = t, true
		}
	}
	if ok {
		m.out.Cues = append(m.out.Cues, Cue{"airspeed disagreement", at})
	}
}

// usualGap is the median of a less b over sp; false with fewer than five
// samples, for the first ones above the floor of the air data are rough.
func usualGap(a, b *flightdata.Series, sp span.Span) (float64, bool) {
	var gaps []float64
	for p := range a.Good(sp) {
		if r := b.At(p.At); r.OK {
			gaps = append(gaps, p.Value-r.Value)
		}
	}
	if len(gaps) < 5 {
		return 0, false
	}
	slices.Sort(gaps)
	return gaps[len(gaps)/2], true
}

// parts finds the first of two samples of a in sp that are both further than
// most from b and the usual gap to it, after one that was not.
func parts(a, b *flightdata.Series, usual, most float64, sp span.Span) (span.Moment, bool) {
	if a.Len() == 0 || b.Len() == 0 {
		return span.Moment{}, false
	}
	var last flightdata.Point
	var first span.Moment
	near := false // a sample before was as usual
	for p := range a.Good(sp.Widen(2*a.Period, 0)) {
		r := b.At(p.At)
		off := r.OK && math.Abs(p.Value-r.Value-usual) >= most
		switch {
		case off && first.Known:
			return first, true
		case off && near && p.At >= sp.From:
			first = span.Within(p.At, last.At, p.At)
		case r.OK && !off:
			near, first = true, span.Moment{}
		}
		last = p
	}
	return span.Moment{}, false
}
