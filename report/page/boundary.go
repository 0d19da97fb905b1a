package page

import (
	"regexp"
	"strconv"
	"strings"

	"rollonset/report/archive"
)

// figures in the words of a rule, and how a rule by speed begins.
var (
	figures = regexp.MustCompile(`\d+(?:\.\d+)?`)
	bySpeed = regexp.MustCompile(`^held (?:at|up to) [^,]+, [^;]+`)
)

// unresolved puts behind a rule by speed that the end of what held cannot be
// told from a boundary of the rule: the speed there and the moment have
// brackets, and what ended a second earlier ended slower. The
// severity stays as it was judged. Any other rule stays as it is.
func unresolved(rule string, a archive.AttemptSummary, f archive.FindingSummary) string {
	class := bySpeed.FindString(rule)
	s, speed := lastHeld(a, f)
	if class == "" || s == nil {
		return rule
	}
	end := s.To
	if endsAtCut(a, *s) {
		end = *a.ThrustCut
	}
	gain := gainOf(*s)
	low, high := speed.Low-gain*(end.At-end.Earliest), speed.High+gain*(end.Latest-end.At)
	_, limits, _ := strings.Cut(class, ", ")
	for _, word := range figures.FindAllString(limits, -1) {
		if v, err := strconv.ParseFloat(word, 64); err == nil && low < v && v <= high {
			return class + "; " + between(*speed, 1) + " kt by the samples and its end " + Uncertainty(end) + ", not resolvable against " + word + " kt" + rule[len(class):]
		}
	}
	return rule
}

// lastHeld is the stretch that ended at the highest ground speed, with that
// speed; nil when none is told.
func lastHeld(a archive.AttemptSummary, f archive.FindingSummary) (*archive.OutOfLimits, *archive.Reading) {
	var out *archive.OutOfLimits
	var top *archive.Reading
	for i := range f.Stretches {
		if v := endSpeed(a, f.Stretches[i]); v != nil && (top == nil || v.Value > top.Value) {
			out, top = &f.Stretches[i], v
		}
	}
	return out, top
}

// gainOf is how much faster the aircraft got in a stretch, kt per second on
// the mean; 0 when it is not told or the aircraft got slower.
func gainOf(s archive.OutOfLimits) float64 {
	if s.SpeedFrom == nil || s.SpeedTo == nil || s.To.At <= s.From.At {
		return 0
	}
	return max(0, (s.SpeedTo.Value-s.SpeedFrom.Value)/(s.To.At-s.From.At))
}
