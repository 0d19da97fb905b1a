package casefile

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// SeriesLine is one series of a case as it is written.
type SeriesLine struct {
	Name  string // with * where it stands for several parameters
	Line  int
	Rate  float64       // samples per second
	Phase time.Duration // of the first sample
	Steps float64       // values are rounded to multiples of this; 0 not at all
	terms []term
}

// term is one piece of a series: from a to b, or no samples, over a stretch.
type term struct {
	from, to   span.Instant
	a, b       string // equal for a held value
	gap, open  bool   // open: to the end of the recording
	mask       flightdata.Mask
	start, end float64 // of a number
}

var (
	seriesForm = regexp.MustCompile(`^(\S+)\s+([0-9.]+)\s+Hz(?:\s+from\s+([0-9.]+m?s))?(?:\s+steps\s+([0-9.]+))?\s+(.+)$`)
	termForm   = regexp.MustCompile(`^(?:(.*?)\s+)?(?:(until|for|in)\s+([0-9.]+m?s|[0-9]+m[0-9.]+s)|(once|rest))(?:\s+masked\s+(.+))?$`)
)

func (p *parser) series(n int, text string) {
	m := seriesForm.FindStringSubmatch(text)
	if m == nil {
		p.fail(n, "%q is neither \"key: text\" nor a series such as \"ground_speed 1 Hz 0 until 60s, ..40 in 12s, rest\"", text)
		return
	}
	s := SeriesLine{Name: m[1], Line: n}
	var err error
	if s.Rate, err = strconv.ParseFloat(m[2], 64); err != nil || s.Rate <= 0 {
		p.fail(n, "%s: rate %q is not a positive number", s.Name, m[2])
		return
	}
	s.Phase, _ = time.ParseDuration(m[3]) // absent is no shift; the form admits no other mistake
	s.Steps, _ = strconv.ParseFloat(m[4], 64)
	for _, item := range split(m[5], ',') {
		if why := s.add(item); why != "" {
			p.fail(n, "%s: %q: %s", s.Name, item, why)
			return
		}
	}
	c := p.now()
	c.Series = slices.DeleteFunc(c.Series, func(o SeriesLine) bool { return o.Name == s.Name })
	c.Series = append(c.Series, s)
}

// add appends a term and says what is wrong with it, "" when nothing is.
func (s *SeriesLine) add(text string) string {
	m := termForm.FindStringSubmatch(text)
	if m == nil {
		return "no term; write VALUE until TIME, VALUE for TIME, A..B in TIME, VALUE once, gap for TIME, rest"
	}
	var last term
	if k := len(s.terms); k > 0 {
		last = s.terms[k-1]
		if last.open {
			return "stands after \"rest\""
		}
	}
	t := term{from: last.to, a: m[1], b: m[1], gap: m[1] == "gap"}
	if a, b, ok := strings.Cut(m[1], ".."); ok {
		t.a, t.b = a, b
	} else if m[2] == "in" {
		return "\"in\" needs two values, A..B"
	}
	if t.a == "" {
		t.a = last.b
	}
	if t.b == "" {
		t.b = t.a
	}
	if t.a == "" || t.a == "gap" && !t.gap {
		return "no value before it to go on from"
	}
	if why := t.masked(m[5]); why != "" {
		return why
	}
	return s.place(t, m[2], m[3], m[4])
}

// place sets the stretch of a term and appends it.
func (s *SeriesLine) place(t term, how, length, word string) string {
	d, err := time.ParseDuration(length)
	switch {
	case word == "rest":
		t.open, t.to = true, math.MaxInt64
	case word == "once":
		t.to = t.from.Add(time.Duration(math.Round(1e9 / s.Rate)))
	case err != nil:
		return "no time"
	case how == "until":
		t.to = span.Instant(d)
	default:
		t.to = t.from.Add(d)
	}
	if t.to <= t.from {
		return "ends at or before its start, " + time.Duration(t.from).String()
	}
	s.terms = append(s.terms, t)
	return ""
}

func (t *term) masked(reason string) string {
	if reason == "" {
		return ""
	}
	for m := flightdata.Good + 1; int(m) < flightdata.Masks; m++ {
		if m.String() == reason {
			t.mask = m
			return ""
		}
	}
	return "unknown reason for masking"
}

// numeric says whether every value is a number, and reads them.
func (s *SeriesLine) numeric() bool {
	for i := range s.terms {
		t := &s.terms[i]
		if t.gap {
			continue
		}
		var errA, errB error
		t.start, errA = strconv.ParseFloat(t.a, 64)
		t.end, errB = strconv.ParseFloat(t.b, 64)
		if errA != nil || errB != nil {
			return false
		}
	}
	return true
}

// words are the values in order of appearance, for a discrete that nothing
// else defines.
func (s *SeriesLine) words() []string {
	var out []string
	for _, t := range s.terms {
		if !t.gap && !slices.Contains(out, t.a) {
			out = append(out, t.a)
		}
	}
	return out
}

// value is the number of the term at t. Times stay below 2^53 ns.
func (t *term) value(at span.Instant, steps float64) float64 {
	v := t.start
	if t.end != t.start {
		v += (t.end - t.start) * float64(at-t.from) / float64(t.to-t.from)
	}
	if steps > 0 {
		v = math.Round(v/steps) * steps
	}
	return v
}

// sample fills a series with the samples of the line up to and including end.
// index gives the number of a state; nil for a continuous parameter.
func (s *SeriesLine) sample(out *flightdata.Series, end span.Instant, index func(string) int) {
	masked := false
	k := 0
	for i := 0; ; i++ {
		at := span.Instant(s.Phase) + span.Instant(math.Round(float64(i)*1e9/s.Rate))
		for k < len(s.terms) && at >= s.terms[k].to {
			k++
		}
		if at > end || k >= len(s.terms) {
			break
		}
		t := &s.terms[k]
		if t.gap {
			continue
		}
		v := 0.0
		if index != nil {
			v = float64(index(t.a))
		} else {
			v = t.value(at, s.Steps)
		}
		out.Times, out.Values, out.Masks = append(out.Times, at), append(out.Values, v), append(out.Masks, t.mask)
		masked = masked || t.mask != flightdata.Good
	}
	if !masked {
		out.Masks = nil
	}
	out.Period = time.Duration(math.Round(1e9 / s.Rate))
	if d := flightdata.NominalPeriod(out.Times); d > 0 {
		out.Period = d
	}
}
