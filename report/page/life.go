package page

import (
	"slices"
	"strings"

	"rollonset/report/archive"
)

// Lifeless says whether a check clears nobody on a recording: it applies to an
// attempt of it, and what it rests on showed no sign of life in all of the
// recording. One without such an attempt does not count, because nobody is
// cleared there: a touch-and-go or a flight without a takeoff begins with the
// sensor where it stays. The account and the night page both count by this.
func Lifeless(c archive.CheckCoverage) bool { return !c.Life && c.Attempts > 0 }

// NoLife is what both count, as a line and a column say it.
const NoLife = "no sign of life"

// lifeRule says in words what [Lifeless] counts.
const lifeRule = "A check without a sign of life clears nobody: what it rests on stayed as it was all through the recording, or has no valid sample. Counted are the recordings with an attempt that the check applies to."

// everyMasked is how the detection says it of a column without a valid sample.
const everyMasked = "every sample is masked or missing"

// Reasons are why a check says what it says, and why it clears nobody, each
// once; nil for a verdict that needs no word.
func Reasons(f archive.FindingSummary) []string {
	switch life := f.LifeWhy; {
	case f.Life || life == "" || life == f.Reason:
		if f.Reason == "" {
			return nil
		}
		return []string{f.Reason}
	case f.Reason == "":
		return []string{"sensor: " + life}
	case strings.HasPrefix(life, f.Reason): // the longer says both
		return []string{life}
	default:
		return []string{f.Reason, "sensor: " + life}
	}
}

// lifeClause names what a check within limits at the onset rests on without a
// sign of life, "" when there is nothing of the kind: such a check has not
// shown that it could have told anything else.
func lifeClause(findings []archive.FindingSummary) string {
	var names []string
	for _, f := range findings {
		if f.AtOnset == within && !f.Life && f.LifeWhy != "" && !slices.Contains(names, f.Parameter) {
			names = append(names, f.Parameter)
		}
	}
	switch n := len(names); {
	case n == 0:
		return ""
	case n > 2:
		return "; " + NoLife + " of " + count(n, "parameter") + " in this recording"
	}
	return "; " + NoLife + " of " + list(names) + " in this recording"
}

// deadness orders what has no sign of life, the worst first: no valid sample
// at all, then a discrete that never showed another state, then a value that
// never moved.
func deadness(why string, sensors []archive.Sensor) int {
	parameter, _, _ := strings.Cut(why, " ")
	parameter = strings.TrimSuffix(parameter, ":")
	if strings.HasSuffix(why, "not recorded") || strings.Contains(why, everyMasked) {
		return 0
	}
	for _, p := range sensors {
		if p.Parameter == parameter && len(p.States) == 0 {
			return 2
		}
	}
	return 1
}
