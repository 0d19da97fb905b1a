package page

import (
	"strconv"
	"strings"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// Headline is one attempt in half a sentence: how it ended, and the worst
// that the checks say.
func Headline(a archive.AttemptSummary) string {
	return outcomeWords(a) + checkWords(a)
}

func outcomeWords(a archive.AttemptSummary) string {
	switch takeoff.Outcome(a.Outcome) {
	case takeoff.Rejected:
		if r := a.Reject; r != nil && r.GroundAtCut != nil {
			return "Takeoff rejected at " + Speed(r.GroundAtCut.Value) + afterV1(r)
		}
		return "Takeoff rejected"
	case takeoff.RejectedNoRoll:
		return "Takeoff rejected before the roll"
	case takeoff.Airborne:
		return "Takeoff"
	case takeoff.TouchAndGo:
		return "Touch-and-go"
	}
	return "Takeoff attempt whose end cannot be told"
}

// afterV1 says of a reject that it came late, which is the first thing to know
// of it; before V1 is where a reject belongs and needs no word.
func afterV1(r *archive.RejectSummary) string {
	if r.AgainstV1 == "after V1" {
		return ", after V1"
	}
	return ""
}

// checkWords sums the findings up; out of limits goes before cannot be told,
// and only when there is neither does it say that all is within limits. The
// names of checks come last, because a name such as "flaps left" would run
// into the words behind it.
func checkWords(a archive.AttemptSummary) string {
	var out, untold []string
	for _, f := range worstFirst(a, a.Findings) {
		switch f.State {
		case outside:
			out = append(out, f.Check)
		case within:
		default:
			untold = append(untold, f.Check)
		}
	}
	switch {
	case len(a.Findings) == 0:
		return ", no check judged"
	case len(out) > 0:
		return "; out of limits: " + list(atMost(out, 2, "check"))
	case len(untold) > 0:
		return "; cannot be told: " + list(atMost(untold, 2, "check"))
	}
	// The title is short; the first sentence says more.
	return ", all checks within limits" + strings.TrimSuffix(lifeClause(a.Findings), " in this recording")
}

// flightHeadline joins the headlines of a flight's attempts.
func flightHeadline(s archive.Summary) string {
	switch n := len(s.Attempts); {
	case n == 0:
		return "No takeoff attempt"
	case n > 3:
		return strconv.Itoa(n) + " takeoff attempts"
	}
	var parts []string
	for _, a := range s.Attempts {
		parts = append(parts, Headline(a))
	}
	return strings.Join(parts, ". Then: ")
}

// EventText says what one event of the attempt is.
func EventText(e archive.EventSummary, a archive.AttemptSummary) string {
	switch detect.EventKind(e.Kind) {
	case detect.ConfigurationEvent:
		for _, f := range a.Findings {
			if f.Check == e.Check {
				return e.Check + ": " + inRollWords(f) + valueAndLimit(f)
			}
		}
		return e.Check + ": out of limits"
	case detect.WarningEvent:
		switch configuration.Verdict(e.Check) {
		case configuration.WarnCondition:
			return "No takeoff configuration warning recorded although one was due"
		case configuration.WarnOnly:
			return "Takeoff configuration warning " + noCondition(a.Warning)
		}
		return "Takeoff configuration warning: " + e.Check
	case detect.RejectEvent:
		s := "Reject, " + e.Check
		if r := a.Reject; r != nil && r.GroundAtCut != nil {
			s += ", thrust cut at " + Speed(r.GroundAtCut.Value)
		}
		return s
	}
	return strings.TrimSpace(e.Kind + " " + e.Check)
}

func inRollWords(f archive.FindingSummary) string {
	switch {
	case f.InRoll:
		return "went out of limits in the roll"
	case f.AtOnset == string(configuration.Outside):
		return "out of limits at the onset"
	}
	return "out of limits"
}
