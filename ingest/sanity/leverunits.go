package sanity

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

// A lever travels tens of degrees, which is up to smallTravel when they are
// radians; it has a sensor that tells coarseStep apart, which no radian read as
// degrees or degree read as radians leaves true.
const (
	smallTravel = 1.6 // deg: 90 deg in radians
	coarseStep  = 1.0 // deg
)

// levers doubts the unit of thrust levers, speedbrake levers and spoilers that
// hardly move: what noise does to them would be an event in the wrong unit.
func (s *scene) levers() {
	for _, p := range s.params {
		switch p.Base() {
		case flightdata.ThrustLever, flightdata.SpeedbrakeLever, flightdata.SpoilerPosition:
		default:
			continue
		}
		series := s.rec.Get(p)
		if !s.usable(p) || series.Unit.Symbol != "deg" {
			continue
		}
		why := s.tooLittle(p)
		if why == "" {
			why = s.tooCoarse(p)
		}
		if why != "" {
			s.doubt(why, "check the unit of "+s.column(p), p)
		}
	}
}

// tooLittle says why a lever looks like radians read as degrees: it moves, by
// less than two degrees in all, where its engine spools up and down, or from one
// place of rest to another far apart on that scale.
func (s *scene) tooLittle(p flightdata.Parameter) string {
	lo, hi := s.extentOf(p)
	if !(max(-lo, hi) <= smallTravel) || !(hi-lo > 0) {
		return ""
	}
	if p.Base() == flightdata.ThrustLever {
		if !s.spooled() {
			return ""
		}
		return fmt.Sprintf("it moves between %s and %s deg only though the engines go from idle to takeoff thrust, which looks like radians", figure(lo), figure(hi))
	}
	// A sensor of whole or tenth degrees may flicker between two of its steps for
	// long, and that is no travel.
	low, high := extent(rests(s.hold(p)))
	if step, _ := leastStep(s.rec.Get(p)); high-low > 0.25 && (step < 0.05 || math.Abs(10*step-math.Round(10*step)) > 0.05) {
		return fmt.Sprintf("it moves between %s and %s deg only and rests at both ends, which looks like radians", figure(lo), figure(hi))
	}
	return ""
}

// spooled says whether an engine goes through more than a third of the range up
// to the arming threshold: its lever cannot have stood still.
func (s *scene) spooled() bool {
	rule := s.prof.Thrust
	if rule.Measure == flightdata.ThrustLever {
		return s.tookOff()
	}
	for n := 1; n <= s.prof.Engines; n++ {
		lo, hi := s.extentOf(rule.Measure.Engine(n))
		if hi >= rule.Threshold && lo < rule.Threshold-rule.Hysteresis {
			return true
		}
	}
	return false
}

// tooCoarse says why a lever that the profile reads in another unit than deg
// looks like degrees: half of its steps are larger than a sensor's, to and fro.
func (s *scene) tooCoarse(p flightdata.Parameter) string {
	rule := s.prof.Find(p)
	if rule == nil || rule.Unit == rule.Canonical {
		return ""
	}
	var steps []float64
	turns, last := 0, 0.0
	series := s.rec.Get(p)
	for i := 1; i < series.Len(); i++ {
		d := series.Values[i] - series.Values[i-1]
		if math.Abs(d) < 1e-9 {
			continue
		}
		steps = append(steps, math.Abs(d))
		if d*last < 0 {
			turns++
		}
		last = d
	}
	if len(steps) < 6 || turns < 4 {
		return ""
	}
	slices.Sort(steps)
	if mid := steps[len(steps)/2]; mid > coarseStep {
		return fmt.Sprintf("it goes to and fro in steps of about %s deg, which looks like degrees read as radians", figure(mid))
	}
	return ""
}
