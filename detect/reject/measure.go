package reject

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"rollonset/detect/motion"
	"rollonset/detect/takeoff"
	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// actionReach is how long after the thrust cut an action still belongs to the
// start of the reject.
const actionReach = 15 * time.Second

// Measure measures the reject of an attempt, nil for an attempt that was not
// given up. Figures that cannot be told are NaN or unknown.
func Measure(rec *flightdata.Recording, prof *profile.Profile, a *takeoff.Attempt) *Measures {
	if !a.Reject() {
		return nil
	}
	m := measurer{rec: rec, prof: prof, a: a, out: blank(), track: motion.Of(rec, span.Span{})}
	if a.Rolled() {
		m.track = a.Motion(rec)
	}
	m.actions()
	m.speeds()
	m.against()
	m.cues()
	if a.Rolled() {
		m.distances()
		m.decelerations()
		m.energy()
		m.deviations()
	}
	m.severity()
	return m.out
}

// PerhapsStart is the first action of what may have been a reject, of an
// attempt whose data was lost while its thrust fell; not known of any other.
func PerhapsStart(rec *flightdata.Recording, prof *profile.Profile, a *takeoff.Attempt) span.Moment {
	if !a.PerhapsCut.Known {
		return span.Moment{}
	}
	perhaps := *a
	perhaps.ThrustCut = a.PerhapsCut
	m := measurer{rec: rec, prof: prof, a: &perhaps, out: blank()}
	m.actions()
	return m.out.FirstAction.At
}

// blank is a measurement in which nothing is told yet.
func blank() *Measures {
	n := math.NaN()
	return &Measures{
		V1: n, MeanDeceleration: n, PeakDeceleration: n, ToCut: n, ToPeak: n, ToStop: n, PositionToStop: n,
		ToCutLow: n, ToCutHigh: n, ToStopLow: n, ToStopHigh: n, CutToStop: n, CutToStopTime: n,
		Energy: n, EnergyPerWheel: n, HeadingDeviation: n, LateralDeviation: n, RunwayLeft: n,
	}
}

type measurer struct {
	rec  *flightdata.Recording
	prof *profile.Profile
	a    *takeoff.Attempt
	out  *Measures
	// track is the speed over the ground, on time where that can be told.
	track motion.Track
}

func (m *measurer) series(p flightdata.Parameter) *flightdata.Series { return m.rec.Get(p) }

// actions finds what was done to stop, in order of the moments.
func (m *measurer) actions() {
	cut := m.a.ThrustCut
	if !cut.Known {
		cut = span.Within(m.a.End, m.a.ThrustAdvance.At, m.a.End)
	}
	acts := []Action{{What: "thrust", At: cut}}
	sp := span.Span{From: max(cut.At.Add(-m.prof.Reject.CueWithin), m.a.ThrustAdvance.At), To: min(cut.At.Add(actionReach), m.a.End+1)}
	for _, side := range sides(flightdata.BrakePressure) {
		acts = m.rise(acts, "brakes", m.series(side), m.prof.Reject.BrakesOn, sp)
	}
	for _, side := range sides(flightdata.SpeedbrakeLever) {
		acts = m.rise(acts, "speedbrake", m.series(side), m.prof.Reject.LeverOut, sp)
	}
	for n := 1; n <= m.prof.Engines; n++ {
		s := m.series(flightdata.ThrustReverser.Engine(n))
		if s.Len() == 0 {
			continue
		}
		// Two samples back: a reverser that reads as out all along, which is
		// its sensor, is no action.
		for _, ep := range trigger.InState(s, trigger.Rule{}, sp.Widen(2*s.Period, 0), 1, 2).Episodes {
			if ep.OpenStart || ep.From.At < sp.From {
				continue
			}
			acts = earliest(acts, Action{"reverse", ep.From})
			break
		}
	}
	slices.SortStableFunc(acts, func(a, b Action) int { return cmp.Compare(a.At.At, b.At.At) })
	m.out.Actions, m.out.FirstAction = acts, acts[0]
	m.out.Order = unresolved(acts)
}

// sides are the parameter itself and its left and right.
func sides(p flightdata.Parameter) []flightdata.Parameter {
	return []flightdata.Parameter{p, p.Left(), p.Right()}
}

// rise adds the first crossing of the level from below; a value above it all
// along is no action.
func (m *measurer) rise(acts []Action, what string, s *flightdata.Series, level float64, sp span.Span) []Action {
	if s.Len() == 0 || math.IsNaN(level) {
		return acts
	}
	// Look back two samples, so that a value already high is seen as such.
	back := s.Period * 2
	for _, ep := range trigger.Above(s, trigger.Rule{On: level, Off: level / 2}, sp.Widen(back, 0)).Episodes {
		if ep.OpenStart || ep.From.At < sp.From {
			continue
		}
		return earliest(acts, Action{what, jumped(s, ep.From, level)})
	}
	return acts
}

// jumped puts the moment of a rise that is over within a sample into the
// middle of its bracket: the line between two samples says nothing about a
// pedal that was pressed at once.
func jumped(s *flightdata.Series, m span.Moment, level float64) span.Moment {
	if r := s.Hold(m.Latest); r.OK && r.Value >= 2*level {
		m.At = (m.Earliest + m.Latest) / 2
	}
	return m
}

// earliest adds an action, or moves the one of the same kind to the earlier
// moment.
func earliest(acts []Action, a Action) []Action {
	for i := range acts {
		if acts[i].What == a.What {
			if a.At.At < acts[i].At.At {
				acts[i].At = a.At
			}
			return acts
		}
	}
	return append(acts, a)
}

// unresolved names the neighbours in the list whose order the brackets do
// not carry.
func unresolved(acts []Action) string {
	var pairs []string
	for i := 0; i+1 < len(acts); i++ {
		if span.Compare(acts[i].At, acts[i+1].At) == span.NotResolvable {
			pairs = append(pairs, acts[i].What+" and "+acts[i+1].What)
		}
	}
	if len(pairs) == 0 {
		return ""
	}
	return "not resolvable: " + strings.Join(pairs, ", ")
}

// at reads a series at a moment; the bracket of the moment widens the bracket
// of the value.
func at(s *flightdata.Series, t span.Moment) flightdata.Reading {
	if !t.Known {
		return flightdata.Reading{Why: "the moment is not known"}
	}
	r := s.At(t.At)
	if !r.OK {
		return r
	}
	edges := []span.Instant{t.Earliest, t.Latest}
	if s.Parameter == flightdata.GroundSpeed {
		edges = append(edges, t.Latest.Add(motion.MaxLag))
	}
	for _, edge := range edges {
		if e := s.At(edge); e.OK {
			r.Low, r.High = min(r.Low, e.Low), max(r.High, e.High)
		}
	}
	return turned(s, aged(s, r, t), t)
}

// fastestChange is how fast, kt/s, a speed can change on a runway, wide: half a
// g is 9.5 kt/s, which takeoffs do not reach and hard stops hardly do (common
// practice, no published source).
const fastestChange = 10

// aged widens the bracket of a speed whose last sample is not followed by
// another near enough, a frozen one being none: it has moved on since.
func aged(s *flightdata.Series, r flightdata.Reading, t span.Moment) flightdata.Reading {
	last, ok := s.Last(t.Latest)
	if next, near := s.Next(t.Latest); !ok || near && next.At.Sub(last.At) <= s.MaxAge() {
		return r
	}
	gone := fastestChange * t.Latest.Sub(last.At).Seconds()
	r.Low, r.High = r.Low-gone, r.High+gone
	return r
}

// quantised widens the bracket of a ground speed by half a knot, what quantum
// and lag leave open of it.
func quantised(r flightdata.Reading) flightdata.Reading {
	if r.OK {
		r.Low, r.High = r.Low-0.5, r.High+0.5
	}
	return r
}

// turned widens the bracket of a speed where the samples around the moment
// show that it turned between two of them: at a reject the highest speed
// often falls between samples, and none of them shows it.
func turned(s *flightdata.Series, r flightdata.Reading, t span.Moment) flightdata.Reading {
	pts := slices.Collect(s.Good(span.Span{From: t.Earliest.Add(-2 * s.MaxAge()), To: t.Latest.Add(2*s.MaxAge() + 1)}))
	for i := 0; i+3 < len(pts); i++ {
		a, b, c, d := pts[i], pts[i+1], pts[i+2], pts[i+3]
		if d.At.Sub(c.At) > s.MaxAge() || c.At.Sub(b.At) > s.MaxAge() || b.At.Sub(a.At) > s.MaxAge() || c.At < t.Earliest || b.At > t.Latest {
			continue
		}
		if p, ok := trigger.Corner(a, b, c, d); ok {
			r.Low, r.High = min(r.Low, p.Value), max(r.High, p.Value)
		}
	}
	return r
}

// over is the ground speed at a moment: fused with the acceleration where that
// is to be had, else as it was recorded.
func (m *measurer) over(t span.Moment) flightdata.Reading {
	if m.track.Fused && t.Known {
		return m.track.Over(t.At, t.Earliest, t.Latest)
	}
	return quantised(at(m.series(flightdata.GroundSpeed), t))
}

func (m *measurer) speeds() {
	cas := m.series(flightdata.Airspeed)
	o := m.out
	o.GroundAtAction, o.AirAtAction = m.over(o.FirstAction.At), at(cas, o.FirstAction.At)
	o.GroundAtCut, o.AirAtCut = m.over(m.a.ThrustCut), at(cas, m.a.ThrustCut)
	o.PeakGround = m.a.PeakSpeed
	if m.a.Rolled() {
		sp := span.Span{From: m.a.RollStart.At, To: m.a.End + 1}
		for p := range cas.Good(sp) {
			if !o.PeakAir.OK || p.Value > o.PeakAir.Value {
				o.PeakAir = flightdata.Reading{Value: p.Value, Low: p.Value, High: p.Value, OK: true}
			}
		}
	}
	o.Class = m.class()
}

// class is by the ground speed at the thrust cut, by the airspeed where that
// is not known.
func (m *measurer) class() string {
	if m.a.Outcome == takeoff.RejectedNoRoll {
		return "before the roll"
	}
	r := m.out.GroundAtCut
	if !r.OK {
		r = m.out.AirAtCut
	}
	if r.OK && r.Value >= m.prof.Reject.Boundary {
		return "high-speed"
	}
	return "low-speed"
}

// against compares the airspeed at the first action with V1, where V1 was
// recorded or listed.
func (m *measurer) against() {
	o := m.out
	if r := m.series(flightdata.V1).Hold(m.a.End); r.OK && flightdata.TakeoffSpeed(r.Value) {
		o.V1, o.V1From = r.Value, "recorded"
	} else if p := m.rec.Plan; p != nil && p.V1 != nil && flightdata.TakeoffSpeed(*p.V1) {
		o.V1, o.V1From = *p.V1, "flight list"
	} else {
		return
	}
	air := o.AirAtAction
	switch {
	case air.OK && air.Low > o.V1 && o.GroundAtAction.OK && o.GroundAtAction.High < o.V1/2:
		o.AgainstV1 = "not resolvable" // the airspeed is a spike, or the ground speed is wrong
	case air.OK && air.High < o.V1:
		o.AgainstV1 = "before V1"
	case air.OK && air.Low > o.V1:
		o.AgainstV1 = "after V1"
	case !air.OK && o.GroundAtAction.OK && o.GroundAtAction.High < o.V1/2:
		// Below the floor of the air data, and far too slow on the ground.
		o.AgainstV1 = "before V1"
	default:
		o.AgainstV1 = "not resolvable"
	}
}

// severity grades the reject and says by which rule.
func (m *measurer) severity() {
	o := m.out
	fast := max(valueOr(o.GroundAtCut, 0), valueOr(o.PeakGround, 0))
	switch {
	case o.Class != "before the roll" && o.AgainstV1 == "after V1":
		o.Severity, o.Rule = "high", "first action after V1"
	case o.Class == "high-speed" && fast >= m.prof.Reject.HighFrom:
		o.Severity, o.Rule = "high", fmt.Sprintf("at or above %.0f kt", m.prof.Reject.HighFrom)
	case o.Class == "high-speed":
		o.Severity, o.Rule = "medium", fmt.Sprintf("thrust cut at or above %.0f kt", m.prof.Reject.Boundary)
	case o.Class == "low-speed":
		o.Severity, o.Rule = "low", fmt.Sprintf("thrust cut below %.0f kt", m.prof.Reject.Boundary)
	default:
		o.Severity, o.Rule = "low", "given up before the roll"
	}
}

func valueOr(r flightdata.Reading, other float64) float64 {
	if r.OK {
		return r.Value
	}
	return other
}
