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

// cues collects what was recorded within CueWithin before the first action.
func (m *measurer) cues() {
	to := m.out.FirstAction.At.At
	sp := span.Span{From: max(to.Add(-m.prof.Reject.CueWithin), m.a.ThrustAdvance.At), To: to + 1}
	if w := m.prof.Warning; w != nil {
		m.cueOn("takeoff warning", w.Parameter, sp)
	}
	m.cueOn("master warning", flightdata.MasterWarning, sp)
	m.cueThrust(sp)
	m.cueHeading(sp)
	slices.SortStableFunc(m.out.Cues, func(a, b Cue) int { return cmp.Compare(a.At.At, b.At.At) })
}

// cueOn adds the first "on" of a warning that began before the action; one
// that began earlier than the window counts from its beginning.
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
	for p := range s.Good(sp) {
		if math.Abs(math.Remainder(p.Value-ref, 360)) >= deviates {
			m.out.Cues = append(m.out.Cues, Cue{"directional deviation", span.Within(p.At, p.At.Add(-s.Period), p.At)})
			return
		}
	}
}
