package configuration

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
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
	causes := x.conditions(findings, &w)
	s := rec.Get(prof.Warning.Parameter)
	on, told := x.sounded(s)
	switch {
	case !rec.Has(prof.Warning.Parameter):
		w.Reason = fmt.Sprintf("%s is not recorded", prof.Warning.Parameter)
	case !told:
		w.Reason = fmt.Sprintf("%s: no sample during the attempt", prof.Warning.Parameter)
	case len(on) > 0 && x.believed(on[0], s, causes):
		x.warned(&w, on, causes, rejectStart)
	case len(on) > 0 && on[0].OpenEnd && on[0].To.At >= x.rec.Span.To.Add(-2*s.Period):
		w.Reason = "the warning is on in the last sample of the data alone, which may be a flicker"
	default:
		x.silent(&w, causes)
	}
	if len(w.Due) == 0 && len(w.NotRequired) > 0 {
		w.Reason = joined(w.Reason, notRequired(w.NotRequired))
	}
	return w
}

type cross struct {
	rec     *flightdata.Recording
	prof    *profile.Profile
	attempt *takeoff.Attempt
}

// cause is one stretch out of limits that a warning can be held against.
type cause struct {
	check string
	*Stretch
}

// conditions sorts the findings into due, not required and untold, and lists
// the stretches that are causes, in the order in which they arose: of the
// checks for which the warning is due, or, when there are none, of those whose
// basis at least names a warning rule.
func (x *cross) conditions(findings []Finding, w *Warning) []cause {
	var due, named []cause
	for i, f := range findings {
		c := &x.prof.Checks[i]
		switch {
		case f.State == Unknown:
			w.Untold = append(w.Untold, f.Check)
			if c.WarningDue {
				w.UntoldDue = append(w.UntoldDue, f.Check)
			}
		case f.State == Outside && c.WarningDue:
			w.Due = append(w.Due, f.Check)
			due = append(due, causes(f)...)
		case f.State == Outside:
			w.NotRequired = append(w.NotRequired, f.Check)
			if c.Basis != "" {
				named = append(named, causes(f)...)
			}
		}
	}
	if len(w.Due) == 0 {
		due = named
	}
	slices.SortStableFunc(due, func(a, b cause) int { return cmp.Compare(a.Arose.At, b.Arose.At) })
	return due
}

func causes(f Finding) []cause {
	var out []cause
	for i := range f.Stretches {
		out = append(out, cause{f.Check, &f.Stretches[i]})
	}
	return out
}

// notRequired says that a condition was there for which nobody had to warn.
func notRequired(checks []string) string {
	verb := "was"
	if len(checks) > 1 {
		verb = "were"
	}
	return fmt.Sprintf("%s %s out of limits, and the profile's certification basis requires no warning for it", strings.Join(checks, ", "), verb)
}

// joined joins two reasons, either of which may be empty.
func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
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
	r := warningIn(s, sp)
	under := span.Span{From: x.attempt.ThrustAdvance.At, To: max(x.attempt.Onset.At, sp.To.Add(-warningLag))}
	lost := r.Unknown.And(span.Of(under)).Length()
	return r.Episodes, len(r.Episodes) > 0 || lost < max(under.Length()/2, s.Period)
}

func warningIn(s *flightdata.Series, sp span.Span) trigger.Result {
	return trigger.InState(s, trigger.Rule{}, sp, slices.Index(s.States, "on"))
}

// believed drops a single-sample flicker of the warning that nothing else
// explains. The end of the attempt does not cut a warning short.
func (x *cross) believed(e trigger.Episode, s *flightdata.Series, causes []cause) bool {
	if len(causes) > 0 {
		return true
	}
	for _, whole := range warningIn(s, x.span().Widen(0, 3*s.Period)).Episodes {
		if whole.From.At == e.From.At {
			return whole.To.At.Sub(whole.From.At) > s.Period+s.Period/5
		}
	}
	return false
}

func (x *cross) warned(w *Warning, on []trigger.Episode, causes []cause, rejectStart span.Moment) {
	w.First, w.Ended = on[0].From, on[0].To
	if x.attempt.Reject() && rejectStart.Known && rejectStart.At > w.First.At {
		d := rejectStart.At.Sub(w.First.At)
		w.Reaction = &d
	}
	if len(causes) == 0 {
		w.Verdict, w.Severity = WarnOnly, "medium"
		w.Rule = "a warning without a cause that could be told"
		w.Reason = "no cause among the checks that could be told"
		return
	}
	w.Verdict = WarnBoth
	e, c, ok := answered(on, causes)
	if !ok {
		w.Reason = fmt.Sprintf("the warning sounded at another time than %s was out of limits under thrust", causes[0].check)
		return
	}
	w.Delay = &Delay{
		At: e.From.At.Sub(c.Arose.At), Earliest: e.From.Earliest.Sub(c.Arose.Latest), Latest: e.From.Latest.Sub(c.Arose.Earliest),
		Check: c.check,
	}
	if len(w.Due) > 0 {
		w.Reason = x.late(w.Delay)
	}
}

// answered finds the first warning that sounded while a condition held, and
// the earliest such condition. The record of a warning may lag its end.
func answered(on []trigger.Episode, causes []cause) (trigger.Episode, cause, bool) {
	for _, e := range on {
		for _, c := range causes {
			if c.Arose.Earliest <= e.To.Latest && e.From.Earliest <= c.To.Latest.Add(warningLag) {
				return e, c, true
			}
		}
	}
	return trigger.Episode{}, cause{}, false
}

// late says that a warning came later than the profile allows, or may have;
// "" when it surely came in time.
func (x *cross) late(d *Delay) string {
	allowed := x.prof.Warning.Within
	switch {
	case d.Earliest > allowed:
		return fmt.Sprintf("the warning came late: %s s to %s s after %s was out of limits under thrust; %s is allowed",
			tenths(d.Earliest), tenths(d.Latest), d.Check, spaced(allowed))
	case d.Latest > allowed:
		return fmt.Sprintf("the samples leave open whether the warning came within the %s that are allowed: %s s to %s s after %s was out of limits under thrust",
			spaced(allowed), tenths(d.Earliest), tenths(d.Latest), d.Check)
	}
	return ""
}

// tenths writes seconds with a tenth, halves away from zero as pages round them.
func tenths(d time.Duration) string {
	return strconv.FormatFloat(math.Round(d.Seconds()*10)/10, 'f', 1, 64)
}

// spaced is a length of time of a profile in seconds, with its unit apart.
func spaced(d time.Duration) string {
	return strconv.FormatFloat(d.Seconds(), 'f', -1, 64) + " s"
}

// silent decides what the absence of a warning means.
func (x *cross) silent(w *Warning, causes []cause) {
	longest := longestOf(causes)
	switch {
	case len(w.Due) > 0 && longest >= x.prof.Warning.Within:
		w.Verdict, w.Severity = WarnCondition, "high"
		w.Rule = "no warning where one was due"
		w.Reason = fmt.Sprintf("out of limits for %.1f s without a recorded warning; %s is allowed", longest.Seconds(), spaced(x.prof.Warning.Within))
	case len(w.Due) > 0:
		w.Reason = fmt.Sprintf("out of limits for %.1f s only, shorter than the %s in which the warning must come", longest.Seconds(), spaced(x.prof.Warning.Within))
	case len(w.UntoldDue) > 0:
		w.Reason = "no warning recorded, and not every check could be told"
	default:
		w.Verdict = WarnNeither
	}
}

func longestOf(causes []cause) time.Duration {
	var d time.Duration
	for _, c := range causes {
		d = max(d, c.To.At.Sub(c.From.At))
	}
	return d
}
