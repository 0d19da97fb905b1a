package span

import "time"

// Moment is an instant that the samples pin down only to within a bracket.
// The truth lies in [Earliest, Latest]; At is the best single value. The
// zero value is a moment that did not happen or cannot be told: Known is
// false and the other fields mean nothing.
type Moment struct {
	At       Instant
	Earliest Instant
	Latest   Instant
	Known    bool
}

// Exactly is a known moment without a bracket.
func Exactly(t Instant) Moment { return Moment{At: t, Earliest: t, Latest: t, Known: true} }

// Within is a known moment at t, somewhere from earliest to latest. A t
// outside the bracket widens it.
func Within(t, earliest, latest Instant) Moment {
	return Moment{At: t, Earliest: min(t, earliest), Latest: max(t, latest), Known: true}
}

// Width is the length of the bracket.
func (m Moment) Width() time.Duration { return m.Latest.Sub(m.Earliest) }

// Later is the moment moved by d, bracket and all; an unknown moment stays
// unknown.
func (m Moment) Later(d time.Duration) Moment {
	if !m.Known {
		return m
	}
	return Moment{At: m.At.Add(d), Earliest: m.Earliest.Add(d), Latest: m.Latest.Add(d), Known: true}
}

// Order is the order of two moments as far as their brackets resolve it.
type Order int

// The orders of two moments. NotResolvable also stands for a moment that is
// not known: recorded parameters are correlated in time only to within a
// second (14 CFR part 121 appendix M, headnote), and an order that the
// brackets do not carry must not be claimed.
const (
	NotResolvable Order = iota
	Before
	After
)

// Compare says whether a came before or after b, or that their brackets
// overlap and the order is not resolvable.
func Compare(a, b Moment) Order {
	switch {
	case !a.Known || !b.Known:
		return NotResolvable
	case a.Latest < b.Earliest:
		return Before
	case a.Earliest > b.Latest:
		return After
	}
	return NotResolvable
}
