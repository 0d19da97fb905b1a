// Package trigger turns a condition over one series into episodes: stretches
// of time in which the condition held, found with separate on and off
// thresholds, a persistence, and a policy for gaps. It also says where the
// series cannot tell, so that whoever asks can reason in three values.
//
// A condition walks through four named states. It is Idle until a sample
// meets it, Pending until it has been met for the persistence, Active from
// then on, and back to Idle when a sample falls past the off threshold. An
// episode that never got past Pending is dropped.
package trigger

import (
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// Phase is where a condition stands.
type Phase uint8

// The phases of a condition.
const (
	Idle Phase = iota
	Pending
	Active
)

// Rule is a threshold condition: it is met at or above On and is over below
// Off. Off above On counts as On.
type Rule struct {
	On, Off float64
	// Persistence is how long it must be met to count at all.
	Persistence time.Duration
	// Bridge is the longest gap between good samples over which a condition
	// that holds on both sides is taken to hold in between.
	Bridge time.Duration
}

// Episode is one stretch in which a condition held. From is the first
// instant at which it was met, with the samples that bracket it.
type Episode struct {
	From, To span.Moment
	// OpenStart and OpenEnd say that the series began, or ended or went
	// missing, while the condition was met: the true edge lies outside.
	OpenStart, OpenEnd bool
}

// Result is what a series says about a condition.
type Result struct {
	Episodes []Episode
	// Unknown is where the series has no good sample near enough to tell.
	Unknown span.Set
}

// True is the set of instants in the episodes.
func (r Result) True() span.Set {
	spans := make([]span.Span, len(r.Episodes))
	for i, e := range r.Episodes {
		spans[i] = span.Span{From: e.From.At, To: e.To.At}
	}
	return span.Of(spans...)
}

// At is the episode that holds t, and whether there is one.
func (r Result) At(t span.Instant) (Episode, bool) {
	for _, e := range r.Episodes {
		if t >= e.From.At && t < e.To.At {
			return e, true
		}
	}
	return Episode{}, false
}

// Above finds the episodes of a continuous series at or above a threshold
// inside sp. Edges are interpolated between samples.
func Above(s *flightdata.Series, r Rule, sp span.Span) Result {
	r.Off = min(r.Off, r.On)
	w := walker{
		rule: r,
		met:  func(v float64, phase Phase) bool { return v >= r.On || phase != Idle && v >= r.Off },
		edge: func(a, b flightdata.Point, phase Phase) span.Instant {
			level := r.On
			if phase != Idle {
				level = r.Off
			}
			return Cross(a, b, level)
		},
	}
	return w.walk(s, sp)
}

// InState finds the episodes of a discrete series in the state with that
// index, or in any of several. An edge is the first sample that shows it.
func InState(s *flightdata.Series, r Rule, sp span.Span, states ...int) Result {
	w := walker{
		rule: r,
		met: func(v float64, _ Phase) bool {
			for _, want := range states {
				if v == float64(want) {
					return true
				}
			}
			return false
		},
		edge: func(_, b flightdata.Point, _ Phase) span.Instant { return b.At },
	}
	return w.walk(s, sp)
}

// Cross is the instant at which the straight line from a to b passes level;
// b's instant when it does not pass it in between.
func Cross(a, b flightdata.Point, level float64) span.Instant {
	if a.Value == b.Value || (level-a.Value)*(level-b.Value) > 0 {
		return b.At
	}
	share := (level - a.Value) / (b.Value - a.Value)
	// To the nearest nanosecond: a share of 0.999… must not fall short of b.
	return a.At + span.Instant(math.Round(share*float64(b.At-a.At)))
}

// Corner is where the line through a and b and the line through c and d meet,
// when that is between b and c: a value that turned there between two samples
// reached that far, though no sample shows it. False when they meet elsewhere.
func Corner(a, b, c, d flightdata.Point) (flightdata.Point, bool) {
	if a.At >= b.At || b.At >= c.At || c.At >= d.At {
		return flightdata.Point{}, false
	}
	before := (b.Value - a.Value) / b.At.Sub(a.At).Seconds()
	after := (d.Value - c.Value) / d.At.Sub(c.At).Seconds()
	gap := c.At.Sub(b.At).Seconds()
	// b + before*x = c - after*(gap-x)
	x := (c.Value - b.Value - float64(after*gap)) / (before - after)
	if !(x >= 0 && x <= gap) {
		return flightdata.Point{}, false // also parallel lines: x is no number
	}
	return flightdata.Point{At: b.At + span.Instant(x*1e9), Value: b.Value + float64(before*x)}, true
}

// walker runs the phases over the samples of one series.
type walker struct {
	rule Rule
	met  func(v float64, phase Phase) bool
	edge func(a, b flightdata.Point, phase Phase) span.Instant

	out     Result
	unknown []span.Span
	phase   Phase
	now     Episode
}

func (w *walker) walk(s *flightdata.Series, sp span.Span) Result {
	var prev flightdata.Point
	var age time.Duration
	first := true
	for p := range s.Good(sp) {
		switch {
		case first:
			age = s.MaxAge()
			w.lost(span.Span{From: sp.From, To: p.At}, age)
			w.start(p)
		case p.At.Sub(prev.At) > age && s.Lapse(prev.At, p.At) > age:
			w.gap(s, prev, p)
		case w.phase != Pending && (p.Value == prev.Value || w.met(p.Value, w.phase) == (w.phase == Active)):
			// What held goes on, and so does what did not.
		default:
			w.step(prev, p)
		}
		prev, first = p, false
	}
	switch {
	case first:
		w.lost(sp, 0)
	default:
		// The last sample stands for one period; then the series is over.
		end := min(prev.At.Add(s.Period), sp.To)
		w.close(span.Within(end, prev.At, end), true)
		w.lost(span.Span{From: end, To: sp.To}, s.MaxAge())
	}
	w.out.Unknown = span.Of(w.unknown...)
	return w.out
}

// lost records a stretch that no sample covers, unless it is within slack.
func (w *walker) lost(sp span.Span, slack time.Duration) {
	if sp.Length() > slack {
		w.unknown = append(w.unknown, sp)
	}
}

// start begins at a first sample: a condition met there began before it.
func (w *walker) start(p flightdata.Point) {
	if w.met(p.Value, Idle) {
		w.phase = Pending
		w.now = Episode{From: span.Exactly(p.At), OpenStart: true}
	}
}

func (w *walker) step(a, b flightdata.Point) {
	met := w.met(b.Value, w.phase)
	switch {
	case w.phase == Idle && met:
		w.phase = Pending
		w.now = Episode{From: span.Within(w.edge(a, b, Idle), a.At, b.At)}
	case w.phase != Idle && !met:
		w.close(span.Within(w.edge(a, b, w.phase), a.At, b.At), false)
	case w.phase == Pending && b.At.Sub(w.now.From.At) >= w.rule.Persistence:
		w.phase = Active
	}
}

// gap handles two samples too far apart to be read as neighbours.
func (w *walker) gap(s *flightdata.Series, a, b flightdata.Point) {
	met := w.met(b.Value, w.phase)
	if w.phase != Idle && met && b.At.Sub(a.At) <= w.rule.Bridge {
		return
	}
	end := a.At.Add(s.Period)
	w.close(span.Within(end, a.At, end), true)
	w.lost(span.Span{From: end, To: b.At}, 0)
	w.start(b)
}

func (w *walker) close(to span.Moment, open bool) {
	if w.phase == Idle {
		return
	}
	w.now.To, w.now.OpenEnd = to, open
	if to.At.Sub(w.now.From.At) >= w.rule.Persistence {
		w.out.Episodes = append(w.out.Episodes, w.now)
	}
	w.phase, w.now = Idle, Episode{}
}
