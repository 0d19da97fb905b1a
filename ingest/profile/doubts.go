package profile

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// Doubts lists what the language allows in a profile and a person hardly means:
// marks of a draft that nobody has confirmed, and an arming threshold that no
// engine of the trade would be armed by. A profile with doubts can be run; each
// one says what may follow. nil when there are none.
func Doubts(p *Profile) Errors {
	var out Errors
	out = append(out, p.unconfirmed()...)
	out = append(out, p.oddThreshold()...)
	return out.sorted()
}

// confirmMark is how a draft marks a place for a person: a comment that begins
// with the word.
var confirmMark = regexp.MustCompile(`(^|\s)#\s*CONFIRM\b`)

// Unconfirmed lists the lines of the profile, counted from 1, that still carry
// the mark of a draft. nil when there are none.
func (p *Profile) Unconfirmed() []int {
	var out []int
	n := 0
	for line := range strings.Lines(string(p.Source)) {
		n++
		if confirmMark.MatchString(line) {
			out = append(out, n)
		}
	}
	return out
}

// unconfirmed is the doubt about the marks, all in one: forty lines that say
// the same would hide what else there is to say.
func (p *Profile) unconfirmed() Errors {
	lines := p.Unconfirmed()
	if len(lines) == 0 {
		return nil
	}
	words := make([]string, len(lines))
	for i, n := range lines {
		words[i] = strconv.Itoa(n)
	}
	return Errors{{
		Path: p.Path, Line: lines[0], Column: 1,
		Text: fmt.Sprintf("%s of a draft not confirmed by anybody, in %s %s: limits and map may be guesses",
			plural(len(lines), "1 line is", strconv.Itoa(len(lines))+" lines are"), plural(len(lines), "line", "lines"), listed(words, "and")),
		Hint: "decide each one, then take its CONFIRM mark out",
	}}
}

// usual is the span in which the arming threshold of a measure lies: above the
// thrust of idle and taxi, below the lowest reduced takeoff thrust. The figures
// are common practice, no published source, and wide on purpose.
type usual struct {
	measure flightdata.Parameter
	dim     unit.Dimension
	lo, hi  float64 // canonical unit of dim
}

var usualThresholds = []usual{
	{flightdata.N1, unit.Ratio, 45, 95},
	{flightdata.EPR, unit.EPR, 1.03, 1.6},
	{flightdata.Torque, unit.Ratio, 30, 95},
	{flightdata.ThrustLever, unit.Ratio, 25, 95},
	{flightdata.ThrustLever, unit.Angle, 10, 90},
}

// oddThreshold doubts a threshold that idle thrust would pass, so that every
// taxi were an attempt, or that no takeoff would, so that none were found.
func (p *Profile) oddThreshold() Errors {
	rule := p.Find(p.Thrust.Measure.Engine(1))
	if rule == nil {
		return nil
	}
	for _, s := range usualThresholds {
		v := p.Thrust.Threshold
		if s.measure != p.Thrust.Measure || s.dim != rule.Canonical.Dim() || s.lo <= v && v <= s.hi {
			continue
		}
		follows := "idle or taxi thrust may pass it, and every taxi would look like an attempt"
		if v > s.hi {
			follows = "a reduced takeoff may not reach it, and would not be found"
		}
		return Errors{p.at("thrust", "threshold",
			fmt.Sprintf("usual is %s; common practice, no published source", reach(s.lo, s.hi, rule.Canonical)),
			fmt.Sprintf("threshold: %s is an unusual threshold of %s: %s", amount(v, rule.Canonical), s.measure, follows))}
	}
	return nil
}
