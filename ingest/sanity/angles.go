package sanity

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

const radian = math.Pi / 180

// angles doubts what was recorded in radians and read as degrees. An angle that
// is small is no proof; each needs its own.
func (s *scene) angles() {
	s.pitch()
	for _, p := range s.params {
		switch p.Base() {
		case flightdata.FlapLever, flightdata.FlapPosition, flightdata.SlatPosition:
			s.flaps(p)
		case flightdata.StabilizerTrim:
			s.trim(p)
		default:
			continue
		}
		s.release(p)
	}
}

// pitch: nothing flies for long without one degree of pitch, and no sensor of
// it has steps of two.
func (s *scene) pitch() {
	pitch, height := s.hold(flightdata.Pitch), s.hold(flightdata.RadioHeight)
	lo, hi := s.extentOf(flightdata.Pitch)
	if !s.usable(flightdata.Pitch) {
		return
	}
	// A steady rotation sampled once a second has steps as large, and may have
	// them alike; it does not go on to where no airliner points.
	if step, steps := leastStep(s.rec.Get(flightdata.Pitch)); max(-lo, hi) > steepest && step > 2 && steps >= 5 && onGrid(s.rec.Get(flightdata.Pitch), step) {
		s.doubt(fmt.Sprintf("it moves in steps of %s deg, which looks like degrees read as radians", figure(step)),
			"check the unit of "+s.column(flightdata.Pitch), flightdata.Pitch)
		return
	}
	aloft := s.count(func(c int) bool { return height[c] > 200 && pitch[c] == pitch[c] })
	if aloft >= 20 && max(-lo, hi) < 0.6 {
		s.doubt(fmt.Sprintf("it never exceeds %s deg though the aircraft flies, which looks like radians", figure(max(-lo, hi))),
			"check the unit of "+s.column(flightdata.Pitch), flightdata.Pitch)
	}
}

// steepest is the pitch, deg, beyond which no transport aeroplane is flown; one
// degree read as a radian is 57.
const steepest = 45

// flaps: they rest at two places that are less than 1.2 deg apart, on a scale
// too fine to be one of whole or tenth degrees, or at a setting of the profile
// in radians. Degrees do neither.
func (s *scene) flaps(p flightdata.Parameter) {
	if !s.usable(p) || s.rec.Get(p).Unit.Symbol != "deg" {
		return
	}
	lo, hi := s.extentOf(p)
	if !(hi-lo > 0.04) || hi > 1.2 || lo < -0.1 {
		return
	}
	still := rests(s.hold(p))
	step, _ := leastStep(s.rec.Get(p))
	if low, high := extent(still); high-low > 0.04 && (step < 0.02 || slices.ContainsFunc(still, func(x float64) bool { return s.setting(p, x) })) {
		s.doubt(fmt.Sprintf("it never exceeds %s deg and rests at %s and %s, which looks like radians", figure(hi), figure(low), figure(high)),
			"check the unit of "+s.column(p), p)
	}
}

// setting says whether v is a setting of the profile taken in radians.
func (s *scene) setting(p flightdata.Parameter, v float64) bool {
	for i := range s.prof.Checks {
		c := &s.prof.Checks[i]
		if c.OneOf == nil || c.OneOf.Parameter.Base() != p.Base() {
			continue
		}
		for _, set := range c.OneOf.Settings {
			if set > 0 && math.Abs(v-set*radian) < 0.02*set*radian {
				return true
			}
		}
	}
	return false
}

// rests are the values at which a grid stands still for long.
func rests(v []float64) []float64 {
	still := make([]float64, 0, len(v))
	run := 0
	for c := 1; c < len(v); c++ {
		if math.Abs(v[c]-v[c-1]) > 0.002 || v[c] != v[c] {
			run = 0
			continue
		}
		if run++; run >= 10 {
			still = append(still, v[c])
		}
	}
	return still
}

// trim: it stays within a third of a degree, moves, and does so in steps finer
// than those of a trim sensor; or the reverse, it goes farther than a
// stabilizer can or moves in leaps.
func (s *scene) trim(p flightdata.Parameter) {
	series := s.rec.Get(p)
	if !s.usable(p) || series.Unit.Symbol != "deg" {
		return
	}
	lo, hi := s.extentOf(p)
	most := max(-lo, hi)
	step, steps := leastStep(series)
	if most > 20 || step > 1 && steps >= 5 {
		s.doubt(fmt.Sprintf("it goes to %s deg in steps of %s deg, which looks like degrees read as radians", figure(most), figure(step)), "check the unit of "+s.column(p), p)
		return
	}
	if !(most <= 0.35) || hi-lo < 0.005 || step > 0.004 {
		return
	}
	s.doubt(fmt.Sprintf("it moves between %s and %s deg in steps of %s deg, which looks like radians", figure(lo), figure(hi), figure(step)),
		"check the unit of "+s.column(p), p)
}

// leastStep is the smallest difference between two samples in a row that is
// not a rounding of the last bit, and how many there are; +Inf when it never
// moves.
func leastStep(s *flightdata.Series) (least float64, steps int) {
	least = math.Inf(1)
	for i := 1; i < s.Len(); i++ {
		if d := math.Abs(s.Values[i] - s.Values[i-1]); d > 1e-9 {
			least = min(least, d)
			steps++
		}
	}
	return least, steps
}

// onGrid says whether the series moves by whole multiples of a step only.
func onGrid(s *flightdata.Series, step float64) bool {
	for i := 1; i < s.Len(); i++ {
		n := math.Abs(s.Values[i]-s.Values[i-1]) / step
		if math.Abs(n-math.Round(n)) > 0.05 {
			return false
		}
	}
	return true
}

// heading: a heading that turns through more than half of a full circle in
// radians and never leaves that circle, on an aircraft that taxied.
func (s *scene) heading() {
	p := flightdata.Heading
	if !s.usable(p) {
		return
	}
	h, gs := s.hold(p), s.hold(flightdata.GroundSpeed)
	lo, hi := s.extentOf(p)
	taxied := s.count(func(c int) bool { return gs[c] > rolling && gs[c] < walking && h[c] == h[c] })
	if taxied < 60 || lo < -3.2 || hi > 6.3 || !(hi-lo > 1) {
		return
	}
	if step, _ := leastStep(s.rec.Get(p)); step > 0.05 {
		return
	}
	s.doubt(fmt.Sprintf("it stays between %s and %s deg while the aircraft taxies, which looks like radians", figure(lo), figure(hi)),
		"check the unit of "+s.column(p), p)
}
