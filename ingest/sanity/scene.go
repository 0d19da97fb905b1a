package sanity

import (
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// scene is a recording laid out second by second, so that parameters of
// different rates can be compared. Nothing of it leaves the package.
type scene struct {
	rec   *flightdata.Recording
	prof  *profile.Profile
	cells int
	held  map[flightdata.Parameter][]float64
	notes []flightdata.Note
}

// mostCells bounds the memory: two days. A longer recording is compared over
// its first two days.
const mostCells = 2 * 24 * 3600

func newScene(rec *flightdata.Recording, prof *profile.Profile) *scene {
	n := int(min(rec.Span.Length()/time.Second+1, mostCells))
	return &scene{rec: rec, prof: prof, cells: max(n, 0), held: map[flightdata.Parameter][]float64{}}
}

// usable says whether the recording has the parameter and it is still believed.
func (s *scene) usable(p flightdata.Parameter) bool {
	_, doubted := s.rec.Doubted[p]
	return !doubted && s.rec.Get(p).Len() > 0
}

// hold is the last good value of each second, NaN where there is none near
// enough or the parameter is not usable.
func (s *scene) hold(p flightdata.Parameter) []float64 {
	if g, ok := s.held[p]; ok {
		return g
	}
	g := s.blank()
	if s.usable(p) {
		series := s.rec.Get(p)
		last := flightdata.Point{At: math.MinInt64 / 2}
		c := 0
		fill := func(to int) {
			for ; c < min(to, s.cells); c++ {
				if at := span.Instant(c) * second; at.Sub(last.At) <= series.MaxAge() {
					g[c] = last.Value
				}
			}
		}
		for pt := range series.Good(series.Whole()) {
			fill(int((pt.At + second - 1) / second))
			last = pt
		}
		fill(s.cells)
	}
	s.held[p] = g
	return g
}

// raw is the mean of the samples in each second, with those that were masked
// for range or rate: a wrong unit can push good samples over those bounds.
func (s *scene) raw(p flightdata.Parameter) []float64 {
	g := s.blank()
	if !s.usable(p) {
		return g
	}
	series := s.rec.Get(p)
	sum, n := make([]float64, s.cells), make([]int, s.cells)
	for i, t := range series.Times {
		if c := int(t / second); c < s.cells && c >= 0 && tellsSize(series, i) {
			sum[c] += series.Values[i]
			n[c]++
		}
	}
	for c := range g {
		if n[c] > 0 {
			g[c] = sum[c] / float64(n[c])
		}
	}
	bridge(g, int(series.MaxAge()/time.Second))
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

func (s *scene) blank() []float64 {
	g := make([]float64, s.cells)
	for i := range g {
		g[i] = math.NaN()
	}
	return g
}

const second = span.Instant(time.Second)

// stateIs is the state word of a value of a discrete.
func (s *scene) stateIs(p flightdata.Parameter, v float64, word string) bool {
	return v == v && s.rec.Get(p).State(v) == word
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

// extent is the least and the largest value of a grid; NaN for an empty one.
func extent(g []float64) (lo, hi float64) {
	lo, hi = math.NaN(), math.NaN()
	for _, v := range g {
		if v == v {
			if !(v >= lo) {
				lo = v
			}
			if !(v <= hi) {
				hi = v
			}
		}
	}
	return lo, hi
}
