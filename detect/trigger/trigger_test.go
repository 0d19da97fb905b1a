package trigger_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/detect/internal/casefile"
	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// TestCases runs the case files: a rule, and the episodes and unknown
// stretches that it must give, all of them and no other.
func TestCases(t *testing.T) {
	casefile.Each(t, "testdata/*.txt", os.ReadFile, func(t *testing.T, c *casefile.Case) {
		s := c.Alone("value")
		if s == nil {
			t.Fatalf("%s:%d: the case has no series \"value\"", c.File, c.Line)
		}
		got := shown(evaluate(t, c, s))
		var want []string
		for _, e := range c.Expect {
			want = append(want, e.Text)
		}
		if len(got) == 0 || !strings.HasPrefix(got[0], "episode") {
			got = slices.Insert(got, 0, "no episode")
		}
		if !slices.EqualFunc(want, got, alike) {
			t.Errorf("%s:%d: expected\n\t%s\nfound\n\t%s", c.File, c.Line, strings.Join(want, "\n\t"), strings.Join(got, "\n\t"))
		}
	})
}

// evaluate reads the line "rule: on 70, off 67, persistence 2s, bridge 4s" or
// "rule: state on" and runs it.
func evaluate(t *testing.T, c *casefile.Case, s *flightdata.Series) trigger.Result {
	t.Helper()
	line := c.Given["rule"]
	var r trigger.Rule
	off := math.NaN()
	var states []int
	for item := range strings.SplitSeq(line.Text, ",") {
		name, text, _ := strings.Cut(strings.TrimSpace(item), " ")
		var err error
		switch name {
		case "on":
			r.On, err = strconv.ParseFloat(text, 64)
		case "off":
			off, err = strconv.ParseFloat(text, 64)
		case "persistence":
			r.Persistence, err = time.ParseDuration(text)
		case "bridge":
			r.Bridge, err = time.ParseDuration(text)
		case "state":
			states = append(states, slices.Index(s.States, text))
		default:
			err = fmt.Errorf("unknown word %q", name)
		}
		if err != nil {
			t.Fatalf("%s:%d: rule: %v", c.File, line.Number, err)
		}
	}
	r.Off = off
	if math.IsNaN(off) {
		r.Off = r.On
	}
	whole := span.Span{To: span.Instant(c.Length)}
	if states != nil {
		return trigger.InState(s, r, whole, states...)
	}
	return trigger.Above(s, r, whole)
}

// shown writes a result as the expectations do.
func shown(r trigger.Result) []string {
	var out []string
	for _, e := range r.Episodes {
		text := fmt.Sprintf("episode %.9g to %.9g", e.From.At.Seconds(), e.To.At.Seconds())
		if e.OpenStart {
			text += ", open start"
		}
		if e.OpenEnd {
			text += ", open end"
		}
		out = append(out, text)
	}
	for _, s := range r.Unknown {
		out = append(out, fmt.Sprintf("unknown %.9g to %.9g", s.From.Seconds(), s.To.Seconds()))
	}
	return out
}

// alike compares two lines word by word, numbers to a microsecond.
func alike(a, b string) bool {
	return slices.EqualFunc(strings.FieldsFunc(a, cut), strings.FieldsFunc(b, cut), func(x, y string) bool {
		v, errX := strconv.ParseFloat(x, 64)
		w, errY := strconv.ParseFloat(y, 64)
		return x == y || errX == nil && errY == nil && math.Abs(v-w) < 2e-6
	})
}

func cut(r rune) bool { return r == ' ' || r == ',' }

// drawSeries draws a series with uneven times, gaps and masks. Values are
// whole numbers, so that samples lie exactly on thresholds as well.
func drawSeries(t *rapid.T) *flightdata.Series {
	s := &flightdata.Series{Period: time.Second}
	at := span.Instant(rapid.Int64Range(0, 3e9).Draw(t, "start"))
	for i := range rapid.IntRange(0, 40).Draw(t, "samples") {
		step := rapid.SampledFrom([]int64{1e9, 1e9, 1e9, 9e8, 2e9, 7e9}).Draw(t, "step")
		if i > 0 {
			at += span.Instant(step)
		}
		s.Times = append(s.Times, at)
		s.Values = append(s.Values, float64(rapid.IntRange(0, 10).Draw(t, "value")*10))
		m := flightdata.Good
		if rapid.IntRange(0, 9).Draw(t, "masked") == 0 {
			m = flightdata.Spike
		}
		s.Masks = append(s.Masks, m)
	}
	return s
}

func drawRule(t *rapid.T) trigger.Rule {
	return trigger.Rule{
		On: rapid.SampledFrom([]float64{20, 45, 50, 70}).Draw(t, "on"), Off: rapid.SampledFrom([]float64{10, 40, 50, 90}).Draw(t, "off"),
		Persistence: time.Duration(rapid.SampledFrom([]int64{0, 1e9, 2e9, 35e8}).Draw(t, "persistence")),
		Bridge:      time.Duration(rapid.SampledFrom([]int64{0, 3e9, 1e10}).Draw(t, "bridge")),
	}
}

var whole = span.Span{To: span.Sec(120)}

// TestEpisodesAreOrdered: episodes are in order and do not touch, each lasts
// the persistence, none overlaps what is unknown, and every edge lies in its
// bracket.
func TestEpisodesAreOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, rule := drawSeries(t), drawRule(t)
		r := trigger.Above(s, rule, whole)
		last := span.Instant(-1)
		for _, e := range r.Episodes {
			if e.From.At <= last || e.To.At < e.From.At {
				t.Fatalf("episode %v to %v after %v", e.From.At, e.To.At, last)
			}
			if e.To.At.Sub(e.From.At) < rule.Persistence {
				t.Fatalf("episode of %v, persistence %v", e.To.At.Sub(e.From.At), rule.Persistence)
			}
			for _, m := range []span.Moment{e.From, e.To} {
				if m.At < m.Earliest || m.At > m.Latest {
					t.Fatalf("edge %v outside its bracket %v to %v", m.At, m.Earliest, m.Latest)
				}
			}
			if sp := (span.Span{From: e.From.At, To: e.To.At}); r.Unknown.Overlaps(sp) {
				t.Fatalf("episode %v overlaps unknown %v", sp, r.Unknown)
			}
			last = e.To.At
		}
	})
}

// TestSamplesAgree: every good sample at or above On lies in an episode, and
// every one below Off in none, when nothing has to persist.
func TestSamplesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, rule := drawSeries(t), drawRule(t)
		rule.Persistence = 0
		r := trigger.Above(s, rule, whole)
		for p := range s.Good(whole) {
			_, in := r.At(p.At)
			if p.Value >= rule.On && !in && p.At < whole.To {
				// The first sample above may lie at the very edge that ends it.
				touches := slices.ContainsFunc(r.Episodes, func(e trigger.Episode) bool { return e.To.At == p.At })
				if !touches {
					t.Fatalf("sample %v at %v is met and in no episode of %v", p.Value, p.At, r.Episodes)
				}
			}
			if p.Value < min(rule.On, rule.Off) && in {
				t.Fatalf("sample %v at %v is not met and in an episode", p.Value, p.At)
			}
		}
	})
}

// TestSamplesOnTheLineMoveNoEdge: a recorder that samples twice as often the
// same straight lines gives the same edges, to the rounding of nanoseconds.
func TestSamplesOnTheLineMoveNoEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, rule := drawSeries(t), drawRule(t)
		s.Masks, rule.Persistence = nil, 0
		fine := &flightdata.Series{Period: s.Period}
		for i, at := range s.Times {
			if i > 0 && at.Sub(s.Times[i-1]) <= s.MaxAge() {
				share := rapid.Int64Range(1, 9).Draw(t, "share")
				fine.Times = append(fine.Times, s.Times[i-1]+(at-s.Times[i-1])*span.Instant(share)/10)
				fine.Values = append(fine.Values, s.Values[i-1]+(s.Values[i]-s.Values[i-1])*float64(share)/10)
			}
			fine.Times, fine.Values = append(fine.Times, at), append(fine.Values, s.Values[i])
		}
		a, b := trigger.Above(s, rule, whole), trigger.Above(fine, rule, whole)
		if len(a.Episodes) != len(b.Episodes) {
			t.Fatalf("%d episodes, %d with samples in between: %v against %v", len(a.Episodes), len(b.Episodes), a.Episodes, b.Episodes)
		}
		for i := range a.Episodes {
			x, y := a.Episodes[i], b.Episodes[i]
			if d := max(x.From.At, y.From.At) - min(x.From.At, y.From.At); d > 3 {
				t.Fatalf("start moved by %d ns", d)
			}
			if d := max(x.To.At, y.To.At) - min(x.To.At, y.To.At); d > 3 {
				t.Fatalf("end moved by %d ns", d)
			}
			if y.From.Width() > x.From.Width() || y.To.Width() > x.To.Width() {
				t.Fatalf("more samples widened a bracket")
			}
		}
	})
}

// TestLongerPersistenceFindsFewer: what lasts longer is among what lasts.
func TestLongerPersistenceFindsFewer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, rule := drawSeries(t), drawRule(t)
		all := trigger.Above(s, rule, whole)
		rule.Persistence += 2 * time.Second
		for _, e := range trigger.Above(s, rule, whole).Episodes {
			if !slices.Contains(all.Episodes, e) {
				t.Fatalf("episode %v appears only with a longer persistence", e)
			}
		}
	})
}

// TestCorner draws two lines that meet and hides the corner between samples.
func TestCorner(t *testing.T) {
	point := func(at, v float64) flightdata.Point { return flightdata.Point{At: span.Sec(at), Value: v} }
	for _, c := range []struct {
		name       string
		a, b, c, d flightdata.Point
		at, value  float64
		ok         bool
	}{
		// 4 kt/s up to 155 kt at 38.75 s, then 5 kt/s down.
		{"peak", point(37, 148), point(38, 152), point(39, 153.75), point(40, 148.75), 38.75, 155, true},
		{"valley", point(0, 10), point(1, 9), point(2, 9), point(3, 10), 1.5, 8.5, true},
		{"on a sample", point(0, 10), point(1, 20), point(2, 10), point(3, 0), 1, 20, true},
		{"straight", point(0, 0), point(1, 1), point(2, 2), point(3, 3), 0, 0, false},
		{"meet elsewhere", point(0, 0), point(1, 1), point(2, 2), point(3, 2.5), 2, 2, true},
		{"parallel", point(0, 0), point(1, 1), point(2, 5), point(3, 6), 0, 0, false},
		{"times not rising", point(1, 0), point(1, 1), point(2, 5), point(3, 6), 0, 0, false},
	} {
		got, ok := trigger.Corner(c.a, c.b, c.c, c.d)
		if ok != c.ok || ok && (math.Abs(got.At.Seconds()-c.at) > 1e-6 || math.Abs(got.Value-c.value) > 1e-9) {
			t.Errorf("%s: got %.6f s, %g, %v; want %g s, %g, %v", c.name, got.At.Seconds(), got.Value, ok, c.at, c.value, c.ok)
		}
	}
}
