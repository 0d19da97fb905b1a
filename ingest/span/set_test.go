package span_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	. "rollonset/ingest/span"
)

// The model of a set is a bitmap: one bit for each instant of a short stretch
// of time. It cannot be wrong about an edge, so every law is checked bit by
// bit against it.
const (
	first = -6 // the bitmap covers [first, last)
	last  = 26
)

type bitmap [last - first]bool

func bitmapOf(spans []Span) (b bitmap) {
	for t := Instant(first); t < last; t++ {
		for _, s := range spans {
			if t >= s.From && t < s.To {
				b[t-first] = true
			}
		}
	}
	return b
}

// each makes a bitmap by a rule for one instant.
func each(rule func(t Instant) bool) (b bitmap) {
	for t := Instant(first); t < last; t++ {
		b[t-first] = rule(t)
	}
	return b
}

// runs are the spans of a bitmap, longest first to last.
func (b bitmap) runs() Set {
	var out Set
	for t := 0; t < len(b); t++ {
		if !b[t] {
			continue
		}
		from := t
		for t < len(b) && b[t] {
			t++
		}
		out = append(out, Span{Instant(from + first), Instant(t + first)})
	}
	return out
}

// drawSpans gives any spans, empty and inverted ones included, well inside
// the bitmap so that its ends do not cut one.
func drawSpans(t *rapid.T, name string) []Span {
	edge := rapid.Map(rapid.IntRange(0, 20), func(i int) Instant { return Instant(i) })
	one := rapid.Custom(func(t *rapid.T) Span { return Span{edge.Draw(t, "from"), edge.Draw(t, "to")} })
	return rapid.SliceOfN(one, 0, 6).Draw(t, name)
}

// same fails when a set is not exactly the runs of the bitmap: this holds
// order, no overlap, no touching and no empty span all at once.
func same(t *rapid.T, what string, got Set, want bitmap) {
	t.Helper()
	if diff := cmp.Diff(want.runs(), got); diff != "" {
		t.Fatalf("%s (-bitmap +set):\n%s", what, diff)
	}
}

func TestSetAgainstBitmap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		as, bs := drawSpans(t, "a"), drawSpans(t, "b")
		a, b := Of(as...), Of(bs...)
		ma, mb := bitmapOf(as), bitmapOf(bs)
		within := Span{Instant(rapid.IntRange(-3, 22).Draw(t, "from")), Instant(rapid.IntRange(-3, 22).Draw(t, "to"))}

		same(t, "Of", a, ma)
		same(t, "Or", a.Or(b), each(func(t Instant) bool { return ma[t-first] || mb[t-first] }))
		same(t, "And", a.And(b), each(func(t Instant) bool { return ma[t-first] && mb[t-first] }))
		same(t, "Not", a.Not(within), each(func(t Instant) bool {
			return t >= within.From && t < within.To && !ma[t-first]
		}))
		for i := Instant(first); i < last; i++ {
			if a.Holds(i) != ma[i-first] {
				t.Fatalf("Holds(%d) = %v", i, a.Holds(i))
			}
			if sp, ok := a.At(i); ok != ma[i-first] || ok && !sp.Holds(i) {
				t.Fatalf("At(%d) = %v, %v", i, sp, ok)
			}
		}
		if want := len(a.And(Of(within))) > 0; a.Overlaps(within) != want {
			t.Fatalf("Overlaps(%v) = %v", within, !want)
		}
		if n := len(ma.count()); a.Length() != time.Duration(n) {
			t.Fatalf("Length = %d, the bitmap has %d", a.Length(), n)
		}
	})
}

// count lists the instants of a bitmap.
func (b bitmap) count() (out []Instant) {
	for t, yes := range b {
		if yes {
			out = append(out, Instant(t+first))
		}
	}
	return out
}

func TestMergeAgainstBitmap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Of(drawSpans(t, "a")...)
		gap := rapid.IntRange(-1, 8).Draw(t, "gap")
		m := bitmapOf(a)
		// A gap of clear bits between two set ones is filled when short enough.
		for _, g := range a.Not(Span{first, last}) {
			if g.From > first && g.To < last && int(g.Length()) <= gap {
				for i := g.From; i < g.To; i++ {
					m[i-first] = true
				}
			}
		}
		got := a.Merge(time.Duration(gap))
		same(t, "Merge", got, m)
		same(t, "Merge twice", got.Merge(time.Duration(gap)), m)
	})
}

func TestAtLeastAgainstBitmap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Of(drawSpans(t, "a")...)
		least := rapid.IntRange(-1, 8).Draw(t, "least")
		m := bitmapOf(a)
		for _, s := range m.runs() {
			if int(s.Length()) < least {
				for i := s.From; i < s.To; i++ {
					m[i-first] = false
				}
			}
		}
		got := a.AtLeast(time.Duration(least))
		same(t, "AtLeast", got, m)
		same(t, "AtLeast twice", got.AtLeast(time.Duration(least)), m)
	})
}

func TestCountAtLeastAgainstBitmap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 5).Draw(t, "sets")
		k := rapid.IntRange(-1, 6).Draw(t, "k")
		sets, maps := make([]Set, n), make([]bitmap, n)
		for i := range sets {
			sets[i] = Of(drawSpans(t, "set")...)
			maps[i] = bitmapOf(sets[i])
		}
		same(t, "CountAtLeast", CountAtLeast(k, sets...), each(func(t Instant) bool {
			held := 0
			for i := range maps {
				if maps[i][t-first] {
					held++
				}
			}
			return held >= max(k, 1)
		}))
	})
}

func TestSetAlgebra(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := Of(drawSpans(t, "a")...), Of(drawSpans(t, "b")...), Of(drawSpans(t, "c")...)
		all := Span{first, last}
		for _, law := range []struct {
			name        string
			left, right Set
		}{
			{"or is idempotent", a.Or(a), a},
			{"and is idempotent", a.And(a), a},
			{"or commutes", a.Or(b), b.Or(a)},
			{"and commutes", a.And(b), b.And(a)},
			{"or is associative", a.Or(b).Or(c), a.Or(b.Or(c))},
			{"and is associative", a.And(b).And(c), a.And(b.And(c))},
			{"and distributes over or", a.And(b.Or(c)), a.And(b).Or(a.And(c))},
			{"or absorbs and", a.Or(a.And(b)), a},
			{"De Morgan, or", a.Or(b).Not(all), a.Not(all).And(b.Not(all))},
			{"De Morgan, and", a.And(b).Not(all), a.Not(all).Or(b.Not(all))},
			{"not twice", a.Not(all).Not(all), a},
			{"nothing lies in both", a.And(a.Not(all)), nil},
			{"everything lies in one", a.Or(a.Not(all)), Of(all)},
			{"any one of two is or", CountAtLeast(1, a, b), a.Or(b)},
			{"both of two is and", CountAtLeast(2, a, b), a.And(b)},
			{"a made set is made", Of(a...), a},
		} {
			if diff := cmp.Diff(law.left, law.right); diff != "" {
				t.Fatalf("%s: a=%v b=%v c=%v\n%s", law.name, a, b, c, diff)
			}
		}
	})
}

// TestOperationsLeaveTheirInputs guards against a result that shares memory
// with an input and changes it later.
func TestOperationsLeaveTheirInputs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans := drawSpans(t, "a")
		a, b := Of(spans...), Of(drawSpans(t, "b")...)
		before := append(Set(nil), a...)
		given := append([]Span{}, spans...)
		for _, out := range []Set{a.Or(b), a.And(b), a.Merge(5), a.AtLeast(2), a.Not(Span{first, last}), CountAtLeast(1, a, b), Of(spans...)} {
			for i := range out {
				out[i] = Span{99, 100}
			}
		}
		if diff := cmp.Diff(before, a); diff != "" {
			t.Fatalf("an operation changed its input:\n%s", diff)
		}
		if diff := cmp.Diff(given, spans); diff != "" {
			t.Fatalf("Of changed the caller's spans:\n%s", diff)
		}
	})
}

// TestHalfOpenEdges spells out what the laws hold in the abstract.
func TestHalfOpenEdges(t *testing.T) {
	s := Span{10, 20}
	for _, c := range []struct {
		at   Instant
		want bool
	}{{9, false}, {10, true}, {19, true}, {20, false}} {
		if s.Holds(c.at) != c.want || Of(s).Holds(c.at) != c.want {
			t.Errorf("[10, 20) holds %d: span %v, set %v; want %v", c.at, s.Holds(c.at), Of(s).Holds(c.at), c.want)
		}
	}
	if s.Overlaps(Span{20, 30}) || s.Overlaps(Span{0, 10}) {
		t.Error("spans that touch share no instant")
	}
	if diff := cmp.Diff(Set{{0, 30}}, Of(Span{20, 30}, s, Span{0, 10})); diff != "" {
		t.Errorf("spans that touch join without a seam:\n%s", diff)
	}
	if got := CountAtLeast(1, Of(Span{0, 10}), Of(Span{10, 20})); len(got) != 1 {
		t.Errorf("sets that touch leave a seam: %v", got)
	}
	if got := CountAtLeast(2, Of(Span{0, 10}), Of(Span{10, 20})); got != nil {
		t.Errorf("sets that touch share nothing: %v", got)
	}
	if got := Of(Span{0, 10}, Span{12, 20}).Merge(2); len(got) != 1 {
		t.Errorf("a gap of exactly the allowed length joins: %v", got)
	}
	if got := Of(Span{0, 10}).AtLeast(10); len(got) != 1 {
		t.Errorf("a span of exactly the demanded length stays: %v", got)
	}
}

func TestEmptySpan(t *testing.T) {
	for _, s := range []Span{{}, {5, 5}, {7, 5}} {
		if !s.Empty() || s.Length() != 0 || s.Holds(5) || s.Overlaps(Span{0, 10}) || len(Of(s)) != 0 {
			t.Errorf("%v is not empty in every way", s)
		}
	}
	var none Set
	if none.Holds(0) || none.Length() != 0 || none.Or(nil) != nil || none.And(Of(Span{0, 1})) != nil || CountAtLeast(1) != nil {
		t.Error("the empty set holds something")
	}
	if got := none.Not(Span{3, 3}); got != nil {
		t.Errorf("nothing lies in an empty span: %v", got)
	}
}

func TestSpanParts(t *testing.T) {
	s := Span{Sec(1), Sec(2.5)}
	if got, want := s.String(), "[1.000, 2.500)"; got != want {
		t.Errorf("String = %q, want %q", got, want)
	}
	if got, want := s.Widen(time.Second, 500*time.Millisecond), (Span{0, Sec(3)}); got != want {
		t.Errorf("Widen = %v, want %v", got, want)
	}
	if got := s.Widen(-time.Second, -time.Second); !got.Empty() {
		t.Errorf("a span narrowed past its middle is %v, want an empty one", got)
	}
	if got := s.Length(); got != 1500*time.Millisecond {
		t.Errorf("Length = %v", got)
	}
}

func TestSec(t *testing.T) {
	for _, c := range []struct {
		s    float64
		want Instant
	}{
		{0, 0},
		{1, 1e9},
		{-1, -1e9},
		{0.1, 1e8},
		{0.3, 3e8}, // neither is a float64; rounding finds the nanosecond
		{1e-9, 1},
		{0.4e-9, 0},
		{-0.4e-9, 0},
		{0.5e-9, 1},
		{-0.5e-9, -1},
		{86400.000000001, 86400_000_000_001},
	} {
		if got := Sec(c.s); got != c.want {
			t.Errorf("Sec(%g) = %d, want %d", c.s, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		// Milliseconds of a fortnight go there and back exactly.
		want := Instant(rapid.Int64Range(-1_209_600_000, 1_209_600_000).Draw(t, "ms")) * 1e6
		if got := Sec(want.Seconds()); got != want {
			t.Fatalf("Sec(%d.Seconds()) = %d", want, got)
		}
	})
}
