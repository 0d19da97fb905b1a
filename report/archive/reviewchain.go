package archive

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// ParseReviews reads the text of reviews.jsonl and follows the chain.
func ParseReviews(text []byte) *Reviews {
	r := &Reviews{byTail: map[string][]int{}, bySHA: map[string][]int{}}
	r.Head.SHA256 = HashOf(nil)
	lines := strings.Split(string(text), "\n")
	r.rawTail = lines[len(lines)-1]
	r.cut = r.rawTail != ""
	if !r.cut {
		lines = lines[:len(lines)-1]
	}
	for i := range lines {
		r.take(i, lines)
	}
	return r
}

// take adds line i to the chain, or says what is wrong with it.
func (r *Reviews) take(i int, lines []string) {
	line, number := lines[i], i+1
	last := i == len(lines)-1
	e, err := parseReview(line)
	if err != nil && last && r.cut {
		r.Torn = true
		r.Notes = append(r.Notes, fmt.Sprintf("line %d has no end: it was cut off when it was written, or changed; the next review sets it aside", number))
		return // it is no part of the chain yet
	}
	if err == nil && e.Previous != r.Head.SHA256 {
		err = fmt.Errorf("does not follow the line before it: that has the hash %s, the line says %s", r.Head.SHA256, e.Previous)
	}
	switch {
	case err == nil && e.Note == "":
		r.keep(e)
	case err == nil:
		r.Notes = append(r.Notes, e.Note)
	case setAside(line, lines[i+1:]):
	default:
		r.Broken = append(r.Broken, fmt.Sprintf("line %d %v", number, err))
	}
	r.Head = ReviewHead{Lines: number, SHA256: HashOf([]byte(line))}
	r.hashes = append(r.hashes, r.Head.SHA256)
}

// setAside says whether the line that follows is the note of one that was cut
// off and carries its hash.
func setAside(line string, after []string) bool {
	if len(after) == 0 {
		return false
	}
	note, err := parseReview(after[0])
	return err == nil && note.Note != "" && note.Previous == HashOf([]byte(line))
}

func (r *Reviews) keep(e Review) {
	n := len(r.Lines)
	r.Lines = append(r.Lines, e)
	r.bySHA[e.Recording] = append(r.bySHA[e.Recording], n)
	if e.Tail != "" {
		r.byTail[e.Tail] = append(r.byTail[e.Tail], n)
	}
}

// parseReview reads one line and holds it to its own hash.
func parseReview(line string) (Review, error) {
	var e Review
	if err := checkSeal([]byte(line), lineSeal); err != nil {
		return e, err
	}
	dec := json.NewDecoder(bytes.NewReader([]byte(line)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return e, fmt.Errorf("is not readable (%w)", err)
	}
	if e.Schema != reviewSchema {
		return e, fmt.Errorf("has the layout %d, this program knows %d", e.Schema, reviewSchema)
	}
	return e, nil
}

// Holds says whether the chain went through a head that was noted earlier; no
// lines at all are always held.
func (r *Reviews) Holds(h ReviewHead) bool {
	return h.Lines == 0 || h.Lines <= len(r.hashes) && r.hashes[h.Lines-1] == h.SHA256
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
