package sanity

import (
	"fmt"
	"math"

	"rollonset/ingest/flightdata"
)

// Seconds of unlike levers that must be seen, the difference of lever and of
// thrust that makes them unlike, as a share of their range, and the lag of an
// engine behind its lever, s.
const (
	unlikeFor   = 6
	unlikeLever = 0.12
	unlikeSpool = 0.08
	spoolLag    = 3
)

// engines looks for two engines whose levers and thrust are exchanged, and for
// two engines that are one column.
func (s *scene) engines() {
	measure := s.prof.Thrust.Measure
	for i := 1; i <= s.prof.Engines; i++ {
		for k := i + 1; k <= s.prof.Engines; k++ {
			s.sameColumn(measure.Engine(i), measure.Engine(k))
			if measure != flightdata.ThrustLever {
				s.exchanged(i, k, measure)
			} else {
				s.exchanged(i, k, flightdata.N1)
			}
		}
	}
	s.sameColumn(flightdata.BrakePressure.Left(), flightdata.BrakePressure.Right())
}

// exchanged doubts the levers of two engines when the other engine answers to
// each: lever 1 leads engine 2 and lever 2 engine 1. The measure itself stays
// believed, because the arming rule counts engines and does not ask which.
func (s *scene) exchanged(i, k int, measure flightdata.Parameter) {
	levers := []flightdata.Parameter{flightdata.ThrustLever.Engine(i), flightdata.ThrustLever.Engine(k)}
	lever := s.unlike(levers[0], levers[1], unlikeLever)
	if lever == nil {
		return
	}
	spool := s.unlike(measure.Engine(i), measure.Engine(k), unlikeSpool)
	if spool == nil {
		return
	}
	same, other := 0, 0
	for c := range s.cells {
		d := lever[c]
		// The levers must have been apart for as long as an engine lags.
		if d == 0 || c < spoolLag || c+spoolLag >= s.cells || lever[c-spoolLag] != d {
			continue
		}
		if spool[c] == d || spool[c+spoolLag] == d {
			same++
		} else if spool[c] == -d && spool[c+spoolLag] == -d {
			other++
		}
	}
	if other < unlikeFor || same*5 > other {
		return
	}
	s.doubt(fmt.Sprintf("for %d s thrust lever %d was ahead while %s of the other engine was higher, and the reverse: engines %d and %d are exchanged", other, i, measure, i, k),
		fmt.Sprintf("check the columns of thrust_lever and %s for engines %d and %d: until then the number of an engine in a result may be wrong", measure, i, k), levers...)
}

// unlike says second by second which of two is ahead: 1 the first, -1 the
// second, 0 neither. nil when one is missing.
func (s *scene) unlike(a, b flightdata.Parameter, share float64) []int8 {
	if !s.usable(a) || !s.usable(b) {
		return nil
	}
	x, y := s.hold(a), s.hold(b)
	lo1, hi1 := s.extentOf(a)
	lo2, hi2 := s.extentOf(b)
	apart := share * max(hi1-lo1, hi2-lo2)
	out := make([]int8, s.cells)
	if !(apart > 0) {
		return out
	}
	for c := range out {
		switch d := x[c] - y[c]; {
		case d > apart:
			out[c] = 1
		case d < -apart:
			out[c] = -1
		}
	}
	return out
}

// alike is how many different steps two series must share, value for value and
// instant for instant, before they count as one column read twice. Sensors have
// noise; noise does not repeat.
const alike = 60

// sameColumn doubts the second of two that are the same to the last bit. Flaps
// are not looked at: two sensors on one computer may well agree.
func (s *scene) sameColumn(a, b flightdata.Parameter) {
	if !s.usable(a) || !s.usable(b) {
		return
	}
	x, y := s.rec.Get(a), s.rec.Get(b)
	named := len(x.Origin.Names) > 0 && len(y.Origin.Names) > 0 && x.Origin.Names[0] == y.Origin.Names[0]
	if !named {
		if x.Len() != y.Len() {
			return
		}
		steps := 0
		for i := range x.Values {
			if x.Values[i] != y.Values[i] || x.Times[i] != y.Times[i] {
				return
			}
			if i > 0 && math.Abs(x.Values[i]-x.Values[i-1]) > 0 {
				steps++
			}
		}
		if steps < alike {
			return
		}
	}
	s.doubt("it is the same as "+string(a)+" to the last bit, through all its noise", "check the columns of both: one seems to be read twice", b)
}
