package flightdata

import (
	"iter"
	"math"
	"slices"
	"sort"
	"time"

	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// Mask says why a sample must not be trusted. Zero is a sample that may be.
type Mask uint8

// The reasons for masking a sample.
const (
	Good       Mask = iota
	NotANumber      // the cell held text that is neither a number nor a known state
	OutOfRange      // outside what is physically possible
	TooFast         // changed faster than the aeroplane can
	Spike           // one sample far off its neighbours
	Stuck           // constant while related parameters prove movement
	BelowFloor      // airspeed below the floor of the air-data computer
	Doubted         // the whole parameter contradicts the rest: misread, not merely bad
	masks
)

// Masks is how many reasons there are, Good included.
const Masks = int(masks)

// String names the reason as pages and messages print it.
func (m Mask) String() string {
	names := [...]string{"good", "not a number", "out of range", "too fast", "spike", "stuck", "below the airspeed floor", "not believed"}
	if int(m) < len(names) {
		return names[m]
	}
	return "unknown"
}

// Origin is where a series came from, kept beside the normalised values.
type Origin struct {
	Names []string // recorded names that gave samples, in order of preference
	Unit  string   // recorded unit as the profile states it, "" for a discrete
}

// Series is one parameter of one recording: its own sample times and values,
// never resampled. A discrete stores the index of its state in States.
type Series struct {
	Parameter Parameter
	Kind      Kind
	Unit      unit.Unit // unit of Values; the plain number for a discrete
	States    []string  // of a discrete; nil for a continuous parameter
	Times     []span.Instant
	Values    []float64
	Masks     []Mask        // one per sample, or nil when every sample is good
	Period    time.Duration // nominal time between samples
	Origin    Origin
	Circular  bool // wraps at 360; interpolated the short way round
	// Unread is where samples were passed over unread, in flight far from any
	// runway; nil when all were read. A hole in them is no dropout.
	Unread span.Set
}

// maxAgePeriods is how many nominal periods a sample may stand for. Beyond
// that the recording has a gap there, not a slow parameter.
const maxAgePeriods = 2

// MaxAge is how long after a sample its value may still be used.
func (s *Series) MaxAge() time.Duration {
	// A tenth of a period on top for the jitter of real sample clocks.
	return s.Period*maxAgePeriods + s.Period/10
}

// Unseen is how much of the time between two instants was passed over, so that
// nothing can be said of the samples in it; zero for nil.
func (s *Series) Unseen(from, to span.Instant) time.Duration {
	if s == nil || len(s.Unread) == 0 {
		return 0
	}
	var d time.Duration
	k := sort.Search(len(s.Unread), func(i int) bool { return s.Unread[i].To > from })
	for ; k < len(s.Unread) && s.Unread[k].From < to; k++ {
		d += min(s.Unread[k].To, to).Sub(max(s.Unread[k].From, from))
	}
	return d
}

// Lapse is the time between two instants without what was passed over of it: of
// two samples further apart than MaxAge by this, some were lost. It is never
// more than the time between them.
func (s *Series) Lapse(from, to span.Instant) time.Duration {
	d := to.Sub(from)
	if len(s.Unread) == 0 {
		return d
	}
	return d - s.Unseen(from, to)
}

// Len is the number of samples, masked ones included; zero for nil.
func (s *Series) Len() int {
	if s == nil {
		return 0
	}
	return len(s.Times)
}

func (s *Series) good(i int) bool { return s.Masks == nil || s.Masks[i] == Good }

// Mask is the mask of sample i.
func (s *Series) maskAt(i int) Mask {
	if s.Masks == nil {
		return Good
	}
	return s.Masks[i]
}

// before is the number of samples before t, and with it the index of the first
// sample at or after t.
func (s *Series) before(t span.Instant) int {
	return sort.Search(len(s.Times), func(i int) bool { return s.Times[i] >= t })
}

// upTo is the number of samples at or before t.
func (s *Series) upTo(t span.Instant) int {
	return sort.Search(len(s.Times), func(i int) bool { return s.Times[i] > t })
}

// Point is one sample.
type Point struct {
	At    span.Instant
	Value float64
}

// Good yields the good samples inside sp in time order.
func (s *Series) Good(sp span.Span) iter.Seq[Point] {
	return func(yield func(Point) bool) {
		if s == nil {
			return
		}
		for i := s.before(sp.From); i < len(s.Times) && s.Times[i] < sp.To; i++ {
			if s.good(i) && !yield(Point{s.Times[i], s.Values[i]}) {
				return
			}
		}
	}
}

// Whole is the span from the first sample to just after the last; empty
// for a series without samples.
func (s *Series) Whole() span.Span {
	if s.Len() == 0 {
		return span.Span{}
	}
	return span.Span{From: s.Times[0], To: s.Times[len(s.Times)-1] + 1}
}

// Last is the last good sample at or before t, however old, and whether
// there is one.
func (s *Series) Last(t span.Instant) (Point, bool) {
	if s == nil {
		return Point{}, false
	}
	for i := s.upTo(t) - 1; i >= 0; i-- {
		if s.good(i) {
			return Point{s.Times[i], s.Values[i]}, true
		}
	}
	return Point{}, false
}

// Next is the first good sample after t, however late, and whether there is
// one.
func (s *Series) Next(t span.Instant) (Point, bool) {
	if s == nil {
		return Point{}, false
	}
	for i := s.upTo(t); i < len(s.Times); i++ {
		if s.good(i) {
			return Point{s.Times[i], s.Values[i]}, true
		}
	}
	return Point{}, false
}

// Reading is a value at an instant with what is known of its trust.
type Reading struct {
	Value float64
	// Low and High bound the value by the samples around the instant. Those of
	// a circular parameter are on the same turn as Value, so that Low <= Value
	// <= High across north as well: -1 and 1 around 0, not 1 and 359.
	Low, High float64
	// Age is the time since the sample that stands for the value.
	Age time.Duration
	OK  bool
	// Why says why there is no value, "" when there is one.
	Why string
}

// Reasons why a series has no value at an instant.
const (
	WhyMissing = "not recorded"
	WhyGap     = "no sample near enough"
	WhyMasked  = "samples masked"
)

// Hold is the value of the last good sample at or before t, provided that it
// is no older than MaxAge. It is the rule for discretes.
func (s *Series) Hold(t span.Instant) Reading {
	p, ok := s.Last(t)
	switch {
	case s == nil:
		return Reading{Why: WhyMissing}
	case ok && t.Sub(p.At) <= s.MaxAge():
		r := Reading{Value: p.Value, Low: p.Value, High: p.Value, Age: t.Sub(p.At), OK: true}
		if n, ok := s.Next(t); ok && n.At.Sub(t) <= s.MaxAge() {
			r.Low, r.High = min(p.Value, n.Value), max(p.Value, n.Value)
		}
		return r
	}
	return Reading{Why: s.whyNot(t)}
}

// whyNot tells a masked stretch from a gap. A series without any sample is a
// gap like any other: in a clip it may have had samples elsewhere, and the
// clip must give the same reason as the recording.
func (s *Series) whyNot(t span.Instant) string {
	i := s.upTo(t) - 1
	if i >= 0 && !s.good(i) && t.Sub(s.Times[i]) <= s.MaxAge() {
		return WhyMasked + ": " + s.maskAt(i).String()
	}
	return WhyGap
}

// At is the value at t: between two good samples that are near enough, the
// straight line; at or just after a lone sample, that sample. Discretes hold.
// Low and High are the two samples that bracket t.
func (s *Series) At(t span.Instant) Reading {
	if s == nil || s.Kind == Discrete {
		return s.Hold(t)
	}
	before, okB := s.Last(t)
	after, okA := s.Next(t)
	okB = okB && t.Sub(before.At) <= s.MaxAge()
	if !okB {
		return Reading{Why: s.whyNot(t)}
	}
	if before.At == t || !okA || after.At.Sub(before.At) > s.MaxAge() {
		return Reading{Value: before.Value, Low: before.Value, High: before.Value, Age: t.Sub(before.At), OK: true}
	}
	return s.between(before, after, t)
}

// between is the straight line from a to b, taken the short way round by a
// circular series. The product is rounded before the sum, because a processor
// may fuse the two otherwise and give other bits than its neighbour.
func (s *Series) between(a, b Point, t span.Instant) Reading {
	share := float64(t-a.At) / float64(b.At-a.At)
	step := b.Value - a.Value
	if s.Circular {
		step = math.Remainder(step, 360)
	}
	way := float64(share * step)
	v := a.Value + way
	r := Reading{Value: v, Low: min(a.Value, b.Value), High: max(a.Value, b.Value), Age: t.Sub(a.At), OK: true}
	if s.Circular {
		r.Value = math.Mod(v+720, 360)
		r.Low, r.High = r.Value-max(way, way-step), r.Value-min(way, way-step)
	}
	return r
}

// Slice is the series inside sp, sharing the samples. Period and Origin stay.
func (s *Series) Slice(sp span.Span) *Series {
	if s == nil {
		return nil
	}
	i := s.before(sp.From)
	j := max(i, s.before(sp.To)) // an empty span may end before it begins
	out := *s
	out.Times, out.Values = s.Times[i:j:j], s.Values[i:j:j]
	if s.Masks != nil {
		out.Masks = s.Masks[i:j:j]
	}
	return &out
}

// MaskCounts counts the samples by mask; index Good counts the good ones.
func (s *Series) MaskCounts() [Masks]int {
	var n [Masks]int
	if s.Masks == nil {
		n[Good] = s.Len()
		return n
	}
	for _, m := range s.Masks {
		if m != Good { // few are; counted in memory one by one they cost more
			n[m]++
			n[Good]--
		}
	}
	n[Good] += len(s.Masks)
	return n
}

// State is the name of the state with that index, or "" for an index that
// the series does not have.
func (s *Series) State(v float64) string {
	if i := int(v); v == math.Trunc(v) && i >= 0 && i < len(s.States) {
		return s.States[i]
	}
	return ""
}

// NominalPeriod is the time between samples that most of the series shows:
// the upper median step. Zero for fewer than two samples. One step that makes
// up more than half of them, as in any regular series, is found by counting.
func NominalPeriod(times []span.Instant) time.Duration {
	step, n, all := MostSteps(times)
	if n > all/2 || all == 0 {
		return time.Duration(step)
	}
	steps := make([]span.Instant, all)
	for i := range steps {
		steps[i] = times[i+1] - times[i]
	}
	slices.Sort(steps)
	return time.Duration(steps[all/2])
}

// MostSteps is the step from instant to instant that makes up more than half of
// all the steps within the runs, if there is one, how often it is there, and
// how many steps there are. A step with n of half or less says nothing.
func MostSteps(runs ...[]span.Instant) (step span.Instant, n, all int) {
	lead := 0
	for _, times := range runs {
		for i := 1; i < len(times); i++ {
			switch d := times[i] - times[i-1]; {
			case d == step:
				lead++
			case lead <= 0:
				step, lead = d, 1
			default:
				lead--
			}
		}
		all += max(len(times)-1, 0)
	}
	if lead == all { // no other step was met
		return step, all, all
	}
	return step, CountSteps(step, runs...), all
}

// CountSteps is how many steps within the runs are that one.
func CountSteps(step span.Instant, runs ...[]span.Instant) (n int) {
	for _, times := range runs {
		for i := 1; i < len(times); i++ {
			if times[i]-times[i-1] == step {
				n++
			}
		}
	}
	return n
}
