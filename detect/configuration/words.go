package configuration

import (
	"fmt"
	"math"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// text prints a value of the watched parameter with its unit, or the state of
// a discrete.
func (j *judge) text(v float64) string {
	s := j.ruler.watch
	if s.Kind == flightdata.Discrete {
		return s.State(v)
	}
	return withUnit(v, s.Unit.Symbol)
}

func withUnit(v float64, unit string) string {
	if unit == "" {
		return num(v)
	}
	return num(v) + " " + unit
}

// rawName is the recorded name and unit behind the watched parameter.
func (j *judge) rawName() string {
	s := j.ruler.watch
	if s == nil {
		return ""
	}
	name := strings.Join(s.Origin.Names, ", ")
	if s.Origin.Unit != "" {
		return name + " in " + s.Origin.Unit
	}
	return name
}

// limitWords says the limits of the check in words.
func (j *judge) limitWords() string {
	unit := ""
	if rule := j.prof.Find(j.check.Watched()); rule != nil {
		unit = rule.Canonical.Symbol
	}
	c := j.check
	switch {
	case c.State != nil:
		return c.State.Is
	case c.Range != nil && math.IsInf(c.Range.Min, -1):
		return "at most " + withUnit(c.Range.Max, unit)
	case c.Range != nil && math.IsInf(c.Range.Max, 1):
		return "at least " + withUnit(c.Range.Min, unit)
	case c.Range != nil:
		return num(c.Range.Min) + " to " + withUnit(c.Range.Max, unit)
	case c.OneOf != nil:
		return j.settingWords(unit)
	}
	return j.bandWords(unit)
}

func (j *judge) settingWords(unit string) string {
	o := j.check.OneOf
	tol := " ± " + withUnit(o.Tolerance, unit)
	switch {
	case len(j.ruler.settings) == 0 && o.Rule == profile.PlannedSetting:
		return "the planned setting" + tol
	case len(j.ruler.settings) == 0:
		return "as at the onset" + tol
	}
	words := make([]string, len(j.ruler.settings))
	for i, s := range j.ruler.settings {
		words[i] = num(s)
	}
	return strings.Join(words, " or ") + tol
}

// bandWords gives the edges of a band at the start of judging.
func (j *judge) bandWords(unit string) string {
	e, _ := j.ruler.edges(j.judged.From)
	edge := func(lo, hi float64) string {
		if lo == hi {
			return num(lo)
		}
		return fmt.Sprintf("(%s…%s)", num(lo), num(hi))
	}
	return edge(e.lowMin, e.lowMax) + " to " + strings.TrimSpace(edge(e.highMin, e.highMax)+" "+unit)
}

// limitAt says the limits as they applied at one sample.
func (j *judge) limitAt(m mark) string {
	if j.check.Band == nil || math.IsNaN(m.low) || math.IsNaN(m.high) {
		return j.limitWords()
	}
	return num(m.low) + " to " + withUnit(m.high, j.ruler.watch.Unit.Symbol)
}

// Alive says whether the recording has shown every state that the check
// depends on, and if not, what was never seen. A parameter that never changes
// cannot clear anybody.
func Alive(rec *flightdata.Recording, c *profile.Check) (bool, string) {
	p := c.Watched()
	l := rec.Life[p]
	if l.Samples == 0 {
		if s := rec.Get(p); s != nil && len(s.Origin.Names) > 0 {
			return false, fmt.Sprintf("%s: every sample is masked or missing (recorded from %s)", p, strings.Join(s.Origin.Names, ", "))
		}
		return false, fmt.Sprintf("%s is not recorded", p)
	}
	switch {
	case c.State != nil:
		if len(l.States) < 2 {
			return false, fmt.Sprintf("%s read %s all through the recording", p, strings.Join(l.States, ""))
		}
	case c.OneOf != nil:
		if l.Hi == l.Lo {
			return false, fmt.Sprintf("%s read %s all through the recording", p, num(l.Lo))
		}
		if l.Hi-l.Lo <= 2*c.OneOf.Tolerance {
			return false, fmt.Sprintf("%s stayed between %s and %s all through the recording", p, num(l.Lo), num(l.Hi))
		}
	default:
		if l.Hi == l.Lo {
			return false, fmt.Sprintf("%s read %s all through the recording", p, num(l.Lo))
		}
	}
	return true, ""
}

// grades in rising order; lifted raises one step.
var grades = []string{"low", "medium", "high"}

func lifted(grade string) string {
	for i, g := range grades[:len(grades)-1] {
		if g == grade {
			return grades[i+1]
		}
	}
	return grade
}

// severity grades an outside finding by the highest ground speed at which it
// still held, one step up when it was far outside, or as the check fixes it.
func (j *judge) severity(f *Finding) (grade, rule string) {
	if s := j.check.Severity; s != "" && s != "by speed" {
		return s, fmt.Sprintf("the check fixes %s", s)
	}
	fastest, known, flew := 0.0, false, false
	for _, s := range f.Stretches {
		for _, r := range []flightdata.Reading{s.SpeedFrom, s.SpeedTo} {
			if r.OK {
				fastest, known = max(fastest, r.Value), true
			}
		}
		flew = flew || s.Ended == ByLiftOff || s.Ended == ByRotate
	}
	grade, rule = j.bySpeed(fastest, known, flew)
	if far := j.check.FarOutside; far > 0 && f.Worst < -far {
		if up := lifted(grade); up != grade {
			grade, rule = up, rule+fmt.Sprintf("; raised one step, more than %s outside", num(far))
		}
	}
	return grade, rule
}

func (j *judge) bySpeed(fastest float64, known, flew bool) (grade, rule string) {
	s := j.prof.Severity
	switch {
	case flew:
		return "high", "held until the aircraft rotated or flew"
	case !known:
		return "medium", "ground speed not known while it held"
	case fastest >= s.HighFrom:
		return "high", fmt.Sprintf("held at %s kt, at or above %s kt", num(math.Round(fastest)), num(s.HighFrom))
	case fastest >= s.MediumFrom:
		return "medium", fmt.Sprintf("held at %s kt, from %s to %s kt", num(math.Round(fastest)), num(s.MediumFrom), num(s.HighFrom))
	}
	return "low", fmt.Sprintf("held up to %s kt, below %s kt", num(math.Round(fastest)), num(s.MediumFrom))
}
