package page

import (
	"strings"

	"rollonset/detect/configuration"
	"rollonset/ingest/flightdata"
	"rollonset/report/archive"
)

// lastingSentence says until when what was out of limits at the onset stayed
// so: whether a brake was released in time is asked of every such event. Up to
// the thrust cut needs no words, because the sentence of the cut follows.
func lastingSentence(a archive.AttemptSummary) string {
	var ends []string
	names := map[string][]string{}
	for _, f := range worstFirst(a, a.Findings) {
		if f.AtOnset != outside || len(f.Stretches) == 0 || f.Stretches[0].Ended == string(configuration.ByCut) {
			continue
		}
		end := endWords(a, f.Stretches[0])
		for _, s := range f.Stretches[1:] {
			end += ", again from" + after(a, s.From) + " " + endWords(a, s)
		}
		if names[end] == nil {
			ends = append(ends, end)
		}
		names[end] = append(names[end], f.Check)
	}
	var parts []string
	for _, end := range ends {
		parts = append(parts, list(atMost(names[end], 3, "check"))+", "+end)
	}
	if len(parts) == 0 {
		return ""
	}
	return "Out of limits since the onset: " + strings.Join(parts, "; ") + "."
}

// endWords tell the end of a stretch out of limits, with its bracket and the
// ground speed there.
func endWords(a archive.AttemptSummary, s archive.OutOfLimits) string {
	words := "up to " + endPlace(a, s)
	if s.Ended == string(configuration.Corrected) {
		words = "until corrected"
	}
	words += after(a, s.To) + bracketWords(s.To)
	if speed := endSpeed(a, s); speed != nil {
		words += " at " + Speed(speed.Value)
	}
	return words
}

// rejectBegan ends what another action than the thrust cut ended.
const rejectBegan = "reject began"

// endName is how a stretch ended. One that a reject ended before the thrust cut
// ended with another action, such as the brakes.
func endName(a archive.AttemptSummary, s archive.OutOfLimits) string {
	if s.Ended == string(configuration.ByCut) && a.ThrustCut != nil && s.To.At < a.ThrustCut.Earliest {
		return rejectBegan
	}
	return known(s.Ended, "an end that is not told")
}

// endPlace is endName where words lead to it: "up to rotation".
func endPlace(a archive.AttemptSummary, s archive.OutOfLimits) string {
	if name := endName(a, s); name != rejectBegan {
		return name
	}
	return "the start of the reject"
}

// endSpeed is the ground speed at the end of a stretch. At the thrust cut it is
// that of the reject, so that a page has one figure for one instant.
func endSpeed(a archive.AttemptSummary, s archive.OutOfLimits) *archive.Reading {
	if s.SpeedTo != nil && endsAtCut(a, s) && a.Reject != nil && a.Reject.GroundAtCut != nil {
		return a.Reject.GroundAtCut
	}
	return s.SpeedTo
}

func endsAtCut(a archive.AttemptSummary, s archive.OutOfLimits) bool {
	return s.Ended == string(configuration.ByCut) && a.ThrustCut != nil && s.To.At == a.ThrustCut.At
}

// oneSampleOnly tells of a stretch that may have been shorter than the samples
// tell.
const oneSampleOnly = "at one sample only"

// oneSample says whether a stretch out of limits rests on a single sample: the
// next one may have been corrected right behind the first.
func oneSample(s archive.OutOfLimits) bool {
	return s.Ended == string(configuration.Corrected) && s.To.Earliest <= s.From.At
}

// rollSentence tells of every check that went out of limits after the onset:
// first what the flap lever did, which the others follow from, then each check
// from where to where, worst first.
func rollSentence(a archive.AttemptSummary) string {
	var out []archive.FindingSummary
	for _, f := range a.Findings {
		if f.State == outside && f.AtOnset != outside && len(f.Stretches) > 0 && (f.InRoll || a.Onset != nil && f.Stretches[0].From.At > a.Onset.At) {
			out = append(out, f)
		}
	}
	if len(out) == 0 {
		return ""
	}
	out = worstFirst(a, out)
	var parts []string
	if s := leverWords(a, out); s != "" {
		parts = append(parts, s)
	}
	for _, f := range out {
		parts = append(parts, f.Check+" "+stretchesWords(a, f))
	}
	since := ""
	if a.Onset != nil {
		since = ", from the onset"
	}
	return "Out of limits in the roll" + since + ": " + strings.Join(parts, "; ") + "."
}

// leverWords tell that the flap lever was moved in the roll, from the setting
// at the onset to the one farthest out of limits, "" when no check of the lever
// saw it.
func leverWords(a archive.AttemptSummary, out []archive.FindingSummary) string {
	var moved *archive.FindingSummary
	var first, last *archive.OutOfLimits // where it left its setting, where it was farthest
	for i := range out {
		f := &out[i]
		if flightdata.Parameter(f.Parameter) != flightdata.FlapLever || f.Value == nil {
			continue
		}
		if s := &f.Stretches[0]; first == nil || s.From.At < first.From.At {
			first = s
		}
		w := farthest(*f)
		if w != nil && *w.Value != *f.Value && (last == nil || away(*w.Value, *f.Value) > away(*last.Value, *moved.Value)) {
			moved, last = f, w
		}
	}
	if last == nil {
		return ""
	}
	zero := origin(a)
	words := "flap lever moved from " + shortest(*moved.Value) + " to " + shortest(*last.Value)
	if moved.Unit != "" {
		words += " " + moved.Unit
	}
	words += " at " + signed(first.From.At-zero, 1)
	if last.ValueAt > first.From.At {
		words += " to " + signed(last.ValueAt-zero, 1)
	}
	words += " s"
	if first.SpeedFrom != nil {
		words += ", " + Speed(first.SpeedFrom.Value)
	}
	return words
}

func away(a, b float64) float64 { return max(a-b, b-a) }

// shortest is a lever's setting without zeros that say nothing.
func shortest(v float64) string {
	s := Number(v, 1)
	return strings.TrimSuffix(s, ".0")
}

// stretchesWords are all stretches of a check: from, to and the ground speeds.
func stretchesWords(a archive.AttemptSummary, f archive.FindingSummary) string {
	var parts []string
	for _, s := range f.Stretches {
		words := "from " + placed(a, s.From, s.SpeedFrom) + " to " + endPlace(a, s) + " " + placed(a, s.To, endSpeed(a, s))
		switch {
		case oneSample(s):
			words = "from " + placed(a, s.From, s.SpeedFrom) + ", " + oneSampleOnly
		case s.Ended == string(configuration.Corrected):
			words = "from " + placed(a, s.From, s.SpeedFrom) + " until corrected " + placed(a, s.To, endSpeed(a, s))
		}
		parts = append(parts, words)
	}
	return strings.Join(atMost(parts, 3, "stretch"), ", again ")
}

// placed is a moment from the onset with the ground speed there and its bracket.
func placed(a archive.AttemptSummary, m archive.Moment, speed *archive.Reading) string {
	words := signed(m.At-origin(a), 1) + " s"
	var more []string
	if m.Latest > m.Earliest {
		more = append(more, Uncertainty(m))
	}
	if speed != nil {
		more = append(more, Speed(speed.Value))
	}
	if len(more) == 0 {
		return words
	}
	return words + " (" + strings.Join(more, ", ") + ")"
}

// RuleWords is the rule of a check's severity as pages print it. Where it names
// the ground speed up to which the check held and that was at the thrust cut,
// it is the figure of the reject; the class stays as it was judged. Where the
// brackets leave open on which side of a boundary it ended, it says so.
func RuleWords(rule, check string, a archive.AttemptSummary) string {
	for _, f := range a.Findings {
		if f.Check != check {
			continue
		}
		for _, s := range f.Stretches {
			if s.SpeedTo == nil {
				continue
			}
			if rest, ok := strings.CutPrefix(rule, "held at "+Speed(s.SpeedTo.Value)); ok {
				rule = "held at " + Speed(endSpeed(a, s).Value) + rest
				break
			}
		}
		return unresolved(rule, a, f)
	}
	return rule
}
