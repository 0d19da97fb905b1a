package sanity

import (
	"fmt"
	"slices"

	"rollonset/ingest/flightdata"
)

// speedbrake doubts a speedbrake lever that is out while the aircraft taxies
// and again while it flies or is brought to a stop the other way round. A lever
// that was forgotten before a takeoff is a finding, so both are needed.
func (s *scene) speedbrake() {
	for _, p := range []flightdata.Parameter{flightdata.SpeedbrakeLever, flightdata.SpoilerPosition} {
		if !s.usable(p) {
			continue
		}
		lever, gs, height := s.hold(p), s.hold(flightdata.GroundSpeed), s.hold(flightdata.RadioHeight)
		lo, hi := s.extentOf(p)
		if !(hi-lo > 5) {
			continue // it never moved: nothing tells which end is which
		}
		out := func(c int) bool { return lever[c] > lo+0.5*(hi-lo) }
		slow := s.share(out, func(c int) bool { return lever[c] == lever[c] && gs[c] < walking })
		fly := s.share(out, func(c int) bool { return lever[c] == lever[c] && gs[c] > 100 && height[c] > 500 })
		stop := s.share(out, func(c int) bool { return lever[c] == lever[c] && stopping(gs, c) })
		why := ""
		switch {
		case slow > 0.8 && fly > 0.8:
			why = fmt.Sprintf("it is out for %.0f %% of the time on the ground and %.0f %% of the time in the air", 100*slow, 100*fly)
		case slow > 0.8 && stop >= 0 && stop < 0.2:
			why = fmt.Sprintf("it is out for %.0f %% of the time while slow and in for most of the stop", 100*slow)
		}
		if why != "" {
			s.doubt(why, "check the sense of "+s.column(p)+", it may be inverted", p)
		}
	}
}

// stopping says whether the aircraft is being braked hard at that second.
func stopping(gs []float64, c int) bool {
	return c >= 3 && c+3 < len(gs) && gs[c] > walking && gs[c-3]-gs[c+3] > 12
}

// share is how much of the seconds in which where holds cond does too; -1 when
// there are fewer than ten of them.
func (s *scene) share(cond, where func(c int) bool) float64 {
	n, yes := 0, 0
	for c := range s.cells {
		if where(c) {
			n++
			if cond(c) {
				yes++
			}
		}
	}
	if n < 10 {
		return -1
	}
	return float64(yes) / float64(n)
}

// fractions doubts what was recorded from 0 to 1 and read as percent: thrust
// that never exceeds 1.5 % on an aircraft that moves by itself, a lever that
// moves within 1 % in steps finer than any sensor's, a centre of gravity of less than 1 %.
func (s *scene) fractions() {
	for _, p := range s.params {
		if !s.usable(p) || s.rec.Get(p).Unit.Symbol != "%" {
			continue
		}
		lo, hi := s.extentOf(p)
		why := ""
		switch p.Base() {
		case flightdata.N1, flightdata.Torque:
			if hi <= 1.5 && hi-lo > 0.2 {
				if _, fast := s.extentOf(flightdata.GroundSpeed); fast > 10 {
					why = fmt.Sprintf("it never exceeds %s %% while the aircraft moves", figure(hi))
				}
			}
		case flightdata.SpeedbrakeLever, flightdata.SpoilerPosition:
			if hi <= 1.05 && hi-lo > 0.02 {
				if step, _ := leastStep(s.rec.Get(p)); step < 0.01 {
					why = fmt.Sprintf("it moves between %s and %s %% in steps of %s %%", figure(lo), figure(hi), figure(step))
				}
			}
		case flightdata.CenterOfGravity:
			if hi < 0.7 && lo > 0.02 {
				why = fmt.Sprintf("it never exceeds %s %%", figure(hi))
			}
		}
		if why != "" {
			s.doubt(why+", which looks like a fraction read as percent", "check the unit of "+s.column(p), p)
		}
	}
}

// thrust doubts the arming measure when the aircraft takes off and no engine
// ever comes half way to the threshold: it is in another unit, such as a
// fraction for percent. Without this no attempt would be found, in silence.
func (s *scene) thrust() {
	measure, most, seen := s.prof.Thrust.Measure, 0.0, false
	var params []flightdata.Parameter
	for n := 1; n <= s.prof.Engines; n++ {
		p := measure.Engine(n)
		if !s.usable(p) {
			continue
		}
		_, hi := s.extentOf(p)
		if hi == hi {
			most, seen = max(most, hi), true
			params = append(params, p)
		}
	}
	if !seen || len(params) < s.prof.Engines || most >= 0.5*s.prof.Thrust.Threshold || !s.tookOff() {
		return
	}
	s.doubt(fmt.Sprintf("the aircraft takes off and the measure never exceeds %s, less than half of the threshold of %s", figure(most), figure(s.prof.Thrust.Threshold)),
		"check its unit and thrust.threshold in the profile", params...)
}

// tookOff says whether the ground speed rises from walking speed to 80 kt
// within two minutes and the aircraft is then off the ground.
func (s *scene) tookOff() bool {
	gs, height := s.hold(flightdata.GroundSpeed), s.hold(flightdata.RadioHeight)
	last := -1
	for c := range s.cells {
		if gs[c] < walking {
			last = c
		}
		if last >= 0 && c-last <= 120 && gs[c] > 80 && slices.ContainsFunc(height[c:min(c+120, s.cells)], func(h float64) bool { return h > 200 }) {
			return true
		}
	}
	return false
}
