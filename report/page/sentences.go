package page

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// The words of a summary are those of the detection; a page compares with
// them and never with spellings of its own.
const (
	within  = string(configuration.Within)
	outside = string(configuration.Outside)
	unknown = string(configuration.Unknown)
)

// Sentences says in two to five plain sentences what happened on one attempt,
// from the numbers of its summary only. What cannot be told is said to be so,
// an order that the brackets do not carry is not claimed, and nothing is named
// a cause.
func Sentences(a archive.AttemptSummary) []string {
	var out []string
	add := func(s string) {
		if s != "" {
			out = append(out, s)
		}
	}
	add(thrustSentence(a))
	add(lastingSentence(a))
	add(rollSentence(a))
	add(warningSentence(a))
	out = append(out, endSentences(a)...)
	if a.NextMinutes != nil && len(out) > 0 {
		last := strings.TrimSuffix(out[len(out)-1], ".")
		out[len(out)-1] = last + "; the next attempt followed " + Minutes(*a.NextMinutes) + " later."
	}
	return out
}

// thrustSentence: when thrust was advanced, and what the checks said at the
// onset.
func thrustSentence(a archive.AttemptSummary) string {
	s := "When thrust was advanced cannot be told"
	if m := a.ThrustAdvance; m != nil {
		s = "Thrust was advanced at " + Clock(*m) + " (" + Uncertainty(*m) + ")"
	}
	if a.Rolling {
		s += " on a rolling takeoff"
	}
	return s + configurationClause(a) + "."
}

// configurationClause ends the first sentence with the state at the onset.
func configurationClause(a archive.AttemptSummary) string {
	if a.Outcome == string(takeoff.TouchAndGo) && len(a.Findings) == 0 {
		return "; the configuration checks do not apply to a touch-and-go"
	}
	if len(a.Findings) == 0 {
		return "; no check was judged"
	}
	var out, untold []archive.FindingSummary
	inside := 0
	for _, f := range worstFirst(a, a.Findings) {
		switch f.AtOnset {
		case outside:
			out = append(out, f)
		case within:
			inside++
		default:
			untold = append(untold, f)
		}
	}
	var s string
	switch {
	case len(out) > 0:
		s = " with " + outWords(out)
	case len(untold) == 0:
		s = " with all " + count(inside, "check") + " within limits at the onset"
	default:
		s = " with " + strconv.Itoa(inside) + " of " + count(len(a.Findings), "check") + " within limits at the onset"
	}
	if len(untold) > 0 {
		s += "; " + untoldWords(untold)
	}
	return s + lifeClause(a.Findings)
}

// outWords names what is out of limits, with its values.
func outWords(out []archive.FindingSummary) string {
	var words []string
	for _, f := range out {
		words = append(words, f.Check+valueAndLimit(f))
	}
	return list(atMost(words, 3, "check")) + " out of limits"
}

// untoldWords names what cannot be told, with the reason of a single one and
// of all where they share it.
func untoldWords(untold []archive.FindingSummary) string {
	reason := untold[0].Reason
	var words []string
	for _, f := range untold {
		words = append(words, f.Check)
		if f.Reason != reason {
			reason = ""
		}
	}
	return list(atMost(words, 2, "check")) + " cannot be told" + because(reason)
}

// endSentences say how the attempt ended.
func endSentences(a archive.AttemptSummary) []string {
	switch takeoff.Outcome(a.Outcome) {
	case takeoff.Rejected, takeoff.RejectedNoRoll:
		return rejectSentences(a)
	case takeoff.Airborne:
		s := "The takeoff went on"
		if a.LiftOff != nil {
			s = "Lift-off followed" + after(a, *a.LiftOff) + " (" + Uncertainty(*a.LiftOff) + ")"
		}
		if a.PeakSpeed != nil {
			s += "; the highest ground speed up to then was " + Speed(a.PeakSpeed.Value)
		}
		return []string{s + "."}
	case takeoff.TouchAndGo:
		return []string{"It was a touch-and-go" + because(a.Why) + "."}
	}
	return []string{"How the attempt ended cannot be told" + because(a.Why) + "."}
}

// rejectSentences: the cut with what was recorded around it, then the stop.
func rejectSentences(a archive.AttemptSummary) []string {
	cut := "When thrust was cut cannot be told"
	if a.ThrustCut != nil {
		cut = "Thrust was cut" + after(a, *a.ThrustCut) + " (" + Uncertainty(*a.ThrustCut) + ")"
	}
	r := a.Reject
	if r == nil {
		return []string{cut + "."}
	}
	if r.GroundAtCut != nil {
		cut += " at " + Speed(r.GroundAtCut.Value) + " ground speed"
	}
	cut += rotationClause(a) + v1Clause(r) + firstActionClause(a, r) + cueClause(r)
	if a.Outcome == string(takeoff.RejectedNoRoll) {
		return []string{cut + ".", "No takeoff roll was recorded."}
	}
	return []string{cut + ".", stopSentence(a, r)}
}

// rotationClause says that the nose wheel was up before the thrust was cut: a
// reject after rotation is another matter than one in the roll.
func rotationClause(a archive.AttemptSummary) string {
	if a.Rotation == nil || a.ThrustCut == nil {
		return ""
	}
	switch order(*a.Rotation, *a.ThrustCut) {
	case before:
		return ", " + Seconds(a.ThrustCut.At-a.Rotation.At) + " after the rotation began"
	case notResolvable:
		return ", about when a rotation began"
	}
	return ""
}

func v1Clause(r *archive.RejectSummary) string {
	switch {
	case r.AgainstV1 == "" || r.V1 == nil:
		return ""
	case r.AgainstV1 == "not resolvable":
		return "; whether before or after V1 of " + Speed(*r.V1) + " is not resolvable" + airspeedClause(r)
	}
	return ", " + r.AgainstV1 + " of " + Speed(*r.V1) + airspeedClause(r)
}

// airspeedClause is what V1 was compared with, because V1 is an airspeed and
// the speed in front of it is over the ground.
func airspeedClause(r *archive.RejectSummary) string {
	if r.AirAtAction == nil {
		return ""
	}
	return " (airspeed at the first action " + Speed(r.AirAtAction.Value) + ", between " + strings.Replace(between(*r.AirAtAction, 0), " to ", " and ", 1) + " kt)"
}

// firstActionClause names another first action than thrust, as far as its
// order is resolved.
func firstActionClause(a archive.AttemptSummary, r *archive.RejectSummary) string {
	f := r.FirstAction
	switch {
	case r.Order != "":
		return "; " + strings.TrimSuffix(r.Order, ".")
	case f == nil || a.ThrustCut == nil:
		return ""
	case f.What == "thrust":
		return ", the first action"
	case order(f.At, *a.ThrustCut) != before:
		return "; the order of " + f.What + " and thrust is not resolvable"
	}
	return "; " + f.What + precedes(f.What) + "the thrust cut by " + Seconds(a.ThrustCut.At-f.At.At)
}

func cueClause(r *archive.RejectSummary) string {
	if r.FirstAction == nil || len(r.Cues) == 0 {
		return ""
	}
	c := r.Cues[0]
	if order(c.At, r.FirstAction.At) != before {
		return "; the order of " + c.What + " and the first action is not resolvable"
	}
	return "; " + c.What + precedes(c.What) + "the first action by " + Seconds(r.FirstAction.At.At-c.At.At)
}

// precedes is the one verb for what came before an action. It says nothing of
// a cause.
func precedes(what string) string {
	if strings.HasSuffix(what, "s") { // brakes
		return " precede "
	}
	return " precedes "
}

func stopSentence(a archive.AttemptSummary, r *archive.RejectSummary) string {
	peak, stop := "The highest ground speed cannot be told", "whether the aircraft stopped cannot be told"
	switch {
	case r.PeakGround != nil:
		peak = "The highest ground speed was " + Speed(r.PeakGround.Value)
	case a.PeakSpeed != nil:
		peak = "The highest ground speed was " + Speed(a.PeakSpeed.Value)
	}
	switch {
	case r.ToStop != nil:
		stop = "the aircraft stopped or turned off " + Distance(*r.ToStop) + " after roll start"
		if r.CutToStop != nil && r.CutToStopTime != nil {
			stop += ", " + Distance(*r.CutToStop) + " and " + Seconds(*r.CutToStopTime) + " after the thrust cut"
		}
	case a.Stop != nil:
		stop = "the aircraft stopped or turned off" + after(a, *a.Stop)
	}
	return peak + "; " + stop + "."
}

// after places a moment relative to the onset: " 3.1 s after the onset".
func after(a archive.AttemptSummary, m archive.Moment) string {
	if a.Onset == nil {
		return " at " + Clock(m)
	}
	d := m.At - a.Onset.At
	switch {
	case Seconds(d) == Seconds(0):
		return " at the onset"
	case d < 0:
		return " " + Seconds(-d) + " before the onset"
	}
	return " " + Seconds(d) + " after the onset"
}

// sequence is the order of two moments as far as their brackets resolve it.
type sequence int

const (
	notResolvable sequence = iota
	before
	behind
)

func order(a, b archive.Moment) sequence {
	switch {
	case a.Latest < b.Earliest:
		return before
	case a.Earliest > b.Latest:
		return behind
	}
	return notResolvable
}

// rank sorts severities, worst first.
func rank(severity string) int {
	return map[string]int{"high": 0, "medium": 1, "low": 2}[known(severity, "low")]
}

// worstFirst is findings of an attempt in the order of events: by severity,
// then by the ground speed up to which they held, then by the time at which
// they went out of limits; equal ones stay in profile order.
func worstFirst(a archive.AttemptSummary, f []archive.FindingSummary) []archive.FindingSummary {
	out := slices.Clone(f)
	began := func(f archive.FindingSummary) float64 {
		if len(f.Stretches) == 0 {
			return math.Inf(1)
		}
		return f.Stretches[0].From.At
	}
	slices.SortStableFunc(out, func(x, y archive.FindingSummary) int {
		return cmp.Or(compareGrade(x.Severity, y.Severity, fastest(a, x), fastest(a, y)), cmp.Compare(began(x), began(y)))
	})
	return out
}

func valueAndLimit(f archive.FindingSummary) string {
	value := known(minuses(f.Text), "value not told")
	if w := farthest(f); w != nil && f.AtOnset != outside {
		value = "reached " + With(*w.Value, f.Unit)
		f.Limit = known(w.Limit, f.Limit)
	} else if o := leftAs(f); o != nil && f.AtOnset != outside {
		value = "reached " + minuses(o.Text)
		f.Limit = known(o.Limit, f.Limit)
	}
	moment := ""
	if len(f.Stretches) == 1 && oneSample(f.Stretches[0]) {
		moment = "; " + oneSampleOnly
	}
	switch {
	case f.Text == "" && f.Limit == "":
		return ""
	case f.Limit == "":
		return " (" + value + moment + ")"
	}
	return " (" + value + "; limit " + minuses(f.Limit) + moment + ")"
}

// farthest is the stretch that went farthest out of limits, nil for a
// discrete or when there was none.
func farthest(f archive.FindingSummary) *archive.OutOfLimits {
	var worst *archive.OutOfLimits
	for i := range f.Stretches {
		if o := &f.Stretches[i]; o.Value != nil && o.Margin != nil && (worst == nil || *o.Margin < *worst.Margin) {
			worst = o
		}
	}
	return worst
}

// leftAs is the first stretch of a discrete out of limits, whose text is the
// state that it was in; nil when there was none.
func leftAs(f archive.FindingSummary) *archive.OutOfLimits {
	for i := range f.Stretches {
		if o := &f.Stretches[i]; o.Value == nil && o.Text != "" {
			return o
		}
	}
	return nil
}

func because(reason string) string {
	if reason == "" {
		return ""
	}
	return " (" + strings.TrimSuffix(reason, ".") + ")"
}

// atMost keeps the first n words and counts the rest.
func atMost(words []string, n int, noun string) []string {
	if len(words) <= n {
		return words
	}
	rest := count(len(words)-n, "more "+noun)
	return append(slices.Clone(words[:n]), rest)
}
