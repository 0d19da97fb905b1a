package archive

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/detect/takeoff"
)

// A flight may lie in several recordings: exported twice, in overlapping
// pieces, or cut in two in the middle of a roll. Each recording has its own
// flight folder, which tells of that recording alone. Which attempts are one
// and the same is decided here, over the archive as a whole, so that it does
// not matter in which order, or in which night, the recordings came.
//
// Two sightings are one attempt when they are of one aircraft and
//
//	their onsets lie within 2 s of each other, as for reviews, and, where both
//	tell the end, their ends as well; or
//	one of them begins with its recording, or ends with it, and they overlap:
//	an aircraft makes one attempt at a time; or
//	one ends with its recording and the other begins, in the roll, with one
//	that starts no more than a minute later.
//
// Where the tail or the date of one is not known, it takes the same figures
// instead: see [Sighting.figures]. Two attempts of one recording are two.
//
// Of several sightings, that one counts which holds the start of the attempt
// and its end; then one that holds the start, because that is what the checks
// are judged at; then one that holds the end. Among equals it is the one on
// which more checks could be told, then the one with the narrower bracket of
// the onset, and last the one whose recording has the lower hash, which is
// arbitrary and the same everywhere.

// Sighting is an attempt as one recording holds it. Times in seconds count
// from the first sample of the recording; NaN is not known.
type Sighting struct {
	ID, Key, Folder, File, Recording string
	Number                           int
	Tail                             string
	Outcome                          string

	Start    float64 // of the recording, microseconds since 1970 in UTC
	Duration float64 // of the recording

	Advance, Onset, Roll, Rotation, LiftOff, Cut, Stop float64
	Bracket                                            float64 // of the onset, its width
	Peak                                               float64 // ground speed, kt
	Told                                               int     // checks that could be told

	// What the end of the attempt gives, for one that began in another
	// recording.
	Class, RejectSeverity string
	CutSpeed, Reaction    float64
	Events                int
}

// Seen is an attempt that lies in more than one recording, or whose end does.
type Seen struct {
	// Sightings begin with the one that counts; the others follow by the start
	// of their recording, its hash and the number of the attempt.
	Sightings []Sighting
	// End is the sighting that tells how the attempt ended.
	End int
	// GoesOn are the recordings that hold what followed when no sighting tells
	// the end: they begin in the air, or too late in the roll to show one.
	GoesOn []Next
}

// Next is a recording that begins where an attempt of another breaks off.
type Next struct{ Folder, File, Recording string }

// Counts says whether an attempt of that ID is the one that counts.
func (s *Seen) Counts(id string) bool { return s.Sightings[0].ID == id }

// Ends says whether the end of the attempt is taken from the sighting.
func (s *Seen) Ends(id string) bool { return s.Sightings[s.End].ID == id }

// HasEvent says whether an event of a sighting counts: all of the sighting that
// counts, and the reject of the one that tells the end. A nil Seen is an
// attempt that one recording holds, of which all count.
func (s *Seen) HasEvent(id, kind string) bool {
	return s == nil || s.Counts(id) || kind == rejectKind && s.Ends(id)
}

// Folders are the flight folders that the attempt lies or goes on in.
func (s *Seen) Folders() []string {
	var out []string
	for i := range s.Sightings {
		out = append(out, s.Sightings[i].Folder)
	}
	for _, n := range s.GoesOn {
		out = append(out, n.Folder)
	}
	return out
}

// Split says whether the start and the end are taken from two recordings.
func (s *Seen) Split() bool { return s.End != 0 }

// How near things lie that are one, in seconds. The last two are ours: no
// roll lasts a minute longer than its recording, and a rate of one sample in
// two seconds is the slowest that a roll is told from.
const (
	atStart    = 2.0  // of what begins with its recording
	longestGap = 60.0 // between two recordings of one roll
	// nearPeak is how far, in kt, two sources of ground speed may be apart.
	nearPeak = 10.0
	// runOut is how long before the end of its recording the last instant of an
	// attempt may lie whose end it does not hold.
	runOut = 120.0
)

// from and to are the first and last instant of an attempt; one that runs out
// lasts to the end of its recording.
func (s *Sighting) from() float64 { return least(s.Advance, s.Onset, s.Roll) }

func (s *Sighting) to() float64 {
	if s.runsOut() {
		return s.Duration
	}
	return s.last()
}

func (s *Sighting) last() float64 {
	return most(s.Advance, s.Onset, s.Rotation, s.LiftOff, s.Cut, s.Stop)
}

// end is the instant that tells how the attempt ended.
func (s *Sighting) end() float64 { return least(s.LiftOff, s.Cut) }

// at is the instant by which an attempt is known, as in PlaceOf.
func (s *Sighting) at() float64 {
	if math.IsNaN(s.Onset) {
		return s.Advance
	}
	return s.Onset
}

// utc is an instant of the recording in seconds since 1970.
func (s *Sighting) utc(at float64) float64 { return s.Start/1e6 + at }

func (s *Sighting) holdsStart() bool { return s.from() > atStart }
func (s *Sighting) holdsEnd() bool   { return s.Outcome != string(takeoff.Undetermined) }

// runsOut says whether the recording ends before the attempt does.
func (s *Sighting) runsOut() bool { return !s.holdsEnd() && s.Duration-s.last() <= runOut }

// Clock is the UTC of the onset, or else of the thrust advance, to a second;
// "" when it is not known.
func (s *Sighting) Clock() string {
	at := s.utc(s.at())
	if math.IsNaN(at) {
		return ""
	}
	return time.Unix(int64(math.Floor(at)), 0).UTC().Format(time.DateTime)
}

// figures are what was measured on an attempt that does not depend on when it
// was: the time from thrust advance to lift-off or thrust cut and to rotation,
// and the peak speed. Instants between samples and a speed to a thousandth of
// a knot do not agree by chance together with the instant or the tail, which
// one must also ask for. "" when fewer than two can be told.
func (s *Sighting) figures() string {
	length := s.end() - s.Advance
	if math.IsNaN(length) || math.IsNaN(s.Peak) {
		return ""
	}
	return fmt.Sprintf("%.3f %.3f %.3f", length, s.Rotation-s.Advance, s.Peak)
}

// same says whether two sightings of one aircraft, with a date both, are one
// attempt.
func (s *Sighting) same(o *Sighting) bool {
	whole := s.holdsStart() && s.holdsEnd() && o.holdsStart() && o.holdsEnd()
	if whole || near2(s.utc(s.at()), o.utc(o.at())) {
		return near2(s.utc(s.at()), o.utc(o.at())) && s.agrees(o)
	}
	return s.utc(s.from()) <= o.utc(o.to()) && o.utc(o.from()) <= s.utc(s.to()) || s.continuedBy(o) || o.continuedBy(s)
}

// agrees compares the ends of two attempts that began together, where both
// tell one. A recording with a wrong clock hides no attempt that way.
func (s *Sighting) agrees(o *Sighting) bool {
	if !s.holdsEnd() || !o.holdsEnd() {
		return true
	}
	end, peak := math.Abs(s.utc(s.end())-o.utc(o.end())), math.Abs(s.Peak-o.Peak)
	return !(end > sameInstant) && !(peak > nearPeak) // NaN is not told
}

// continuedBy says whether an attempt that runs out goes on in the recording
// of another, which begins with it.
func (s *Sighting) continuedBy(o *Sighting) bool {
	gap := o.Start/1e6 - s.utc(s.Duration)
	return s.runsOut() && !o.holdsStart() && gap >= 0 && gap <= longestGap
}

// better orders sightings of one attempt, the one that counts first.
func better(x, y *Sighting) int {
	rank := func(s *Sighting) int {
		n := 0
		if s.holdsStart() {
			n += 2
		}
		if s.holdsEnd() {
			n++
		}
		return n
	}
	return cmp.Or(
		cmp.Compare(rank(y), rank(x)), cmp.Compare(y.Told, x.Told), cmp.Compare(orInf(x.Bracket), orInf(y.Bracket)),
		cmp.Compare(x.Recording, y.Recording), cmp.Compare(x.Number, y.Number), cmp.Compare(x.ID, y.ID),
	)
}

// seenOf makes one attempt of sightings that are one.
func seenOf(group []Sighting) Seen {
	slices.SortFunc(group, func(x, y Sighting) int { return better(&x, &y) })
	ends := slices.IndexFunc(group, func(s Sighting) bool { return s.holdsEnd() })
	id := group[max(ends, 0)].ID
	slices.SortFunc(group[1:], func(x, y Sighting) int {
		return cmp.Or(cmp.Compare(orInf(x.Start), orInf(y.Start)), cmp.Compare(x.Recording, y.Recording), cmp.Compare(x.Number, y.Number), cmp.Compare(x.ID, y.ID))
	})
	return Seen{Sightings: group, End: slices.IndexFunc(group, func(s Sighting) bool { return s.ID == id })}
}

func orInf(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(1)
	}
	return v
}

// least and most pass over NaN; NaN when all are.
func least(values ...float64) float64 {
	out := math.NaN()
	for _, v := range values {
		if math.IsNaN(out) || v < out {
			out = v
		}
	}
	return out
}

func most(values ...float64) float64 {
	out := math.NaN()
	for _, v := range values {
		if math.IsNaN(out) || v > out {
			out = v
		}
	}
	return out
}
