package synth

import (
	"math"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/truth"
)

// findings judges every check over its span at the full rate.
func (r *reader) findings(a *truth.Attempt, s *steps) {
	if s.onset < 0 {
		return
	}
	due, dueUntold, dueOpen, shown := false, false, false, 0
	var notes []string
	for i := range r.p.Checks {
		c := &r.p.Checks[i]
		v := r.finding(c, s)
		switch {
		case v.out:
			a.Out = append(a.Out, c.Name)
			if v.atOnset {
				a.OutAtOnset = append(a.OutAtOnset, c.Name)
			}
			if r.difficulty >= Hard && r.onsetOpen(c, s) {
				a.Open = append(a.Open, c.Name)
				notes = append(notes, c.Name+" at the onset: "+openOnset)
			}
		case v.untold:
			a.Untold = append(a.Untold, c.Name)
		case v.mixed != "":
			a.Open = append(a.Open, c.Name)
			notes = append(notes, c.Name+": "+v.mixed)
		}
		due = due || v.out && (c.WarningDue || c.Basis != "" && r.warned(s))
		if c.WarningDue && v.out {
			shown = max(shown, v.longest-r.resolved(c))
		}
		dueUntold = dueUntold || v.untold && c.WarningDue
		dueOpen = dueOpen || v.mixed != "" && c.WarningDue
	}
	a.Warning = r.warning(s, due, dueUntold)
	if why := r.warningOpen(s, a.Warning, shown, !due && dueOpen && r.recorded()); why != "" {
		a.Warning = ""
		notes = append(notes, "warning: "+why)
	}
	a.Notes = strings.Join(notes, "; ")
}

// warningOpen says why the truth takes no stand on the verdict of the
// cross-check, "" when it does. A condition that ended about when the warning
// had to come proves no fault of the warning.
func (r *reader) warningOpen(s *steps, verdict string, shown int, hangs bool) string {
	switch {
	case r.rows != nil && r.difficulty >= Hard && r.warningHidden(s):
		return "it may have sounded in a gap"
	case hangs:
		return "it hangs on a check that is open"
	case (verdict == truth.WarnOnly || verdict == truth.WarnNeither) && r.recorded() && r.warnedAboutTheEnd(s):
		return "it began about when the roll ended"
	case verdict == truth.WarnOnly && r.warnedAtTheEnd():
		return "it sounded for less than two samples before the data end"
	case verdict == truth.WarnCondition && seconds(shown) < r.p.Warning.Within.Seconds():
		return "the condition ended about when the warning had to come"
	}
	return ""
}

// Why the truth takes no stand on a check.
const (
	openGap    = "in a gap for a part of the span"
	openShort  = "out of limits for too short to be sure of two samples"
	openNear   = "as near to its limit as the resolution"
	openAlmost = "out of limits for about as long as the persistence"
	openOnset  = "changes, or is read falsely, between the samples about the onset"
)

// found is the truth about one check.
type found struct {
	out, atOnset, untold bool
	mixed                string // why it is open, "" when it is not
	longest              int    // steps out of limits at a stretch
}

func (r *reader) finding(c *profile.Check, s *steps) found {
	from, to := r.judged(c, s)
	st := r.stateAt(s.onset)
	step := from
	st.read = func(p flightdata.Parameter) (float64, bool) { return r.told(p, step) }
	need := max(int(c.Persistence.Seconds()*stepsPerS), 1)
	var f found
	run, most := 0, 0
	unknown, near, slack := 0, false, r.unresolved(c)
	for ; step < to; step++ {
		v := judge(c, st)
		kt := r.tape.speed[step] / knot
		if v.untold {
			unknown++
		}
		near = near || math.Abs(v.margin) < slack
		if !v.out || v.margin > -slack || kt < c.SpeedFrom || kt >= c.SpeedTo {
			run = 0
			continue
		}
		run++
		most = max(most, run)
		if run >= need {
			f.longest = max(f.longest, run)
			f.atOnset = f.atOnset || step-run < from
		}
	}
	f.out = f.longest > 0 && f.longest >= min(r.resolved(c), to-from)
	never := to > from && unknown == to-from && r.neverTold(c, s, from, to)
	f.untold = never && !near // of several limits that could apply, it is as near to one as the resolution
	// Nearly as long as the persistence is as long by the samples.
	almost := r.difficulty >= Hard && most > 0 && most > need-r.resolved(c)
	if f.untold || f.out {
		return f
	}
	switch {
	case never:
		f.mixed = openNear
	case unknown > 0:
		f.mixed = openGap
	case f.longest > 0:
		f.mixed = openShort
	case near:
		f.mixed = openNear
	case almost:
		f.mixed = openAlmost
	case r.onsetLost(c, s):
		f.mixed = openOnset
	}
	return f
}

// resolved is how many steps a condition must last so that two samples of its
// parameter are sure to show it. Shorter ones, such as a lever on its way
// from one detent to the next, are left open.
func (r *reader) resolved(c *profile.Check) int {
	rule := r.p.Find(c.Watched())
	if rule == nil {
		return 1
	}
	samples := 2.0
	if r.difficulty >= Hard && r.rows != nil && len(r.rows.seen[c.Watched()].wrong) > 0 {
		samples = 6 // two on either side of a false one
	}
	return int(samples / r.cond.rate(rule) * stepsPerS)
}

// neverTold says whether the check cannot be told even if one looks across
// the gaps between samples, as a reader may who takes a value to last.
func (r *reader) neverTold(c *profile.Check, s *steps, from, to int) bool {
	bridged := *r
	bridged.rows = nil
	st, step := bridged.stateAt(s.onset), from
	st.read = func(p flightdata.Parameter) (float64, bool) { return bridged.told(p, step) }
	for ; step < to; step++ {
		if !judge(c, st).untold {
			return false
		}
	}
	return true
}

// unresolved is the margin that the resolution leaves open: a value that near
// to its limit may be stored as one on the other side of it.
func (r *reader) unresolved(c *profile.Check) float64 {
	return float64(0.55 * quantumOf(c.Watched()) * r.cond.coarseness())
}

// onsetLost says whether the samples leave open the state of a check at the
// onset, so that "within limits" can be no certain verdict.
func (r *reader) onsetLost(c *profile.Check, s *steps) bool {
	return r.difficulty >= Hard && r.onsetOpen(c, s)
}

// recorded says whether the file holds the warning at all.
func (r *reader) recorded() bool {
	w := r.p.Warning
	return w != nil && !r.lost[w.Parameter] && r.p.Find(w.Parameter) != nil
}

// warningHidden says whether the warning may have sounded unseen.
func (r *reader) warningHidden(s *steps) bool {
	if !r.recorded() {
		return false
	}
	seen := r.rows.seen[r.p.Warning.Parameter]
	to := r.rolledTo(s)
	for n := s.advance; seen != nil && n >= 0 && n < to-seen.period; n++ {
		if seen.hidden(n) {
			return true
		}
	}
	return false
}

// warnedAtTheEnd says whether the data end before two samples are sure to show
// a warning that sounds on: one alone may be a flicker.
func (r *reader) warnedAtTheEnd() bool {
	n := r.notes.end - 1
	if r.rows == nil || n < 0 || !r.tape.warning[n] {
		return false
	}
	for n > 0 && r.tape.warning[n-1] {
		n--
	}
	seen := r.rows.seen[r.p.Warning.Parameter]
	return seen == nil || r.notes.end-n < 2*seen.period
}

// judged is the span of steps over which a check is judged.
func (r *reader) judged(c *profile.Check, s *steps) (from, to int) {
	from, to = s.onset, r.notes.end
	if c.Judged.From == "roll start" && s.roll >= 0 {
		from = max(from, s.roll)
	}
	ends := []int{s.lift, s.cut, s.action}
	if c.Judged.To != "lift-off" {
		ends = append(ends, s.rotation)
	}
	for _, n := range ends {
		if n >= 0 {
			to = min(to, n)
		}
	}
	return from, to
}

func (r *reader) stateAt(onset int) *state {
	st := &state{planned: r.planned, states: stateIndex(r.p)}
	st.onset = func(p flightdata.Parameter) (float64, bool) { return r.told(p, onset) }
	return st
}

// told is the value of a parameter at a step, if the data of the file can
// tell it: recorded, or in the flight list.
func (r *reader) told(p flightdata.Parameter, step int) (float64, bool) {
	recorded := r.p.Find(p) != nil && !r.lost[p]
	if recorded && r.difficulty >= Hard && r.rows != nil && r.rows.seen[p].hidden(step) {
		return 0, false
	}
	v, ok := r.tape.at(p, step)
	if recorded {
		return v, ok
	}
	listed := p == flightdata.GrossWeight || p == flightdata.CenterOfGravity
	if listed && !r.noPlan {
		return v, ok
	}
	return 0, false
}

// warned says whether the warning sounded in the attempt.
func (r *reader) warned(s *steps) bool {
	return slices.Contains(r.tape.warning[r.notes.begin:r.rolledTo(s)], true)
}

// rolledTo is the step at which the thrust was cut or the aircraft flew, or
// the attempt ended.
func (r *reader) rolledTo(s *steps) int {
	to := r.notes.end
	for _, n := range []int{s.cut, s.lift} {
		if n >= 0 {
			to = min(to, n)
		}
	}
	return max(to, r.notes.begin)
}

// warnedAboutTheEnd says whether the warning began so near the thrust cut or
// the lift-off that its samples, and the record of it, which may lag, leave
// open which came first.
func (r *reader) warnedAboutTheEnd(s *steps) bool {
	to, period := r.rolledTo(s), int(stepsPerS/r.cond.rate(r.p.Find(r.p.Warning.Parameter)))
	about := func(from, to int) bool {
		from, to = max(from, r.notes.begin), min(to, len(r.tape.warning))
		return from < to && slices.Contains(r.tape.warning[from:to], true)
	}
	return !about(r.notes.begin, to-period) && about(to-period, to+period+warningLag*stepsPerS)
}

// warningLag is how many seconds after the end of a roll a warning may still
// be recorded that belongs to it: common practice, no published source.
const warningLag = 2

// warning is the verdict of the cross-check. No warning proves nothing while
// a check that could have caused one cannot be told.
func (r *reader) warning(s *steps, due, untold bool) string {
	switch {
	case !r.recorded():
		return truth.WarnUnknown
	case r.warned(s) && due:
		return truth.WarnBoth
	case r.warned(s):
		return truth.WarnOnly
	case due:
		return truth.WarnCondition
	case untold:
		return truth.WarnUnknown
	}
	return truth.WarnNeither
}

func (r *reader) airspeed(step int) float64 {
	if v, ok := r.tape.at(flightdata.Airspeed, step); ok {
		return v
	}
	return r.tape.speed[step] / knot
}
