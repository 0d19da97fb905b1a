package archive

import (
	"cmp"
	"math"
	"slices"
)

// cluster is a group of sightings while it grows.
type cluster struct {
	members []Sighting
	to      float64 // UTC of the last end
}

// holds says whether the recording of a sighting is in the cluster: the
// attempts of one recording are several.
func (c *cluster) holds(s *Sighting) bool {
	return slices.ContainsFunc(c.members, func(m Sighting) bool { return m.Recording == s.Recording })
}

// nearest is how far a sighting is from the nearest member that is the same
// attempt, NaN when none is.
func (c *cluster) nearest(s *Sighting) float64 {
	d := math.NaN()
	if c.holds(s) {
		return d
	}
	for i := range c.members {
		if m := &c.members[i]; m.same(s) {
			d = least(d, math.Abs(m.utc(m.at())-s.utc(s.at())))
		}
	}
	return d
}

func (c *cluster) add(s Sighting) {
	c.members = append(c.members, s)
	c.to = most(c.to, s.utc(s.to()))
}

// clusters groups sightings: first those with a tail and a date, then the
// others by their figures. All must have an instant.
func clusters(all []Sighting) []*cluster {
	byTail := map[string][]Sighting{}
	var loose []Sighting
	for _, s := range all {
		if s.Tail == "" || math.IsNaN(s.Start) {
			loose = append(loose, s)
			continue
		}
		byTail[s.Tail] = append(byTail[s.Tail], s)
	}
	var out []*cluster
	for _, sightings := range byTail {
		out = append(out, ofOneAircraft(sightings)...)
	}
	// The order of the map is gone before anything depends on it.
	slices.SortFunc(out, func(x, y *cluster) int { return inOrder(&x.members[0], &y.members[0]) })
	return byFigures(out, loose)
}

// inOrder orders sightings by what is the same wherever they lie.
func inOrder(x, y *Sighting) int {
	return cmp.Or(
		cmp.Compare(x.Tail, y.Tail), cmp.Compare(orInf(x.utc(x.from())), orInf(y.utc(y.from()))),
		cmp.Compare(x.Recording, y.Recording), cmp.Compare(x.Number, y.Number), cmp.Compare(x.ID, y.ID),
	)
}

// ofOneAircraft goes through the attempts of one tail in the order of time.
// Those that are over before one begins are not looked at again.
func ofOneAircraft(sightings []Sighting) []*cluster {
	slices.SortFunc(sightings, func(x, y Sighting) int { return inOrder(&x, &y) })
	var out, open []*cluster
	for _, s := range sightings {
		from := s.utc(s.from())
		open = slices.DeleteFunc(open, func(c *cluster) bool { return c.to+longestGap+sameInstant < from })
		var best *cluster
		near := math.Inf(1)
		for _, c := range open {
			if d := c.nearest(&s); d < near {
				best, near = c, d
			}
		}
		if best == nil {
			best = &cluster{to: math.Inf(-1)}
			out, open = append(out, best), append(open, best)
		}
		best.add(s)
	}
	return out
}

// byFigures adds sightings without a tail or a date to the attempts that have
// the same figures: at the same instant where both know it, of the same tail
// where both know that, and never without either.
func byFigures(out []*cluster, loose []Sighting) []*cluster {
	slices.SortFunc(loose, func(x, y Sighting) int { return inOrder(&x, &y) })
	index := map[string][]*cluster{}
	enter := func(c *cluster, s *Sighting) {
		if f := s.figures(); f != "" && !slices.Contains(index[f], c) {
			index[f] = append(index[f], c)
		}
	}
	if len(loose) > 0 {
		for _, c := range out {
			for i := range c.members {
				enter(c, &c.members[i])
			}
		}
	}
	for _, s := range loose {
		var found *cluster
		for _, c := range index[s.figures()] {
			if !c.holds(&s) && slices.ContainsFunc(c.members, func(m Sighting) bool { return sameFigures(&m, &s) }) {
				found = c
				break
			}
		}
		if found == nil {
			found = &cluster{to: math.Inf(-1)}
			out = append(out, found)
		}
		found.add(s)
		enter(found, &s)
	}
	return out
}

// sameFigures says whether two sightings with the same figures contradict each
// other in nothing that both know, and share at least an instant or a tail.
func sameFigures(x, y *Sighting) bool {
	if x.figures() != y.figures() {
		return false
	}
	tails := x.Tail != "" && y.Tail != ""
	dates := !math.IsNaN(x.Start) && !math.IsNaN(y.Start)
	switch {
	case tails && x.Tail != y.Tail:
		return false
	case dates && !near2(x.utc(x.at()), y.utc(y.at())):
		return false
	}
	return tails || dates
}

// SeenTwice finds the attempts that lie in more than one recording among the
// sightings, and those that break off where another recording goes on; spans
// are the recordings of the archive. The result does not depend on the order
// of either, and is in the order of tail and time.
func SeenTwice(all []Sighting, spans []RecordingSpan) []Seen {
	told := slices.DeleteFunc(slices.Clone(all), func(s Sighting) bool { return math.IsNaN(s.at()) })
	follow := newFollowers(spans)
	var out []Seen
	for _, c := range clusters(told) {
		s := seenOf(c.members)
		if end := &s.Sightings[s.End]; !end.holdsEnd() {
			s.GoesOn = follow.after(&s)
		}
		if len(s.Sightings) > 1 || len(s.GoesOn) > 0 {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(x, y Seen) int { return inOrder(&x.Sightings[0], &y.Sightings[0]) })
	return out
}

// RecordingSpan is when a recording began and how long it is.
type RecordingSpan struct {
	Next
	Tail            string
	Start, Duration float64 // as in Sighting
}

// followers finds what begins where another recording ends.
type followers map[string][]RecordingSpan // by tail, in the order of their start

func newFollowers(spans []RecordingSpan) followers {
	f := followers{}
	for _, s := range spans {
		if s.Tail != "" && !math.IsNaN(s.Start) {
			f[s.Tail] = append(f[s.Tail], s)
		}
	}
	for _, list := range f {
		slices.SortFunc(list, func(x, y RecordingSpan) int {
			return cmp.Or(cmp.Compare(x.Start, y.Start), cmp.Compare(x.Recording, y.Recording))
		})
	}
	return f
}

// after are the recordings of the aircraft that were running, or began within
// the longest gap, when the last sighting of an attempt broke off.
func (f followers) after(s *Seen) []Next {
	var out []Next
	for i := range s.Sightings {
		m := &s.Sightings[i]
		if !m.runsOut() || math.IsNaN(m.Start) {
			continue
		}
		end := m.utc(m.Duration)
		for _, r := range f[m.Tail] {
			begins := r.Start / 1e6
			if begins > end+longestGap {
				break
			}
			known := slices.ContainsFunc(s.Sightings, func(o Sighting) bool { return o.Recording == r.Recording })
			if !known && begins > m.Start/1e6 && begins+r.Duration > end && !slices.Contains(out, r.Next) {
				out = append(out, r.Next)
			}
		}
	}
	return out
}
