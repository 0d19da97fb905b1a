package evidence

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"rollonset/detect"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/report/archive"
)

// Cover says how identity is covered. The zero value names nothing at all.
type Cover struct {
	// Key makes the pseudonyms; nil leaves them empty.
	Key *Key
	// Groups are the months, types and aircraft that may be named; nil: none.
	Groups *Groups
	// Places gives a pseudonym to aerodromes and runways with enough flights.
	// Without it they are left out, because how often a place occurs in a
	// month is in every timetable and gives the pseudonym away.
	Places bool
	// NoTails leaves out the pseudonyms of aircraft: how many flights each made in
	// a month is in public records of traffic.
	NoTails bool
	// ExactWeather keeps wind and temperature as recorded. Otherwise they are
	// rounded, because public weather reports of a month are few enough to be
	// searched for a pair of exact values.
	ExactWeather bool
	// Whole keeps a flight with attempts hours apart in one piece. Otherwise it
	// is cut where apart says, because the time between two take-offs of one
	// day is in every timetable.
	Whole bool
	// Rejudge takes the findings of this version of detection where the summary
	// was made by another; otherwise that they differ is an error.
	Rejudge bool
}

// apart is the time without a window that cuts a flight in two. It is longer
// than any time within which attempts bear on each other (15 minutes by
// default) and shorter than a flight with its turn-round. Common practice, no
// published source.
const apart = 30 * time.Minute

// Deidentify makes copies of a flight that do not show who flew, when or
// where: one, or several when attempts lie hours apart. numbers are the
// attempts that are asked for, nil for all; attempts within half an hour of
// them stay with them. Nothing is painted over: identity is taken out of the
// clip and the profile, and the copy of the summary is derived from those by
// detection, so what is not carried over cannot be in it.
//
// It is an error when the copy does not give the findings of the summary, as
// when that was made by another version of detection, and when the flight has
// no clip.
func (c Cover) Deidentify(f Flight, v archive.Versions, numbers []int) ([]Flight, error) {
	if f.Clip == nil || len(f.Clip.Windows) == 0 {
		return nil, fmt.Errorf("%s has no clip to de-identify", f.Summary.Flight.Folder)
	}
	prof, err := c.profile(f)
	if err != nil {
		return nil, err
	}
	var out []Flight
	for i, part := range c.parts(&f.Summary) {
		if numbers != nil && !slices.ContainsFunc(part, func(n int) bool { return slices.Contains(numbers, n) }) {
			continue
		}
		copied, err := c.copy(f, prof, v, i)
		if err != nil {
			return nil, err
		}
		out = append(out, copied)
	}
	return out, nil
}

// copy makes the copy of one part.
func (c Cover) copy(f Flight, prof *profile.Profile, v archive.Versions, part int) (Flight, error) {
	windows := c.windows(f, part)
	if len(windows) == 0 {
		return Flight{}, fmt.Errorf("%s: the clip holds nothing of attempt %v; process the recording again", f.Summary.Flight.Folder, c.parts(&f.Summary)[part])
	}
	rec, at := c.recording(f, windows, part)
	copied := Flight{Summary: archive.Summarise(detect.Assess(rec, prof), v), Clip: rec, Profile: prof, Was: c.parts(&f.Summary)[part]}
	rejudged := c.Rejudge && f.Summary.Versions.Detection != v.Detection
	if err := sameFindings(f.Summary, copied.Summary, at, c.parts(&f.Summary)[part]); err != nil && !rejudged {
		return Flight{}, fmt.Errorf("%s: the de-identified copy differs from the summary: %w; process the recording with this version of the program first", f.Summary.Flight.Folder, err)
	}
	return copied, nil
}

// profile is the copy of the profile.
func (c Cover) profile(f Flight) (*profile.Profile, error) {
	name := c.Groups.Of(&f.Summary)
	a := profile.Anonymity{Name: Other, Type: Other, Title: "de-identified profile"}
	if name.Type != "" && name.Type != Other {
		a.Name, a.Type = f.Profile.Name, name.Type
	}
	text, err := profile.Anonymous(f.Profile.Source, a)
	if err != nil {
		return nil, err
	}
	return profile.Parse("profile.yaml", text)
}

// parts are the numbers of the attempts of each copy, told from the summary
// alone. A flight without attempts is one part of none.
func (c Cover) parts(s *archive.Summary) [][]int {
	out := [][]int{nil}
	var last span.Span
	for i := range s.Attempts {
		a := &s.Attempts[i]
		if own := extent(a); i > 0 && !c.Whole && own.From.Sub(last.To) > apart {
			out = append(out, nil)
		}
		last = extent(a)
		out[len(out)-1] = append(out[len(out)-1], a.Number)
	}
	return out
}

// extent is from the first moment of an attempt to its last.
func extent(a *archive.AttemptSummary) span.Span {
	zero := zeroOf(a)
	sp := span.Span{From: zero, To: zero}
	for _, m := range []*archive.Moment{a.ThrustAdvance, a.RollStart, a.LiftOff, a.ThrustCut, a.Stop} {
		if m != nil {
			sp.From, sp.To = min(sp.From, span.Sec(m.At)), max(sp.To, span.Sec(m.At))
		}
	}
	return sp
}

// zeroOf is the instant from which times of an attempt are counted.
func zeroOf(a *archive.AttemptSummary) span.Instant {
	switch {
	case a.Onset != nil:
		return span.Sec(a.Onset.At)
	case a.ThrustAdvance != nil:
		return span.Sec(a.ThrustAdvance.At)
	}
	return 0
}

// windows are those of a part: each goes with the part that is nearest to it.
// One that is further than apart from any attempt, a run-up an hour before, is
// left out, unless the flight stays whole or is nothing else.
func (c Cover) windows(f Flight, part int) span.Set {
	parts := c.parts(&f.Summary)
	if c.Whole || len(f.Summary.Attempts) == 0 {
		return f.Clip.Windows
	}
	covers := make([]span.Span, len(parts))
	for i, numbers := range parts {
		first, last := attempt(&f.Summary, numbers[0]), attempt(&f.Summary, numbers[len(numbers)-1])
		covers[i] = span.Span{From: extent(first).From, To: extent(last).To}
	}
	var out []span.Span
	for _, w := range f.Clip.Windows {
		best, nearest := -1, apart
		for i, sp := range covers {
			if d := max(w.From.Sub(sp.To), sp.From.Sub(w.To), 0); d < nearest {
				best, nearest = i, d
			}
		}
		if best == part {
			out = append(out, w)
		}
	}
	return span.Of(out...)
}

func attempt(s *archive.Summary, number int) *archive.AttemptSummary {
	for i := range s.Attempts {
		if s.Attempts[i].Number == number {
			return &s.Attempts[i]
		}
	}
	return &archive.AttemptSummary{} // a number comes from the same summary
}

// zero is the first onset in the windows, or their start without any.
func zero(s *archive.Summary, windows span.Set) span.Instant {
	for i := range s.Attempts {
		if t := zeroOf(&s.Attempts[i]); windows.Holds(t) {
			return t
		}
	}
	return windows[0].From
}

// recording is the copy of the clip, cut to the windows, and the instant of
// the old clock that is zero of the new one. The copy is built from nothing:
// a field that is not set here is not in it.
func (c Cover) recording(f Flight, windows span.Set, part int) (*flightdata.Recording, span.Instant) {
	old := f.Clip.Clip(windows)
	at := zero(&f.Summary, windows)
	mark := recordingMark(&f.Summary, part)
	rec := &flightdata.Recording{
		Source: flightdata.Source{
			Path: c.recordingName(&f.Summary, part), SHA256: c.Key.Hash("recording", mark), Format: old.Source.Format,
		},
		Identity: c.identity(&f.Summary, part),
		Clock:    "seconds from the first onset", IsClip: true,
		Windows: shiftedSet(old.Windows, at), Span: shiftedSpan(edges(f.Clip.Span, windows), at),
		Series: map[flightdata.Parameter]*flightdata.Series{}, Life: map[flightdata.Parameter]flightdata.Life{},
		Plan: c.plan(old.Plan), Doubted: old.Doubted, Unread: shiftedSet(old.Unread, at),
	}
	ref := references(f.Clip, at)
	for _, p := range old.Parameters() {
		if !useful(p, f.Profile) {
			continue
		}
		if s := c.series(old.Series[p], ref, at); s != nil {
			rec.Series[p] = s
			rec.Life[p] = life(f.Clip.Life[p], s)
		}
	}
	keepLife(rec, f.Clip, f.Profile)
	return rec, at
}

// recordingMark is what the pseudonym and the hash of a part are made of.
func recordingMark(s *archive.Summary, part int) string {
	return s.Recording.SHA256 + "/" + strconv.Itoa(part)
}

// recordingName stands for the name of the file; "recording" without a key.
func (c Cover) recordingName(s *archive.Summary, part int) string {
	if name := c.Key.Pseudonym("recording", recordingMark(s, part)); name != "" {
		return name
	}
	return "recording"
}

// identity names the groups of the flight and gives it pseudonyms. That of
// the flight is its own: a number that flies daily would be known by the days
// of the month on which it does. The runway's holds its aerodrome, because
// "04" alone is a direction.
func (c Cover) identity(s *archive.Summary, part int) flightdata.Identity {
	f, name := s.Flight, c.Groups.Of(s)
	id := flightdata.Identity{
		Type: name.Type, Date: name.Month, Tail: c.pseudonym("tail", name.Tail, f.Tail),
		Flight: c.Key.Pseudonym("flight", flightMark(f, part)), From: deidentified,
	}
	if c.NoTails {
		id.Tail = ""
	}
	if c.Places {
		id.Aerodrome = c.pseudonym("aerodrome", name.Aerodrome, f.Aerodrome)
		id.Runway = c.pseudonym("runway", name.Runway, f.Aerodrome+" "+f.Runway)
	}
	return id
}

// flightMark is what the pseudonym of a flight is made of.
func flightMark(f archive.Flight, part int) string {
	return f.Tail + "/" + f.Flight + "/" + f.Date + "/" + f.StartUTC + "/" + strconv.Itoa(part)
}

// pseudonym keeps what is merged or not known as it is.
func (c Cover) pseudonym(kind, name, value string) string {
	if c.Key == nil || name == "" || name == Other {
		return name
	}
	return c.Key.Pseudonym(kind, value)
}

// plan keeps the figures of the flight-list entry and not its place. The
// length of the runway is rounded, because to the metre it is the runway's
// name.
func (c Cover) plan(old *flightdata.Plan) *flightdata.Plan {
	if old == nil {
		return nil
	}
	p := *old
	p.List, p.Line, p.Entry = "", 0, c.Key.Hash("entry", old.Entry)
	if old.RunwayLengthM != nil {
		length := nearest(*old.RunwayLengthM, 100)
		p.RunwayLengthM = &length
	}
	return &p
}

// edges is the span of the recording cut to the windows. A second is left
// where there was more, so that detection still knows a window that ends from
// data that ends.
func edges(whole span.Span, windows span.Set) span.Span {
	first, last := windows[0], windows[len(windows)-1]
	return span.Span{
		From: max(whole.From, first.From.Add(-time.Second)),
		To:   min(whole.To, last.To.Add(time.Second)),
	}
}

func shiftedSpan(s span.Span, zero span.Instant) span.Span {
	return span.Span{From: s.From - zero, To: s.To - zero}
}

func shiftedSet(set span.Set, zero span.Instant) span.Set {
	out := make([]span.Span, len(set))
	for i, s := range set {
		out[i] = shiftedSpan(s, zero)
	}
	return span.Of(out...)
}
