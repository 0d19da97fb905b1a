package flightdata_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	. "rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// drawSeries gives a short series with gaps and masks; times are small whole
// numbers so that edges meet often.
func drawSeries(t *rapid.T) *Series {
	s := &Series{
		Kind:   rapid.SampledFrom([]Kind{Continuous, Discrete}).Draw(t, "kind"),
		Period: time.Duration(rapid.IntRange(0, 12).Draw(t, "period")),
	}
	at := span.Instant(rapid.IntRange(0, 5).Draw(t, "first"))
	for range rapid.IntRange(0, 8).Draw(t, "samples") {
		s.Times = append(s.Times, at)
		s.Values = append(s.Values, float64(rapid.IntRange(-9, 9).Draw(t, "value")))
		at += span.Instant(rapid.IntRange(1, 12).Draw(t, "step"))
	}
	if rapid.Bool().Draw(t, "masked") {
		for range s.Times {
			s.Masks = append(s.Masks, rapid.SampledFrom([]Mask{Good, Good, OutOfRange, Spike}).Draw(t, "mask"))
		}
	}
	return s
}

// naive is the series as a plain list of points, the good ones marked.
type naive []struct {
	Point
	good bool
}

func naiveOf(s *Series) (n naive) {
	for i := range s.Times {
		n = append(n, struct {
			Point
			good bool
		}{Point{At: s.Times[i], Value: s.Values[i]}, s.Masks == nil || s.Masks[i] == Good})
	}
	return n
}

func (n naive) last(t span.Instant) (p Point, ok bool) {
	for _, x := range n {
		if x.good && x.At <= t {
			p, ok = x.Point, true
		}
	}
	return p, ok
}

func (n naive) next(t span.Instant) (Point, bool) {
	for _, x := range n {
		if x.good && x.At > t {
			return x.Point, true
		}
	}
	return Point{}, false
}

func TestSeriesAgainstNaiveModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSeries(t)
		n := naiveOf(s)
		at := span.Instant(rapid.IntRange(-3, 90).Draw(t, "at"))

		last, okL := s.Last(at)
		if p, ok := n.last(at); p != last || ok != okL {
			t.Fatalf("Last(%d) = %v, %v; want %v, %v", at, last, okL, p, ok)
		}
		next, okN := s.Next(at)
		if p, ok := n.next(at); p != next || ok != okN {
			t.Fatalf("Next(%d) = %v, %v; want %v, %v", at, next, okN, p, ok)
		}
		near := okL && at.Sub(last.At) <= s.MaxAge()

		h := s.Hold(at)
		if h.OK != near || h.OK && (h.Value != last.Value || h.Age != at.Sub(last.At)) {
			t.Fatalf("Hold(%d) = %+v, the last good sample is %v (%v)", at, h, last, okL)
		}
		r := s.At(at)
		checkReading(t, h)
		checkReading(t, r)
		if s.Kind == Discrete && r != h {
			t.Fatalf("a discrete reads %+v and holds %+v", r, h)
		}
		if s.Kind == Continuous {
			want, ok := last.Value, near
			if near && okN && last.At != at && next.At.Sub(last.At) <= s.MaxAge() {
				share := float64(at-last.At) / float64(next.At-last.At)
				want = last.Value + share*(next.Value-last.Value)
			}
			if r.OK != ok || ok && math.Abs(r.Value-want) > 1e-12 {
				t.Fatalf("At(%d) = %+v, want %g, %v", at, r, want, ok)
			}
		}
	})
}

// checkReading holds what every reading promises.
func checkReading(t *rapid.T, r Reading) {
	t.Helper()
	if r.OK == (r.Why != "") {
		t.Fatalf("%+v: a reading has a value or a reason, never both and never neither", r)
	}
	if r.OK && (r.Low > r.Value || r.Value > r.High || r.Age < 0) {
		t.Fatalf("%+v: the value lies outside its bounds", r)
	}
}

func TestGoodAndSliceAgainstNaiveModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSeries(t)
		edge := rapid.OneOf(rapid.Int64Range(-3, 90), rapid.SampledFrom([]int64{math.MinInt64, math.MaxInt64}))
		sp := span.Span{From: span.Instant(edge.Draw(t, "from")), To: span.Instant(edge.Draw(t, "to"))}

		var good, whole []Point
		for _, x := range naiveOf(s) {
			if sp.Holds(x.At) {
				whole = append(whole, x.Point)
				if x.good {
					good = append(good, x.Point)
				}
			}
		}
		if diff := cmp.Diff(good, slices.Collect(s.Good(sp))); diff != "" {
			t.Fatalf("Good(%v) (-naive +series):\n%s", sp, diff)
		}
		for range s.Good(sp) {
			break // a caller may stop early
		}
		cut := s.Slice(sp)
		var got []Point
		for i := range cut.Times {
			got = append(got, Point{At: cut.Times[i], Value: cut.Values[i]})
		}
		if diff := cmp.Diff(whole, got); diff != "" {
			t.Fatalf("Slice(%v) (-naive +series):\n%s", sp, diff)
		}
		if (cut.Masks == nil) != (s.Masks == nil) || s.Masks != nil && len(cut.Masks) != len(cut.Times) || cut.Period != s.Period {
			t.Fatalf("Slice(%v) lost masks or period: %+v", sp, cut)
		}
		if diff := cmp.Diff(good, slices.Collect(cut.Good(cut.Whole()))); diff != "" {
			t.Fatalf("good samples of the slice (-naive +series):\n%s", diff)
		}
	})
}

// TestSliceDoesNotGrowIntoItsParent: a slice that is appended to must not
// write over the samples behind it.
func TestSliceDoesNotGrowIntoItsParent(t *testing.T) {
	s := &Series{Times: []span.Instant{0, 1, 2}, Values: []float64{5, 6, 7}, Masks: []Mask{0, 0, 0}}
	cut := s.Slice(span.Span{From: 0, To: 2})
	_ = append(cut.Values, 99)
	_ = append(cut.Times, 99)
	_ = append(cut.Masks, Spike)
	if s.Values[2] != 7 || s.Times[2] != 2 || s.Masks[2] != Good {
		t.Errorf("the parent is now %+v", s)
	}
}

func TestMaxAgeEdges(t *testing.T) {
	s := &Series{Period: time.Second, Times: []span.Instant{0}, Values: []float64{4}}
	if got := s.MaxAge(); got != 2100*time.Millisecond {
		t.Fatalf("two periods and a tenth of 1 s are %v", got)
	}
	for _, c := range []struct {
		at   span.Instant
		ok   bool
		what string
	}{
		{-1, false, "before the first sample"},
		{0, true, "at the sample"},
		{span.Sec(2.1), true, "at exactly the age"},
		{span.Sec(2.1) + 1, false, "a nanosecond past it"},
	} {
		for name, r := range map[string]Reading{"Hold": s.Hold(c.at), "At": s.At(c.at)} {
			if r.OK != c.ok {
				t.Errorf("%s %s: %+v", name, c.what, r)
			}
			if !c.ok && r.Why != WhyGap {
				t.Errorf("%s %s: %q", name, c.what, r.Why)
			}
		}
	}
	// Two samples exactly MaxAge apart are joined by a line, a nanosecond more
	// is a gap, over which the first is held and then nothing.
	for _, c := range []struct {
		gap  span.Instant
		want float64
	}{{span.Sec(2.1), 5}, {span.Sec(2.1) + 2, 4}} {
		s := &Series{Period: time.Second, Times: []span.Instant{0, c.gap}, Values: []float64{4, 6}}
		if r := s.At(c.gap / 2); !r.OK || r.Value != c.want {
			t.Errorf("half way over %v: %+v, want %g", time.Duration(c.gap), r, c.want)
		}
	}
}

func TestWhyThereIsNoValue(t *testing.T) {
	var missing *Series
	masked := &Series{
		Period: time.Second, Times: []span.Instant{0, span.Sec(1), span.Sec(2), span.Sec(3)},
		Values: []float64{1, 1, 1, 1}, Masks: []Mask{Spike, Stuck, Stuck, Stuck},
	}
	for _, c := range []struct {
		s    *Series
		at   span.Instant
		want string
	}{
		{missing, 0, "not recorded"},
		{&Series{}, 0, "no sample near enough"},
		{masked, 0, "samples masked: spike"},
		{masked, span.Sec(2.5), "samples masked: stuck"},
		{masked, span.Sec(5.1), "samples masked: stuck"},
		{masked, span.Sec(5.2), "no sample near enough"},
		{masked, -1, "no sample near enough"},
	} {
		for _, kind := range []Kind{Continuous, Discrete} {
			if c.s != nil {
				c.s.Kind = kind
			}
			if r := c.s.At(c.at); r.OK || r.Why != c.want {
				t.Errorf("At(%v) = %+v, want %q", c.at, r, c.want)
			}
			if r := c.s.Hold(c.at); r.OK || r.Why != c.want {
				t.Errorf("Hold(%v) = %+v, want %q", c.at, r, c.want)
			}
		}
	}
}

// TestMaskedSampleIsBridged: one masked sample between two good ones near
// enough does not blind the parameter.
func TestMaskedSampleIsBridged(t *testing.T) {
	s := &Series{
		Period: time.Second, Times: []span.Instant{0, span.Sec(1), span.Sec(2)},
		Values: []float64{10, 900, 20}, Masks: []Mask{Good, OutOfRange, Good},
	}
	if r := s.At(span.Sec(1)); !r.OK || r.Value != 15 || r.Low != 10 || r.High != 20 || r.Age != time.Second {
		t.Errorf("on the masked sample: %+v", r)
	}
	if r := s.Hold(span.Sec(1.5)); !r.OK || r.Value != 10 || r.High != 20 {
		t.Errorf("held over the masked sample: %+v", r)
	}
}

// TestFlapTwoSecondsOld: 14 CFR part 121 appendix M row 85 lets flap and
// lever be sampled every 2 s; such a sample is still valid at any instant
// until the next, and one that is dropped does not blind the check.
func TestFlapTwoSecondsOld(t *testing.T) {
	s := &Series{Period: 2 * time.Second, Times: []span.Instant{0, span.Sec(2), span.Sec(6)}, Values: []float64{10, 10, 10}}
	for at := span.Instant(0); at <= span.Sec(10); at += span.Sec(0.5) {
		if r := s.At(at); !r.OK || r.Value != 10 {
			t.Errorf("at %.1f s: %+v", at.Seconds(), r)
		}
	}
}

func circular(a, b float64) *Series {
	return &Series{Circular: true, Period: time.Second, Times: []span.Instant{0, span.Sec(1)}, Values: []float64{a, b}}
}

func TestCircularInterpolation(t *testing.T) {
	for _, c := range []struct{ a, b, share, want float64 }{
		{350, 10, 0.5, 0},
		{10, 350, 0.5, 0},
		{359, 1, 0.25, 359.5},
		{1, 359, 0.25, 0.5},
		{90, 270.5, 0.5, 0.25}, // the short way is over north
		{-10, 10, 0.25, 355},   // recorded as ±180
		{179, -179, 0.5, 180},
		{359.5, 359.5, 0.5, 359.5},
		{360, 0.5, 0.5, 0.25}, // 360 and 0 are one heading
	} {
		r := circular(c.a, c.b).At(span.Sec(c.share))
		if !r.OK || math.Abs(math.Remainder(r.Value-c.want, 360)) > 1e-9 || r.Value < 0 || r.Value >= 360 {
			t.Errorf("%g of the way from %g to %g: %+v, want %g", c.share, c.a, c.b, r, c.want)
		}
	}
}

// TestCircularLaws: the value lies on the short arc between its samples, its
// bounds hold it, and they are those samples.
func TestCircularLaws(t *testing.T) {
	angle := func(x float64) float64 { return math.Abs(math.Remainder(x, 360)) }
	rapid.Check(t, func(t *rapid.T) {
		heading := rapid.Map(rapid.IntRange(-3600, 3600), func(i int) float64 { return float64(i) / 10 })
		a, b := heading.Draw(t, "a"), heading.Draw(t, "b")
		share := float64(rapid.IntRange(1, 99).Draw(t, "share")) / 100
		r := circular(a, b).At(span.Sec(share))
		checkReading(t, r)
		if whole, parts := angle(b-a), angle(r.Value-a)+angle(b-r.Value); math.Abs(whole-parts) > 1e-9 {
			t.Fatalf("%g lies off the short arc from %g to %g", r.Value, a, b)
		}
		// The bounds are the samples, on the turn of the value.
		if lo, hi := min(angle(r.Low-a), angle(r.Low-b)), min(angle(r.High-a), angle(r.High-b)); lo > 1e-9 || hi > 1e-9 || r.High-r.Low > 180+1e-9 {
			t.Fatalf("from %g to %g: bounds [%g, %g] of %g are not the samples", a, b, r.Low, r.High, r.Value)
		}
		if back := circular(b, a).At(span.Sec(1 - share)); angle(back.Value-r.Value) > 1e-6 && angle(b-a) < 180 {
			t.Fatalf("from %g to %g at %g is %g, the other way round %g", a, b, share, r.Value, back.Value)
		}
	})
}

// TestInterpolationRoundsEachStep: a fused product and sum would give other
// bits on another machine.
func TestInterpolationRoundsEachStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Float64Range(-1e3, 1e3)
		a, b := value.Draw(t, "a"), value.Draw(t, "b")
		at := span.Instant(rapid.Int64Range(1, 999_999_999).Draw(t, "at"))
		s := &Series{Period: time.Second, Times: []span.Instant{0, span.Sec(1)}, Values: []float64{a, b}}
		way := float64(at) / 1e9 * (b - a)
		if got := s.At(at).Value; got != math.Min(math.Max(a+math.Float64frombits(math.Float64bits(way)), min(a, b)), max(a, b)) {
			t.Fatalf("from %g to %g at %d: %.17g", a, b, at, got)
		}
	})
}

func TestNominalPeriod(t *testing.T) {
	for _, c := range []struct {
		times []span.Instant
		want  time.Duration
	}{
		{nil, 0},
		{[]span.Instant{5}, 0},
		{[]span.Instant{0, 1}, 1},
		{[]span.Instant{0, 10, 20, 30}, 10},
		{[]span.Instant{0, 10, 500, 510, 520}, 10}, // a gap does not count
		{[]span.Instant{0, 9, 20, 29, 40, 51}, 11}, // jitter: the middle step
	} {
		if got := NominalPeriod(c.times); got != c.want {
			t.Errorf("NominalPeriod(%v) = %d, want %d", c.times, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := drawSeries(t)
		p := NominalPeriod(s.Times)
		given := slices.Clone(s.Times)
		if NominalPeriod(s.Times) != p || !slices.Equal(given, s.Times) {
			t.Fatal("NominalPeriod changed the times")
		}
		shorter, longer := 0, 0
		for i := 1; i < len(s.Times); i++ {
			switch d := s.Times[i].Sub(s.Times[i-1]); {
			case d < p:
				shorter++
			case d > p:
				longer++
			}
		}
		if n := len(s.Times) - 1; n > 0 && (2*shorter > n || 2*longer > n) {
			t.Fatalf("%d of %d steps are shorter than %d, %d longer", shorter, n, p, longer)
		}
	})
}

func TestMaskCounts(t *testing.T) {
	s := &Series{Times: make([]span.Instant, 4), Values: make([]float64, 4)}
	if n := s.MaskCounts(); n[Good] != 4 {
		t.Errorf("without masks %v", n)
	}
	s.Masks = []Mask{Good, Spike, Stuck, Spike}
	if n, want := s.MaskCounts(), [Masks]int{Good: 1, Spike: 2, Stuck: 1}; n != want {
		t.Errorf("%v, want %v", n, want)
	}
}

func TestMaskNames(t *testing.T) {
	seen := map[string]bool{}
	for m := range Masks {
		name := Mask(m).String()
		if name == "" || name == "unknown" || seen[name] {
			t.Errorf("mask %d is named %q", m, name)
		}
		seen[name] = true
	}
	if got := fmt.Sprint(Mask(Masks), Mask(255)); got != "unknown unknown" {
		t.Errorf("masks that do not exist are named %q", got)
	}
}

func TestState(t *testing.T) {
	s := &Series{Kind: Discrete, States: []string{"released", "set"}}
	for v, want := range map[float64]string{0: "released", 1: "set", 2: "", -1: "", 0.5: "", 1e300: "", math.Inf(-1): ""} {
		if got := s.State(v); got != want {
			t.Errorf("State(%g) = %q, want %q", v, got, want)
		}
	}
	if got := s.State(math.NaN()); got != "" {
		t.Errorf("State(NaN) = %q", got)
	}
}

// TestNilSeries: a parameter that is not recorded is a nil series, and asking
// it anything is allowed.
func TestNilSeries(t *testing.T) {
	var s *Series
	all := span.Span{From: math.MinInt64, To: math.MaxInt64}
	if s.Len() != 0 || !s.Whole().Empty() || s.Slice(all) != nil || len(slices.Collect(s.Good(all))) != 0 {
		t.Error("a nil series holds something")
	}
	if _, ok := s.Last(0); ok {
		t.Error("a nil series has a last sample")
	}
	if _, ok := s.Next(0); ok {
		t.Error("a nil series has a next sample")
	}
	if !(&Series{}).Whole().Empty() {
		t.Error("a series without samples covers time")
	}
}
