package configuration

import (
	"fmt"
	"slices"
	"time"

	"rollonset/detect/takeoff"
	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// The warning is looked for from a little before the thrust advance, because
// the aircraft's own arming point differs from ours, until a little after the
// end of judging, because the record of it lags.
const (
	warningLead = 5 * time.Second
	warningLag  = 2 * time.Second
)

// CrossCheck compares the recorded takeoff warning with the recomputed
// condition. rejectStart is the first action of a reject, unknown without one.
func CrossCheck(rec *flightdata.Recording, prof *profile.Profile, a *takeoff.Attempt, findings []Finding, rejectStart span.Moment) Warning {
	w := Warning{Verdict: WarnUnknown}
	if prof.Warning == nil {
		w.Reason = "the profile names no recorded takeoff warning"
		return w
	}
	x := cross{rec: rec, prof: prof, attempt: a}
	cause := x.conditions(findings, &w)
	s := rec.Get(prof.Warning.Parameter)
	on, told := x.sounded(s)
	switch {
	case !rec.Has(prof.Warning.Parameter):
		w.Reason = fmt.Sprintf("%s is not recorded", prof.Warning.Parameter)
	case !told:
		w.Reason = fmt.Sprintf("%s: no sample during the attempt", prof.Warning.Parameter)
	case len(on) > 0 && x.believed(on[0], s, w.Due, cause):
		x.warned(&w, on[0], cause, rejectStart)
	default:
		x.silent(&w, findings)
	}
	return w
}

type cross struct {
	rec     *flightdata.Recording
	prof    *profile.Profile
	attempt *takeoff.Attempt
}

// conditions sorts the findings into due and untold, and finds the first
// stretch that is a cause: of a check for which the warning is due, or of one
// whose basis at least names a warning rule.
func (x *cross) conditions(findings []Finding, w *Warning) *Stretch {
	var due, named *Stretch
	for i, f := range findings {
		c := &x.prof.Checks[i]
		switch {
		case f.State == Unknown && c.WarningDue:
			w.Untold = append(w.Untold, f.Check)
		case f.State == Outside && c.WarningDue:
			w.Due = append(w.Due, f.Check)
			due = earlier(due, &f.Stretches[0])
		case f.State == Outside && c.Basis != "":
			named = earlier(named, &f.Stretches[0])
		}
	}
	if due == nil {
		return named
	}
	return due
}

func earlier(a, b *Stretch) *Stretch {
	if a == nil || b.From.At < a.From.At {
		return b
	}
	return a
}

// span is the stretch of the attempt in which a warning belongs to it.
func (x *cross) span() span.Span {
	to := x.attempt.End
	for _, m := range []span.Moment{x.attempt.LiftOff, x.attempt.ThrustCut} {
		if m.Known {
			to = min(to, m.At)
		}
	}
	return span.Span{From: x.attempt.ThrustAdvance.At, To: to}.Widen(warningLead, warningLag)
}

// sounded finds the episodes of the warning in the attempt; told is false
// when the warning has no sample under the thrust.
func (x *cross) sounded(s *flightdata.Series) (on []trigger.Episode, told bool) {
	if s.Len() == 0 {
		return nil, false
	}
	sp := x.span()
	r := trigger.InState(s, trigger.Rule{}, sp, slices.Index(s.States, "on"))
	under := span.Span{From: x.attempt.ThrustAdvance.At, To: max(x.attempt.Onset.At, sp.To.Add(-warningLag))}
	lost := r.Unknown.And(span.Of(under)).Length()
	return r.Episodes, len(r.Episodes) > 0 || lost < max(under.Length()/2, s.Period)
}

// believed drops a single-sample flicker of the warning that nothing else
// explains.
func (x *cross) believed(e trigger.Episode, s *flightdata.Series, due []string, cause *Stretch) bool {
	return len(due) > 0 || cause != nil || e.To.At.Sub(e.From.At) > s.Period+s.Period/5
}

func (x *cross) warned(w *Warning, e trigger.Episode, cause *Stretch, rejectStart span.Moment) {
	w.First, w.Ended = e.From, e.To
	if x.attempt.Reject() && rejectStart.Known && rejectStart.At > e.From.At {
		d := rejectStart.At.Sub(e.From.At)
		w.Reaction = &d
	}
	if cause == nil {
		w.Verdict, w.Severity = WarnOnly, "medium"
		w.Rule = "a warning without a cause that could be told"
		w.Reason = "no cause among the checks that could be told"
		return
	}
	w.Verdict = WarnBoth
	// The condition counts for the warning from the thrust advance on.
	d := e.From.At.Sub(max(cause.From.At.Add(-x.prof.Attempt.OnsetAfter), x.attempt.ThrustAdvance.At))
	w.Delay = &d
	if len(w.Due) == 0 {
		w.Reason = "the cause is not one for which the profile's certification basis requires the warning"
	}
}

// silent decides what the absence of a warning means.
func (x *cross) silent(w *Warning, findings []Finding) {
	longest := x.longestDue(findings)
	switch {
	case len(w.Due) > 0 && longest >= x.prof.Warning.Within:
		w.Verdict, w.Severity = WarnCondition, "high"
		w.Rule = "no warning where one was due"
		w.Reason = fmt.Sprintf("out of limits for %.1f s without a recorded warning; %s is allowed", longest.Seconds(), x.prof.Warning.Within)
	case len(w.Due) > 0:
		w.Reason = fmt.Sprintf("out of limits for %.1f s only, shorter than the %s in which the warning must come", longest.Seconds(), x.prof.Warning.Within)
	case len(w.Untold) > 0:
		w.Reason = "no warning recorded, and not every check could be told"
	default:
		w.Verdict = WarnNeither
	}
}

func (x *cross) longestDue(findings []Finding) time.Duration {
	var d time.Duration
	for i, f := range findings {
		if !x.prof.Checks[i].WarningDue {
			continue
		}
		for _, s := range f.Stretches {
			d = max(d, s.To.At.Sub(s.From.At))
		}
	}
	return d
}
