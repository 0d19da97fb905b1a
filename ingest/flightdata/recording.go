package flightdata

import (
	"math"
	"slices"
	"time"

	"rollonset/ingest/span"
)

// Source is the file that a recording was read from.
type Source struct {
	Path   string // as it was given
	SHA256 string // of the bytes as they lie on disk, hex
	Bytes  int64
	Format string // "CSV", "CSV gzip", "CSV zstd", "Parquet", "Arrow IPC"
	Rows   int64
	// Columns is how many columns the file holds, Used how many were decoded.
	Columns, Used int
}

// Identity is what is known of the flight. Every field may be empty.
type Identity struct {
	Tail, Type, Flight, Aerodrome, Runway string
	// Date is the day of the start in UTC as 2006-01-02, "" when unknown.
	Date string
	// From says where each part of the identity came from, e.g. "file name".
	From string
}

// Plan is the flight-list entry that belongs to a recording. Nil pointers and
// empty strings were not listed. Units: deg or the unit of the flap lever,
// kt, kg, % MAC, the unit of the stabilizer trim, m.
type Plan struct {
	List string
	Line int // line of the entry in the list
	// Entry is the SHA-256, hex, of what the entry says: a result was made with
	// the same entry only if this is the same.
	Entry string

	PlannedFlap, V1, VR, Weight, CG, Trim, RunwayLengthM *float64
}

// TakeoffSpeed says whether a figure, kt, can be a V1 or VR at all: no
// aeroplane with a V1 decides below 40 kt or above 250 kt, and a V1 that was
// never entered is recorded as zero. Common practice, no published source.
func TakeoffSpeed(kt float64) bool { return kt >= 40 && kt <= 250 }

// Life is what a series showed over the whole recording as far as it was read
// (Unread), the proof that its sensor lives. A clip carries it, because the
// clip itself may be too short to show it.
type Life struct {
	Samples int      // good samples
	States  []string // of a discrete: every state that was seen, in state order
	Lo, Hi  float64  // of a continuous parameter: the least and largest value
	// Masked counts the samples by mask; that of the good ones stays 0.
	Masked [Masks]int
}

// Note is a remark about the recording that travels with it: what was
// masked, assumed or odd, with a place.
type Note struct {
	Place string // "column N1_2, row 4312", "" for the whole recording
	Text  string // one sentence
}

// String is the note with its place in front.
func (n Note) String() string {
	if n.Place == "" {
		return n.Text
	}
	return n.Place + ": " + n.Text
}

// Recording is what one file holds of one aircraft, in canonical parameters
// and units.
type Recording struct {
	Source   Source
	Identity Identity
	// Start is the UTC of instant 0, the zero time when the file names no date.
	Start time.Time
	// ClockOrigin is the reading of the file's own clock at instant 0, in
	// nanoseconds; Clock describes that clock, e.g. "seconds" or "RFC 3339".
	ClockOrigin int64
	Clock       string
	// Span is from the first sample of the file to its last.
	Span span.Span
	// Windows are the stretches that the file covers: the whole Span for an
	// original recording, the clipped stretches for a clip.
	Windows span.Set
	// Unread is where, in fast flight, only air/ground and a speed were read;
	// nil when everything was. The series whose samples are missing there carry
	// it too.
	Unread span.Set
	// IsClip says that the file is a clip of ours: masks and proof of life were
	// decided on the whole recording and came with it.
	IsClip bool
	Series map[Parameter]*Series
	Life   map[Parameter]Life
	Plan   *Plan
	Notes  []Note
	// Doubted are the parameters that contradict the rest of the recording so
	// that they must have been misread, each with the reason as a sentence part;
	// nil when there are none. Their samples carry the mask Doubted.
	Doubted map[Parameter]string
}

// Get is the series of the parameter, nil when the recording has none; every
// method of Series that reads takes a nil series.
func (r *Recording) Get(p Parameter) *Series { return r.Series[p] }

// Has says whether the recording has at least one good sample of p.
func (r *Recording) Has(p Parameter) bool { return r.Life[p].Samples > 0 }

// Parameters lists what the recording has, in name order.
func (r *Recording) Parameters() []Parameter {
	out := make([]Parameter, 0, len(r.Series))
	for p := range r.Series {
		out = append(out, p)
	}
	slices.Sort(out)
	return out
}

// UTC is the time of day of an instant, and whether the recording knows it.
func (r *Recording) UTC(t span.Instant) (time.Time, bool) {
	if r.Start.IsZero() {
		return time.Time{}, false
	}
	return r.Start.Add(time.Duration(t)), true
}

// FileClock is the reading of the file's own clock at t, in seconds.
func (r *Recording) FileClock(t span.Instant) float64 {
	return float64(r.ClockOrigin+int64(t)) / 1e9
}

// Observe works out the proof of life of a series.
func Observe(s *Series) Life {
	l := Life{Masked: s.MaskCounts()}
	l.Samples, l.Masked[Good] = l.Masked[Good], 0
	if l.Samples == 0 {
		return l
	}
	l.Lo, l.Hi = s.extremes()
	if s.Kind == Discrete {
		l.States = s.statesSeen()
	}
	return l
}

// extremes are the least and the largest value of a series with good samples.
func (s *Series) extremes() (lo, hi float64) {
	k := 0
	for !s.good(k) {
		k++
	}
	lo, hi = s.Values[k], s.Values[k]
	latest := math.Float64bits(lo)
	for i, v := range s.Values {
		// Few values set a mark. By its bits a zero differs from one of the other sign.
		if v > lo && v < hi || math.Float64bits(v) == latest || !s.good(i) {
			continue
		}
		lo, hi, latest = min(lo, v), max(hi, v), math.Float64bits(v)
	}
	return lo, hi
}

// statesSeen lists the states of a discrete that good samples hold.
func (s *Series) statesSeen() []string {
	seen := make([]bool, len(s.States))
	for i, v := range s.Values {
		if s.good(i) && int(v) >= 0 && int(v) < len(seen) {
			seen[int(v)] = true
		}
	}
	var out []string
	for i, yes := range seen {
		if yes {
			out = append(out, s.States[i])
		}
	}
	return out
}

// Clip is the recording cut to the given windows: the same series, identity,
// plan, life and notes, with only the samples inside. Windows are cut to the
// span of the recording. The samples may be those of the recording, not copies.
func (r *Recording) Clip(windows span.Set) *Recording {
	out := *r
	out.IsClip = true
	out.Windows = windows.And(span.Of(span.Span{From: r.Span.From, To: r.Span.To + 1}))
	out.Unread = r.Unread.And(out.Windows)
	out.Series = make(map[Parameter]*Series, len(r.Series))
	for p, s := range r.Series {
		part := s.within(out.Windows)
		part.Unread = s.Unread.And(out.Windows)
		out.Series[p] = part
	}
	return &out
}

func (s *Series) within(windows span.Set) *Series {
	if len(windows) == 1 { // most flights have one takeoff
		return s.Slice(windows[0])
	}
	n := 0
	for _, w := range windows {
		n += s.Slice(w).Len()
	}
	out := *s
	out.Times, out.Values, out.Masks = make([]span.Instant, 0, n), make([]float64, 0, n), nil
	if s.Masks != nil {
		out.Masks = make([]Mask, 0, n)
	}
	for _, w := range windows {
		part := s.Slice(w)
		out.Times = append(out.Times, part.Times...)
		out.Values = append(out.Values, part.Values...)
		out.Masks = append(out.Masks, part.Masks...)
	}
	return &out
}
