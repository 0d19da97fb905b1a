package takeoff

import (
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Result is everything that Find tells of one recording.
type Result struct {
	Attempts   []Attempt
	LookAlikes []LookAlike
	Notes      []flightdata.Note
	// Windows are the stretches that were looked at to tell them, candidates
	// that came to nothing included: a clip of these gives the same Result.
	Windows span.Set
}

// Lead and tail of a candidate that its verdict looks at: the time airborne
// before it, a steady stretch for baselines, and what came after.
const (
	leadTime = 80 * time.Second
	tailTime = 45 * time.Second
)

// Find finds the takeoff attempts of a recording. It never fails: what the
// recording cannot tell is said in the notes.
func Find(rec *flightdata.Recording, prof *profile.Profile) Result {
	e := gather(rec, prof)
	f := finder{evidence: e, rule: prof.Attempt, windows: e.doubt}
	for _, c := range f.candidates() {
		f.judge(c)
	}
	f.settleStanding()
	f.landings()
	f.lonelyLiftOffs()
	for i := range f.out.Attempts {
		f.out.Attempts[i].Number = i + 1
	}
	f.out.Notes = e.notes
	f.out.Windows = f.fromTheAdvance(span.Of(f.windows...)).And(span.Of(e.whole()))
	return f.out
}

// fromTheAdvance moves the start of every window that begins under thrust to
// before that thrust was advanced: a clip that begins in the middle of it would
// show a later advance of another engine as the first.
func (f *finder) fromTheAdvance(windows span.Set) span.Set {
	// Forward or in reverse: the clip has to see where the level was passed.
	var forward []span.Set
	for _, g := range f.engines {
		forward = append(forward, g.forward.True())
	}
	on := span.CountAtLeast(1, forward...).Merge(f.rule.NoAdvance)
	for {
		var more []span.Span
		for _, w := range windows {
			if thrust, ok := on.At(w.From); ok && w.From > f.whole().From {
				more = append(more, span.Span{From: thrust.From.Add(-doubtAround), To: w.From})
			}
		}
		if len(more) == 0 {
			return windows
		}
		windows = windows.Or(span.Of(more...))
	}
}

// finder walks the candidates in time order.
type finder struct {
	*evidence
	rule    profile.AttemptRule
	out     Result
	windows []span.Span
	// standing are candidates without movement, settled at the end when
	// later takeoffs are known.
	standing []candidate
}

// candidate is one stretch of advanced thrust that starts on the ground.
type candidate struct {
	span.Span             // from thrust advance to the last engine's fall
	advance   span.Moment // the crossing that armed it
	cutOpen   bool        // the data ends or drops out while thrust is on
	nextFrom  span.Instant
}

// candidates joins armed stretches into candidates. The end of one is where
// no engine is left above the threshold; a new advance within NoAdvance joins.
func (f *finder) candidates() []candidate {
	var out []candidate
	on := f.anyOn.Merge(f.rule.NoAdvance)
	for _, a := range f.armed {
		if n := len(out); n > 0 && a.From < out[n-1].To {
			continue // still the same thrust
		}
		whole, ok := on.At(a.From)
		if !ok {
			whole = a
		}
		c := candidate{Span: span.Span{From: a.From, To: whole.To}, advance: f.crossing(a.From)}
		c.cutOpen = f.openAt(c.To)
		out = append(out, c)
	}
	for i := range out {
		out[i].nextFrom = f.whole().To
		if i+1 < len(out) {
			out[i].nextFrom = out[i+1].From
		}
	}
	return out
}

// crossing is the moment behind an arming instant: the crossing of the
// engine that completed the count, with its samples as bracket and a tenth of
// it on either side for the noise of the samples themselves.
func (f *finder) crossing(t span.Instant) span.Moment {
	m := span.Exactly(t)
	for _, g := range f.engines {
		for _, ep := range g.forward.Episodes {
			if ep.From.At == t && !ep.OpenStart {
				slack := ep.From.Width() / 10
				m = span.Within(t, min(m.Earliest, ep.From.Earliest.Add(-slack)), max(m.Latest, ep.From.Latest.Add(slack)))
			}
		}
	}
	return m
}

// openAt says whether thrust is lost, rather than reduced, at t.
func (f *finder) openAt(t span.Instant) bool {
	for _, g := range f.engines {
		for _, ep := range g.forward.Episodes {
			if ep.OpenEnd && ep.To.At == t {
				return true
			}
		}
	}
	return false
}

// judge decides what a candidate is.
func (f *finder) judge(c candidate) {
	if f.airSet.Holds(c.From) {
		return // thrust in flight
	}
	lift, flew := f.liftOff(c)
	f.look(c, lift)
	speed, _ := f.speedAt(c.From)
	since, flown := f.airborneBefore(c.From)
	switch {
	case flown && speed >= f.rule.StartBelow && flew:
		f.touchAndGo(c, lift, since)
	case flown && f.landing(c, speed, lift):
		f.lookAlike("landing roll", c, fmt.Sprintf("airborne until %.1f s before, and the speed falls under thrust", since.Seconds()))
	case flew:
		f.attempt(c, Airborne, "sustained air state from "+f.groundBy, lift)
	case speed >= f.rule.StartBelow && !f.startsHere(c):
		f.lookAlike("already fast", c, fmt.Sprintf("thrust advanced on the ground at %.0f kt, at or above %.0f kt", math.Round(speed), f.rule.StartBelow))
	default:
		f.onGround(c)
	}
}

// look keeps the stretch that a candidate's verdict rests on for the clip. Of
// one that flew, flight under thrust adds nothing after the lift-off.
func (f *finder) look(c candidate, lift span.Moment) {
	to := c.To
	if lift.Known {
		to = min(to, lift.At)
	}
	f.keep(span.Span{From: c.From, To: to})
}

func (f *finder) keep(sp span.Span) {
	f.windows = append(f.windows, sp.Widen(leadTime, tailTime))
}

// liftAfterCut is how long after the last thrust a lift-off still belongs to
// it: thrust may be cut, or lost, in the rotation.
const liftAfterCut = 10 * time.Second

// liftOff is the first sustained air state that follows the advance while its
// thrust lasts, at a speed at which an aeroplane can fly.
func (f *finder) liftOff(c candidate) (span.Moment, bool) {
	for _, ep := range f.air {
		if ep.From.At < c.From {
			continue
		}
		if ep.From.At > c.To.Add(liftAfterCut) || ep.From.At >= c.nextFrom {
			break
		}
		if v, ok := f.speedAt(ep.From.At); ok && v < plausibleStill {
			continue
		}
		if !ep.OpenEnd && ep.To.Earliest.Sub(ep.From.Latest) < f.rule.AirborneFor {
			// The samples that show air do not span it: the struts of a nose held
			// up for a moment, in a takeoff rejected after rotation, look the same.
			continue
		}
		return f.flickered(ep.From), true
	}
	return span.Moment{}, false
}

// briefTouch is the longest that wheels which bounce are off the ground state
// between two samples: a sample of ground that much air lies around closely is a
// flicker rather than a bounce.
const briefTouch = 600 * time.Millisecond

// flickered goes back over single samples of ground just before a lift-off at
// m, each with air before it: either such a sample was a flicker, or the air
// before it was, and nothing tells which. The bracket opens to the last ground
// before all of them. The instant itself moves back only where several samples
// of air came first and the ground between them lasted too briefly for a bounce.
func (f *finder) flickered(m span.Moment) span.Moment {
	s := f.rec.Get(flightdata.AirGround)
	if f.groundBy != string(flightdata.AirGround) {
		return m
	}
	before := slices.Collect(s.Good(span.Span{From: m.At.Add(-unsettledFor), To: m.At}))
	next := m.At
	for end := len(before) - 1; end >= 1 && before[end].Value != 1 && before[end-1].Value == 1; {
		first := end - 1
		for first > 0 && before[first-1].Value == 1 {
			first--
		}
		if first == 0 {
			break // in the air as far back as is looked: a skip, not the lift-off
		}
		m.Earliest = before[first-1].At
		if end-first > 1 && next.Sub(before[end-1].At) <= briefTouch {
			m.At = before[first].At
		}
		next, end = before[first].At, first-1
	}
	return m
}

// unsettledFor is how long before the sustained air state the air/ground
// discrete can be unsettled.
const unsettledFor = 5 * time.Second

// airborneBefore says whether the aircraft was airborne within AirborneSince
// before t, and how long before.
func (f *finder) airborneBefore(t span.Instant) (time.Duration, bool) {
	for i := len(f.air) - 1; i >= 0; i-- {
		if to := f.air[i].To.At; to <= t {
			return t.Sub(to), t.Sub(to) <= f.rule.AirborneSince
		}
	}
	return 0, false
}

// landing says whether thrust soon after touchdown is reverse or braking
// thrust: the speed does not rise under it, up to the next lift-off.
func (f *finder) landing(c candidate, speed float64, lift span.Moment) bool {
	if speed >= f.rule.StartBelow {
		return true
	}
	to := c.To.Add(tailTime / 3)
	if lift.Known {
		to = min(to, lift.At)
	}
	peak, ok := f.fastest(span.Span{From: c.From, To: to})
	return !ok || peak.Value < speed+f.rule.SpeedFall
}

// startsHere says whether the thrust was on when the recording began.
func (f *finder) startsHere(c candidate) bool {
	for _, g := range f.engines {
		for _, ep := range g.forward.Episodes {
			if ep.OpenStart && ep.From.At == c.From {
				return true
			}
		}
	}
	return false
}

// coast is how long after the thrust is gone the speed can still rise from it,
// the lag of the recorded speed included. Movement that begins later belongs
// to the taxi after.
const coast = 3 * time.Second

func (f *finder) lookAlike(kind string, c candidate, why string) {
	sp := c.Span
	for _, ep := range f.air {
		if ep.From.At > sp.From {
			sp.To = min(sp.To, ep.From.At) // thrust in the flight after it is no part of it
			break
		}
	}
	f.out.LookAlikes = append(f.out.LookAlikes, LookAlike{Kind: kind, Span: sp, Why: why})
}

func (f *finder) undetermined(c candidate, why string) {
	f.attempt(c, Undetermined, why, span.Moment{})
}

// settleStanding tells, now that all rolls are known, which advances without
// movement were takeoffs given up before the roll and which were run-ups.
func (f *finder) settleStanding() {
	for _, c := range f.standing {
		switch {
		case f.turned(c.Span.Widen(0, 5*time.Second)) >= f.rule.TaxiTurn:
			f.lookAlike("taxi burst", c, "thrust to turn the aircraft at walking speed")
		case f.warned(c.Span.Widen(time.Second, 2*time.Second)):
			f.attempt(c, RejectedNoRoll, "no movement; the takeoff warning was recorded under the thrust", span.Moment{})
		case c.Length() >= f.rule.RunUpFrom:
			f.lookAlike("run-up", c, fmt.Sprintf("no movement for %.0f s under thrust, no warning", c.Length().Seconds()))
		case f.takeoffWithin(c.To, f.rule.RetryWithin):
			f.attempt(c, RejectedNoRoll, fmt.Sprintf("no movement; a takeoff roll followed within %.0f min", f.rule.RetryWithin.Minutes()), span.Moment{})
		default:
			f.lookAlike("run-up", c, "no movement, no warning, and no takeoff roll followed")
		}
	}
	sortAttempts(f.out.Attempts)
	sortLookAlikes(f.out.LookAlikes)
}

func (f *finder) takeoffWithin(t span.Instant, d time.Duration) bool {
	for _, a := range f.out.Attempts {
		if from := a.ThrustAdvance.At; a.Rolled() && from > t && from.Sub(t) <= d {
			return true
		}
	}
	return false
}

// touchAndGo records the go part. It is reported and not checked.
func (f *finder) touchAndGo(c candidate, lift span.Moment, since time.Duration) {
	f.attempt(c, TouchAndGo, fmt.Sprintf("airborne until %.1f s before the thrust was advanced at speed", since.Seconds()), lift)
}

// landings lists the stretches of reverse thrust after a landing. They are no
// candidates, because an engine in reverse is not advanced; they are listed so
// that a reader sees why that much thrust on a runway is no takeoff.
func (f *finder) landings() {
	var high []span.Set
	for _, g := range f.engines {
		high = append(high, g.forward.True())
	}
	need := f.prof.Thrust.Engines.Need(f.prof.Engines)
	for _, sp := range span.CountAtLeast(need, high...).AtLeast(f.prof.Thrust.Persistence) {
		since, flown := f.airborneBefore(sp.From)
		// Not thrust forward again much later, which a clip would not hold.
		soon := span.Span{From: sp.From, To: min(sp.To, sp.From.Add(tailTime))}
		if !flown || f.armed.Overlaps(soon) || f.airSet.Holds(sp.From) {
			continue
		}
		c := candidate{Span: sp}
		f.look(c, span.Moment{})
		f.lookAlike("landing roll", c, fmt.Sprintf("airborne until %.1f s before, with the reversers out", since.Seconds()))
	}
	sortLookAlikes(f.out.LookAlikes)
}

// lonelyLiftOffs notes lift-offs that no attempt explains, so that a missed
// takeoff is never silent.
func (f *finder) lonelyLiftOffs() {
	for _, ep := range f.air {
		if ep.OpenStart || f.explained(ep) {
			continue
		}
		f.note("lift-off at %.1f s without a thrust advance that explains it: no takeoff attempt is listed for it", ep.From.At.Seconds())
	}
}

func (f *finder) explained(ep trigger.Episode) bool {
	for _, a := range f.out.Attempts {
		if a.LiftOff.Known && a.LiftOff.At <= ep.From.At && ep.From.At.Sub(a.LiftOff.At) < time.Minute {
			return true
		}
	}
	v, ok := f.speedAt(ep.From.At)
	return ok && v < plausibleStill // a flicker while taxiing
}
