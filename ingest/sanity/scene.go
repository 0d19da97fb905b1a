package sanity

import (
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// scene is a recording laid out second by second, so that parameters of
// different rates can be compared. Nothing of it leaves the package.
type scene struct {
	rec    *flightdata.Recording
	params []flightdata.Parameter // of the recording, in name order
	prof   *profile.Profile
	cells  int
	notes  []flightdata.Note
	// What was laid out already. The grids are shared: whoever changes one
	// copies it first.
	held, means map[flightdata.Parameter][]float64
	extents     map[flightdata.Parameter][2]float64 // of what is held
	none        []float64                           // a grid without values
	spare       [][]float64                         // grids that nobody uses any more
}

// mostCells bounds the memory: two days. A longer recording is compared over
// its first two days.
const mostCells = 2 * 24 * 3600

func newScene(rec *flightdata.Recording, prof *profile.Profile) *scene {
	n := int(min(rec.Span.Length()/time.Second+1, mostCells))
	s := &scene{
		rec: rec, params: rec.Parameters(), prof: prof, cells: max(n, 0),
		held: map[flightdata.Parameter][]float64{}, means: map[flightdata.Parameter][]float64{}, extents: map[flightdata.Parameter][2]float64{},
	}
	s.none = s.blank()
	return s
}

// usable says whether the recording has the parameter and it is still believed.
func (s *scene) usable(p flightdata.Parameter) bool {
	_, doubted := s.rec.Doubted[p]
	return !doubted && s.rec.Get(p).Len() > 0
}

// hold is the last good value of each second, NaN where there is none near
// enough or the parameter is not usable.
func (s *scene) hold(p flightdata.Parameter) []float64 {
	if !s.usable(p) {
		return s.none
	}
	if g, ok := s.held[p]; ok {
		return g
	}
	g := s.grid()
	holding(g, s.rec.Get(p))
	s.held[p] = g
	return g
}

// holding lays the last good value of each second out in g. It goes from sample to sample
// and fills the seconds up to the next one, because most seconds of a flight are
// passed over in a few long stretches.
func holding(g []float64, series *flightdata.Series) {
	cells := len(g)
	c, at := 0, span.Instant(0) // the next second to fill
	last, age := -1, span.Instant(series.MaxAge())
	fill := func(end span.Instant) {
		if last >= 0 {
			until := series.Times[last] + age
			if until < end && series.Kind == flightdata.Discrete {
				until = stays(series, series.Times[last])
			}
			for ; c < cells && at < end && at <= until; c, at = c+1, at+second {
				g[c] = series.Values[last]
			}
		}
		for ; c < cells && at < end; c, at = c+1, at+second {
			g[c] = math.NaN()
		}
	}
	for i, t := range series.Times {
		if series.Masks != nil && series.Masks[i] != flightdata.Good {
			continue
		}
		if at < t {
			fill(t)
		}
		last = i
	}
	fill(span.Instant(cells) * second)
}

// stays is until when a state that was sampled at an instant may be used. A
// discrete that was not read is taken to have stayed, so that the shares of its
// states are those of the whole recording.
func stays(s *flightdata.Series, from span.Instant) span.Instant {
	until := from.Add(s.MaxAge())
	for _, u := range s.Unread {
		if u.To > from && u.From <= until {
			until = until.Add(u.To.Sub(max(u.From, from)))
		}
	}
	return until
}

// raw is the mean of the samples in each second, with those that were masked
// for range or rate: a wrong unit can push good samples over those bounds.
func (s *scene) raw(p flightdata.Parameter) []float64 {
	if !s.usable(p) {
		return s.none
	}
	if g, ok := s.means[p]; ok {
		return g
	}
	series, g := s.rec.Get(p), s.blank()
	times, i := series.Times, 0
	for i < len(times) && times[i] <= -second {
		i++
	}
	cell, end := 0, second // of the cell
	for i < len(times) {
		if times[i] >= end {
			cell = int(times[i] / second)
			end = (span.Instant(cell) + 1) * second
		}
		if cell >= s.cells {
			break
		}
		sum, n := 0.0, 0
		for ; i < len(times) && times[i] < end; i++ {
			if tellsSize(series, i) {
				sum += series.Values[i]
				n++
			}
		}
		if n > 0 {
			g[cell] = sum / float64(n)
		}
	}
	bridge(g, int(series.MaxAge()/time.Second))
	s.means[p] = g
	return g
}

// bridge puts straight lines over holes of at most n seconds: a slow or a
// drifting sampler leaves seconds without a sample.
func bridge(g []float64, n int) {
	last := -1
	for c, v := range g {
		if v != v {
			continue
		}
		if gap := c - last; last >= 0 && gap > 1 && gap <= n+1 {
			for k := last + 1; k < c; k++ {
				g[k] = g[last] + (v-g[last])*float64(k-last)/float64(gap)
			}
		}
		last = c
	}
}

// tellsSize says whether a sample shows in which unit its column is.
func tellsSize(s *flightdata.Series, i int) bool {
	if s.Masks == nil {
		return true
	}
	m := s.Masks[i]
	return m == flightdata.Good || m == flightdata.OutOfRange || m == flightdata.TooFast
}

// release gives the grid back that hold laid a parameter out in, when no other
// check is going to look at it.
func (s *scene) release(p flightdata.Parameter) {
	if g, ok := s.held[p]; ok {
		delete(s.held, p)
		s.spare = append(s.spare, g)
	}
}

// grid has room for a value a second, of which every one is to be set.
func (s *scene) grid() []float64 {
	if n := len(s.spare); n > 0 {
		g := s.spare[n-1]
		s.spare = s.spare[:n-1]
		return g
	}
	return make([]float64, s.cells)
}

func (s *scene) blank() []float64 {
	g := s.grid()
	for i := range g {
		g[i] = math.NaN()
	}
	return g
}

const second = span.Instant(time.Second)

// states marks the states of a discrete that go by one word.
type states []bool

// named finds a word among the states of a discrete, so that no words are
// compared second by second.
func (s *scene) named(p flightdata.Parameter, word string) states {
	series := s.rec.Get(p)
	if series == nil {
		return nil
	}
	in := make(states, len(series.States))
	for i, w := range series.States {
		in[i] = w == word
	}
	return in
}

// has says whether a value of the discrete is one of them; NaN is none.
func (in states) has(v float64) bool {
	i := int(v)
	return v == float64(i) && i >= 0 && i < len(in) && in[i]
}

// told counts the seconds for which a discrete has a value, and those of them in
// which it is in the states of that word. A word that no sample says, as of a
// warning that never sounds, needs no count: 0 and 0.
func (s *scene) told(p flightdata.Parameter, word string) (all, yes int) {
	in := s.named(p, word)
	if !slices.ContainsFunc(s.rec.Get(p).Values, in.has) {
		return 0, 0
	}
	defer s.release(p)
	for _, v := range s.hold(p) {
		if v == v {
			all++
		}
		if in.has(v) {
			yes++
		}
	}
	return all, yes
}

// count says in how many seconds cond holds.
func (s *scene) count(cond func(c int) bool) int {
	n := 0
	for c := range s.cells {
		if cond(c) {
			n++
		}
	}
	return n
}

// extentOf is the extent of a parameter as hold lays it out: several checks ask.
func (s *scene) extentOf(p flightdata.Parameter) (lo, hi float64) {
	if e, ok := s.extents[p]; ok {
		return e[0], e[1]
	}
	lo, hi = extent(s.hold(p))
	s.extents[p] = [2]float64{lo, hi}
	return lo, hi
}

// extent is the least and the largest value of a grid; NaN for an empty one.
func extent(g []float64) (lo, hi float64) {
	first := slices.IndexFunc(g, func(v float64) bool { return v == v })
	if first < 0 {
		return math.NaN(), math.NaN()
	}
	lo, hi = g[first], g[first]
	for _, v := range g[first+1:] { // no comparison holds for NaN
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
	}
	return lo, hi
}
