package page

import (
	"rollonset/detect/configuration"
	"rollonset/report/archive"
)

// warningSentence is the cross-check in words.
func warningSentence(a archive.AttemptSummary) string {
	w := a.Warning
	if w == nil {
		return ""
	}
	const name = "takeoff configuration warning"
	switch configuration.Verdict(w.Verdict) {
	case configuration.WarnBoth:
		return "The " + name + " was recorded" + delayWords(a, w) + notRequiredWords(w) + "."
	case configuration.WarnNeither:
		if len(w.NotRequired) > 0 {
			return "No " + name + " was recorded" + notRequiredWords(w) + "."
		}
		if len(w.Untold) > 0 {
			return "No " + name + " was recorded, and none was due on the checks that could be told."
		}
		return "No " + name + " was recorded, and none was due."
	case configuration.WarnCondition:
		return "No " + name + " was recorded although one was due for " + known(list(w.Due), "the recomputed condition") + "."
	case configuration.WarnOnly:
		s := "The " + name + " was recorded"
		if w.First != nil {
			s += after(a, *w.First)
		}
		s += " " + noCondition(w)
		if len(w.UntoldDue) > 0 {
			s += "; not told: " + list(w.UntoldDue)
		}
		return s + notRequiredWords(w) + "."
	}
	return "Whether the " + name + " was given cannot be told" + because(w.Reason) + "."
}

// delayWords is the time from the condition to the warning, between the
// bounds that the samples give, and whether it was longer than is allowed.
func delayWords(a archive.AttemptSummary, w *archive.WarningSummary) string {
	switch {
	case w.Delay == nil && len(w.Due) == 0:
		return "" // the reason is the condition that needs no warning: told next
	case w.Delay == nil:
		return because(w.Reason)
	case w.DelayEarliest == nil || w.DelayLatest == nil: // of an older summary
		return " " + Seconds(*w.Delay) + " after the condition arose under thrust"
	}
	if len(w.Due) > 0 && w.Reason != "" { // it came late, or may have, with the same figures
		return "; " + w.Reason + brieflyWords(a, w)
	}
	of := known(w.DelayOf, "the condition") + " was out of limits under thrust"
	early, late := *w.DelayEarliest, *w.DelayLatest
	var s string
	switch {
	case late < 0:
		s = " " + Number(-late, 1) + " to " + Seconds(-early) + " before " + of
	case early <= 0:
		s = " at most " + Seconds(late) + " after " + of
	default:
		s = " " + Number(early, 1) + " to " + Seconds(late) + " after " + of
	}
	return s
}

// notRequiredWords says of a verdict without a due warning that a condition
// was there all the same, for which nobody had to warn.
func notRequiredWords(w *archive.WarningSummary) string {
	if len(w.Due) > 0 || len(w.NotRequired) == 0 {
		return ""
	}
	verb := " was"
	if len(w.NotRequired) > 1 {
		verb = " were"
	}
	return "; " + list(w.NotRequired) + verb + " out of limits, for which the profile's certification basis requires no warning"
}

// brieflyWords say that the condition which the delay counts from was seen at
// one sample only: how late the warning was rests on that sample.
func brieflyWords(a archive.AttemptSummary, w *archive.WarningSummary) string {
	for _, f := range a.Findings {
		if f.Check == w.DelayOf && len(f.Stretches) > 0 && oneSample(f.Stretches[0]) {
			return "; " + f.Check + " was out of limits " + oneSampleOnly
		}
	}
	return ""
}

// noCondition says of a warning that nothing accounts for it. A check that
// could not be told is hinted at only when it is one that requires the warning.
func noCondition(w *archive.WarningSummary) string {
	if w != nil && len(w.UntoldDue) > 0 {
		return "with no condition among the checks that could be told"
	}
	return "with no condition that requires it"
}

// VerdictWords is the verdict of the cross-check as a person reads it: of a
// condition that needs no warning "neither" would be wrong.
func VerdictWords(w archive.WarningSummary) string {
	if w.Verdict == string(configuration.WarnNeither) && len(w.NotRequired) > 0 {
		return "no warning; none required"
	}
	return w.Verdict
}
