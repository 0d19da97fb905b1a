package archive

import (
	"math"
	"slices"
	"time"
)

// ParseReviews reads the text of reviews.jsonl and follows the chain.
func ParseReviews(text []byte) *Reviews {
	r := newReviews()
	r.Chain = follow(ReviewsFile, text, r.keep)
	return r
}

func newReviews() *Reviews {
	return &Reviews{byTail: map[string][]int{}, bySHA: map[string][]int{}}
}

func (r *Reviews) keep(e Review) (note string) {
	if e.Note != "" {
		return e.Note
	}
	n := len(r.Lines)
	r.Lines = append(r.Lines, e)
	r.bySHA[e.Recording] = append(r.bySHA[e.Recording], n)
	if e.Tail != "" {
		r.byTail[e.Tail] = append(r.byTail[e.Tail], n)
	}
	return ""
}

// sameInstant is how near two instants of one event lie, in seconds: other
// limits may move the onset by a sample or two, and takeoffs of one aircraft
// lie minutes apart.
const sameInstant = 2.0

// Of are the decisions about an event, in the order in which they were made:
// those of the same recording or aircraft, at the same instant, about the same
// check. A reject is one whatever its class, for new limits may change that.
func (r *Reviews) Of(p EventPlace, kind, check string) []Review {
	var out []Review
	some := slices.Clone(r.bySHA[p.Recording])
	if p.Tail != "" {
		some = append(some, r.byTail[p.Tail]...)
	}
	slices.Sort(some)
	for _, n := range slices.Compact(some) {
		if e := &r.Lines[n]; e.Kind == kind && (e.Check == check || kind == rejectKind) && samePlace(e.EventPlace, p) {
			out = append(out, *e)
		}
	}
	return out
}

// samePlace says whether two events of one kind are one: at the same second of
// the same bytes, or at the same UTC on the same aircraft, which holds for
// another recording of it too.
func samePlace(a, b EventPlace) bool {
	return a.Recording == b.Recording && near2(a.At, b.At) || a.Tail != "" && a.Tail == b.Tail && sameUTC(a.UTC, b.UTC)
}

// rejectKind is the kind of the event that a reject is.
const rejectKind = "reject"

func near2(a, b float64) bool { return math.Abs(a-b) <= sameInstant }

func sameUTC(a, b string) bool {
	x, errX := time.Parse(time.RFC3339Nano, a)
	y, errY := time.Parse(time.RFC3339Nano, b)
	return errX == nil && errY == nil && near2(x.Sub(y).Seconds(), 0)
}

// Any says whether anything was decided about the aircraft or the recording.
func (r *Reviews) Any(p EventPlace) bool {
	return len(r.bySHA[p.Recording]) > 0 || p.Tail != "" && len(r.byTail[p.Tail]) > 0
}

// Decision is the last decision about an event, "" when nobody has looked.
func (r *Reviews) Decision(p EventPlace, kind, check string) string {
	if all := r.Of(p, kind, check); len(all) > 0 {
		return all[len(all)-1].Decision
	}
	return ""
}

// PlaceOf is where an attempt of a summary happened.
func PlaceOf(s *Summary, a *AttemptSummary) EventPlace {
	p := EventPlace{Tail: s.Flight.Tail, Recording: s.Recording.SHA256}
	m := a.Onset
	if m == nil {
		m = a.ThrustAdvance
	}
	if m != nil {
		p.At, p.UTC = m.At, m.UTC
	}
	return p
}
