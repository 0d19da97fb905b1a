// Package span holds time inside a recording: instants, half-open spans
// between them, sets of spans, and moments that are known only to within a
// bracket. It knows nothing of aviation and imports nothing of the project.
//
// A span is [From, To): it holds its first instant and not its last, so two
// spans that touch share no instant and join without a seam.
package span

import (
	"fmt"
	"slices"
	"time"
)

// Instant is a time inside a recording: nanoseconds since its first sample.
type Instant int64

// Sec makes an instant from seconds since the start of the recording,
// rounded to the nearest nanosecond.
func Sec(s float64) Instant {
	if s < 0 {
		return -Instant(-s*1e9 + 0.5)
	}
	return Instant(s*1e9 + 0.5)
}

// Seconds is the instant in seconds since the start of the recording.
func (t Instant) Seconds() float64 { return float64(t) / 1e9 }

// Add is the instant d later.
func (t Instant) Add(d time.Duration) Instant { return t + Instant(d) }

// Sub is the time from u to t.
func (t Instant) Sub(u Instant) time.Duration { return time.Duration(t - u) }

// Span is the half-open stretch of time [From, To). It is empty when To is
// not after From.
type Span struct {
	From, To Instant
}

// Empty says whether the span holds no instant.
func (s Span) Empty() bool { return s.To <= s.From }

// Length is the time from From to To, zero for an empty span.
func (s Span) Length() time.Duration {
	if s.Empty() {
		return 0
	}
	return s.To.Sub(s.From)
}

// Holds says whether t lies in the span.
func (s Span) Holds(t Instant) bool { return t >= s.From && t < s.To }

// Overlaps says whether the two spans share an instant.
func (s Span) Overlaps(o Span) bool { return !s.And(o).Empty() }

// And is the part that both spans share; it may be empty.
func (s Span) And(o Span) Span {
	return Span{From: max(s.From, o.From), To: min(s.To, o.To)}
}

// Widen moves From earlier by before and To later by after.
func (s Span) Widen(before, after time.Duration) Span {
	return Span{From: s.From.Add(-before), To: s.To.Add(after)}
}

// String prints the span in seconds, for messages and tests.
func (s Span) String() string {
	return fmt.Sprintf("[%.3f, %.3f)", s.From.Seconds(), s.To.Seconds())
}

// Set is a set of instants as spans in rising order that neither overlap nor
// touch and are never empty. The zero value is the empty set. Make one with
// Of; every operation here keeps that order.
type Set []Span

// Of makes a set of any spans, in any order; overlapping and touching spans
// are joined, empty ones dropped.
func Of(spans ...Span) Set {
	kept := make([]Span, 0, len(spans))
	for _, s := range spans {
		if !s.Empty() {
			kept = append(kept, s)
		}
	}
	slices.SortFunc(kept, func(a, b Span) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	var out Set
	for _, s := range kept {
		if n := len(out); n > 0 && s.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, s.To)
			continue
		}
		out = append(out, s)
	}
	return out
}

// Holds says whether t lies in the set.
func (s Set) Holds(t Instant) bool {
	_, ok := s.At(t)
	return ok
}

// At is the span of the set that holds t, and whether there is one.
func (s Set) At(t Instant) (Span, bool) {
	i, found := slices.BinarySearchFunc(s, t, func(e Span, t Instant) int {
		switch {
		case e.To <= t:
			return -1
		case e.From > t:
			return 1
		}
		return 0
	})
	if !found {
		return Span{}, false
	}
	return s[i], true
}

// Or is the set of instants in either set.
func (s Set) Or(o Set) Set {
	return Of(append(slices.Clone([]Span(s)), o...)...)
}

// And is the set of instants in both sets.
func (s Set) And(o Set) Set {
	var out Set
	for i, j := 0, 0; i < len(s) && j < len(o); {
		if c := s[i].And(o[j]); !c.Empty() {
			out = append(out, c)
		}
		if s[i].To < o[j].To {
			i++
		} else {
			j++
		}
	}
	return out
}

// Not is the set of instants inside within that are not in the set.
func (s Set) Not(within Span) Set {
	var out Set
	from := within.From
	for _, e := range s {
		if e.To <= within.From {
			continue
		}
		if e.From >= within.To {
			break
		}
		if gap := (Span{From: from, To: e.From}); !gap.Empty() {
			out = append(out, gap)
		}
		from = max(from, e.To)
	}
	if rest := (Span{From: from, To: within.To}); !rest.Empty() {
		out = append(out, rest)
	}
	return out
}

// Merge joins spans whose gap is at most gap.
func (s Set) Merge(gap time.Duration) Set {
	var out Set
	for _, e := range s {
		if n := len(out); n > 0 && e.From.Sub(out[n-1].To) <= gap {
			out[n-1].To = e.To
			continue
		}
		out = append(out, e)
	}
	return out
}

// AtLeast keeps the spans that last d or longer.
func (s Set) AtLeast(d time.Duration) Set {
	var out Set
	for _, e := range s {
		if e.Length() >= d {
			out = append(out, e)
		}
	}
	return out
}

// Length is the time that all spans of the set cover together.
func (s Set) Length() time.Duration {
	var d time.Duration
	for _, e := range s {
		d += e.Length()
	}
	return d
}

// CountAtLeast is the set of instants that lie in at least k of the sets:
// the "at least k of n engines" of an arming rule. k below 1 counts as 1.
func CountAtLeast(k int, sets ...Set) Set {
	type edge struct {
		at   Instant
		step int
	}
	var edges []edge
	for _, s := range sets {
		for _, e := range s {
			edges = append(edges, edge{e.From, 1}, edge{e.To, -1})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int {
		if a.at != b.at {
			if a.at < b.at {
				return -1
			}
			return 1
		}
		return b.step - a.step // a span that begins where another ends leaves no seam
	})
	var out []Span
	n, from := 0, Instant(0)
	for _, e := range edges {
		was := n
		n += e.step
		switch {
		case was < max(k, 1) && n >= max(k, 1):
			from = e.at
		case was >= max(k, 1) && n < max(k, 1):
			out = append(out, Span{From: from, To: e.at})
		}
	}
	return Of(out...)
}

// Overlaps says whether any span of the set shares an instant with sp.
func (s Set) Overlaps(sp Span) bool {
	return len(s.And(Of(sp))) > 0
}
