package sanity

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

// farOff is how many times off a sample period must be to be no matter of an
// unusual recorder but of milliseconds and seconds, a factor of 1000.
const farOff = 200

// clock doubts everything when the time is in another unit than it was read
// in. It reports whether it did.
func (s *scene) clock() bool {
	why := s.byRate()
	if why == "" {
		why = s.byRoll()
	}
	if why == "" {
		return false
	}
	s.doubt(why, fmt.Sprintf("check the unit of the time column in %s: milliseconds and seconds look exchanged", s.prof.Path), s.params...)
	return true
}

// byRate compares sample periods with the rates that the profile expects.
func (s *scene) byRate() string {
	var off []float64
	for _, p := range s.params {
		if r := s.prof.Find(p); r != nil && r.Rate > 0 && s.rec.Get(p).Period > 0 {
			off = append(off, s.rec.Get(p).Period.Seconds()*r.Rate)
		}
	}
	if len(off) < 3 {
		return ""
	}
	slices.Sort(off)
	mid := off[len(off)/2]
	if mid < farOff && mid > 1./farOff {
		return ""
	}
	return fmt.Sprintf("its samples lie %s times as far apart as the profile expects", figure(mid))
}

// byRoll looks at how long the aeroplane takes from 40 to 100 kt: a takeoff
// roll takes some 15 s, a touch-and-go never gets down to 40 kt.
func (s *scene) byRoll() string {
	least := math.Inf(1)
	for _, p := range []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed} {
		if d := rise(s.rec.Get(p)); d < least {
			least = d
		}
	}
	if math.IsInf(least, 1) || least > 1 && least < 1800 {
		return ""
	}
	return fmt.Sprintf("by it the speed rises from 40 to 100 kt within %s s", figure(least))
}

// rise is the shortest time, s, of a steady rise from 40 to 100 kt, +Inf when
// there is none. It needs five samples on the way, so that it is no jump.
func rise(s *flightdata.Series) float64 {
	best := math.Inf(1)
	if s.Len() == 0 {
		return best
	}
	from, between := -1, 0
	last := math.Inf(-1)
	for i, v := range s.Values {
		if !tellsSize(s, i) {
			continue
		}
		switch {
		case v <= 40:
			from, between = i, 0
		case v < last-5:
			from = -1 // no steady rise
		case v < 100:
			between++
		case from >= 0:
			if between >= 5 {
				best = min(best, s.Times[i].Sub(s.Times[from]).Seconds())
			}
			from = -1
		}
		last = v
	}
	return best
}
