package configuration

import (
	"fmt"
	"math"
	"time"

	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Judge runs every check of the profile over one attempt. rejectStart is the
// first action of a reject, unknown when there was none; judging ends there.
// The findings are in the order of the profile's checks.
func Judge(rec *flightdata.Recording, prof *profile.Profile, a *takeoff.Attempt, rejectStart span.Moment) []Finding {
	out := make([]Finding, 0, len(prof.Checks))
	for i := range prof.Checks {
		j := judge{rec: rec, prof: prof, check: &prof.Checks[i], attempt: a}
		j.judged, j.ended = judgedSpan(&prof.Checks[i], a, rejectStart)
		j.ruler = newRuler(rec, j.check, j.judged.From)
		j.narrow()
		if why := misread(rec, j.check, a); why != "" {
			j.never = why
		}
		out = append(out, j.finding())
	}
	return out
}

// misread says which misread parameter keeps the check from being judged, ""
// for none. Every check needs the ground speed: without it nobody can tell
// where a reject began and so where judging ends. That of a reject ends with
// the first action, and a speedbrake or brakes that are not believed may have
// been it. A reverser may not: it comes out only with the lever of its engine
// at idle, after the thrust was cut (common practice, no published source).
func misread(rec *flightdata.Recording, c *profile.Check, a *takeoff.Attempt) string {
	need := []flightdata.Parameter{c.Watched(), flightdata.GroundSpeed}
	if a.Outcome == takeoff.Rejected {
		need = append(need, flightdata.SpeedbrakeLever, flightdata.BrakePressure, flightdata.BrakePressure.Left(), flightdata.BrakePressure.Right())
	}
	for _, p := range need {
		if why, ok := rec.Doubted[p]; ok {
			return fmt.Sprintf("%s is not believed: %s", p, why)
		}
	}
	return ""
}

// judgedSpan is from the onset (or roll start) to the first end condition,
// and which one that was.
func judgedSpan(c *profile.Check, a *takeoff.Attempt, rejectStart span.Moment) (span.Span, HowEnded) {
	sp := span.Span{From: a.Onset.At, To: a.End}
	if c.Judged.From == "roll start" && a.RollStart.Known {
		sp.From = max(sp.From, a.RollStart.At)
	}
	ended := ByDataEnd
	until := func(m span.Moment, how HowEnded) {
		if m.Known && m.At <= sp.To {
			sp.To, ended = m.At, how
		}
	}
	until(a.LiftOff, ByLiftOff)
	if c.Judged.To != "lift-off" {
		until(a.Rotation, ByRotate)
	}
	until(surely(a.ThrustCut), ByCut)
	until(surely(rejectStart), ByCut)
	sp.To = max(sp.To, sp.From)
	return sp, ended
}

// startOpen is the width of a bracket from which on the start of a reject is
// not told by samples around it but merely lies somewhere: common practice, no
// published source.
const startOpen = 2 * time.Second

// surely moves the start of a reject that cannot be told to the earliest at
// which it may have been: what comes after may be the stop.
func surely(start span.Moment) span.Moment {
	if start.Known && start.Width() > startOpen {
		start.At = start.Earliest
	}
	return start
}

// judge runs one check over one attempt.
type judge struct {
	rec     *flightdata.Recording
	prof    *profile.Profile
	check   *profile.Check
	attempt *takeoff.Attempt
	ruler   *ruler
	judged  span.Span
	ended   HowEnded
	never   string // why no part of the span can be judged, "" otherwise
}

func (j *judge) finding() Finding {
	f := Finding{
		Check: j.check.Name, Title: j.check.Title, ProfileLine: j.check.Line, Judged: j.judged,
		State: Unknown, AtOnset: Unknown,
		Value: math.NaN(), LimitLow: math.NaN(), LimitHigh: math.NaN(),
		Margin: math.NaN(), Worst: math.NaN(), MarginShare: math.NaN(),
		Limit: j.limitWords(),
	}
	f.Life, f.LifeWhy = Alive(j.rec, j.check)
	f.Raw = j.rawName()
	if j.never != "" {
		f.Reason = j.never
		return f
	}
	marks := j.marks()
	before, after := around(marks, j.judged.From)
	j.limitSettled(before, after)
	j.atOnset(&f, before, after)
	j.stretches(&f, marks)
	j.settle(&f, marks, before)
	if f.State == Outside {
		f.Severity, f.Rule = j.severity(&f)
	}
	return f
}

// marks measures the samples from the last one before the judged span to the
// first one after it.
func (j *judge) marks() []mark {
	s := j.ruler.watch
	var out []mark
	if p, ok := s.Last(j.judged.From); ok && j.judged.From.Sub(p.At) <= s.MaxAge() {
		out = append(out, j.ruler.mark(p))
	}
	for p := range s.Good(span.Span{From: j.judged.From + 1, To: j.judged.To}) {
		out = append(out, j.ruler.mark(p))
	}
	if p, ok := s.Next(max(j.judged.To-1, j.judged.From)); ok && p.At.Sub(j.judged.To) <= s.MaxAge() {
		out = append(out, j.ruler.mark(p))
	}
	return out
}

// around finds the marks on either side of t; nil where there is none.
func around(marks []mark, t span.Instant) (before, after *mark) {
	for i := range marks {
		if marks[i].at <= t {
			before = &marks[i]
		} else if after == nil {
			after = &marks[i]
		}
	}
	return before, after
}

// limitSettled measures the sample before the onset against the limit of the
// onset, when only the limit can have changed since: a lever that had reached
// its detent before the onset has chosen the limit, however old the sample of
// the surface is. It must give one state for the samples on both sides of the
// onset and for the setting that was sampled next.
func (j *judge) limitSettled(before, after *mark) {
	b := j.check.Band
	if b == nil || before == nil || after == nil || before.state == after.state {
		return
	}
	at := []span.Instant{j.judged.From}
	if b.Select != "" {
		next, ok := j.rec.Get(b.Select).Next(j.judged.From)
		if !ok {
			return
		}
		at = append(at, next.At)
	}
	settled := j.ruler.mark(flightdata.Point{At: at[0], Value: before.value})
	for _, t := range at {
		for _, v := range []float64{before.value, after.value} {
			if m := j.ruler.mark(flightdata.Point{At: t, Value: v}); m.state == Unknown || m.state != settled.state {
				return
			}
		}
	}
	settled.at = before.at
	*before = settled
}

// atOnset tells the state at the onset from the samples on both sides.
func (j *judge) atOnset(f *Finding, before, after *mark) {
	switch {
	case before == nil:
		f.Reason = j.missing()
		return
	case after != nil && after.state != before.state && j.judged.From > before.at:
		f.AtOnset = Unknown
		f.Reason = fmt.Sprintf("%s between the samples at %.2f s and %.2f s from the onset: the state at the onset lies between them",
			changeWords(before.state, after.state), before.at.Sub(j.judged.From).Seconds(), after.at.Sub(j.judged.From).Seconds())
	default:
		f.AtOnset = before.state
		f.Reason = before.reason
	}
	f.Value, f.Margin = before.value, before.margin
	f.LimitLow, f.LimitHigh = before.low, before.high
	f.Age = j.judged.From.Sub(before.at)
	f.Text = j.text(before.value)
	if width := before.high - before.low; width > 0 && !math.IsInf(width, 0) {
		f.MarginShare = before.margin / width
	}
	if j.moving(before, after) {
		f.Text += ", moving"
	}
}

func changeWords(from, to State) string {
	return fmt.Sprintf("changed from %s to %s", from, to)
}

// moving says whether a one-of value is on its way between two samples.
func (j *judge) moving(before, after *mark) bool {
	return j.check.OneOf != nil && before != nil && after != nil &&
		math.Abs(after.value-before.value) > j.check.OneOf.Tolerance
}

// missing says why there is no sample at the onset.
func (j *judge) missing() string {
	p := j.check.Watched()
	switch {
	case j.rec.Get(p) == nil:
		return fmt.Sprintf("%s is not recorded", p)
	case !j.rec.Has(p):
		return fmt.Sprintf("%s: every sample is masked or missing", p)
	}
	r := j.ruler.watch.Hold(j.judged.From)
	return fmt.Sprintf("%s: %s at the onset", p, r.Why)
}

// stretches joins outside marks into stretches and keeps those that count.
func (j *judge) stretches(f *Finding, marks []mark) {
	for i := 0; i < len(marks); {
		if marks[i].state != Outside {
			i++
			continue
		}
		k := i
		for k < len(marks) && marks[k].state == Outside {
			k++
		}
		if s, ok := j.stretch(marks, i, k); ok {
			f.Stretches = append(f.Stretches, s)
		}
		i = k
	}
}

// stretch makes one stretch of marks[i:k] and says whether it counts.
func (j *judge) stretch(marks []mark, i, k int) (Stretch, bool) {
	first, last := marks[i], marks[k-1]
	beforeOnset := first.at <= j.judged.From
	if last.at < j.judged.From || first.at >= j.judged.To && i > 0 && j.judged.To > j.judged.From {
		return Stretch{}, false
	}
	if beforeOnset && last.at <= j.judged.From && k < len(marks) && first.at < j.judged.From {
		return Stretch{}, false // corrected around the onset: told by atOnset
	}
	if !j.lasted(first, last, k-i) {
		return Stretch{}, false
	}
	s := Stretch{From: span.Within(first.at, first.at, first.at), Ended: j.ended}
	if beforeOnset {
		s.From = span.Exactly(j.judged.From)
	} else if i > 0 {
		s.From.Earliest = marks[i-1].at
	}
	s.To = span.Exactly(j.judged.To)
	if k < len(marks) && marks[k].at < j.judged.To {
		s.To, s.Ended = span.Within(marks[k].at, last.at, marks[k].at), Corrected
	}
	gs := j.rec.Get(flightdata.GroundSpeed)
	s.SpeedFrom, s.SpeedTo = gs.At(s.From.At), gs.At(s.To.At)
	s.Arose = j.arose(marks, i)
	w := worst(marks[i:k])
	s.Value, s.Margin, s.Limit = w.value, w.margin, j.limitAt(w)
	s.Text, s.ValueAt = j.text(w.value), w.at
	return s, true
}

// lasted applies the persistence. The samples before the onset count towards
// it: a brake that was set for minutes is set. A discrete needs two samples,
// because one may be a flicker.
func (j *judge) lasted(first, last mark, n int) bool {
	s := j.ruler.watch
	from := first.at
	if first.at <= j.judged.From {
		for p, ok := s.Last(from - 1); ok && from.Sub(p.At) <= s.MaxAge() && last.at.Sub(from) < j.check.Persistence; p, ok = s.Last(from - 1) {
			if j.ruler.mark(p).state != Outside {
				break
			}
			from, n = p.At, n+1
		}
	}
	if s.Kind == flightdata.Discrete && n < 2 {
		return false
	}
	return last.at.Sub(from)+s.Period >= j.check.Persistence
}

// worst is the mark farthest outside, the first of a discrete.
func worst(marks []mark) mark {
	w := marks[0]
	for _, m := range marks[1:] {
		if m.margin < w.margin {
			w = m
		}
	}
	return w
}

// mostly is the share of the judged span that must be told for a verdict
// within limits, and longestGap the longest hole in it.
const (
	mostly     = 0.75
	longestGap = 5 * time.Second
)

// settle decides the state over the whole judged span.
func (j *judge) settle(f *Finding, marks []mark, before *mark) {
	for _, m := range marks {
		if m.at < j.judged.To && !math.IsNaN(m.margin) && !(m.margin >= f.Worst) {
			f.Worst = m.margin
		}
	}
	if len(f.Stretches) > 0 {
		f.State = Outside
		f.InRoll = f.AtOnset == Within
		return
	}
	if f.AtOnset != Within {
		f.State = Unknown
		if f.AtOnset == Outside {
			f.AtOnset = Unknown
			f.Reason = fmt.Sprintf("out of limits at one sample only, for less than %s", spaced(j.check.Persistence))
		}
		return
	}
	if why := j.untold(marks); why != "" {
		f.State, f.Reason = Unknown, why
		return
	}
	f.State = Within
}

// untold says what part of the judged span the samples leave open, "" when
// too little to matter.
func (j *judge) untold(marks []mark) string {
	var open, longest time.Duration
	for i, m := range marks {
		to := j.judged.To
		if i+1 < len(marks) {
			to = min(to, marks[i+1].at)
		}
		gap := to.Sub(max(m.at, j.judged.From))
		if m.state != Unknown && gap <= j.ruler.watch.MaxAge() {
			continue
		}
		if m.state != Unknown {
			gap -= j.ruler.watch.Period
		}
		open, longest = open+gap, max(longest, gap)
	}
	if whole := j.judged.Length(); open > 0 && (longest > longestGap || float64(open) > (1-mostly)*float64(whole)) {
		return fmt.Sprintf("%s cannot be told for %.1f s of the %.1f s judged", j.check.Watched(), open.Seconds(), whole.Seconds())
	}
	return ""
}
