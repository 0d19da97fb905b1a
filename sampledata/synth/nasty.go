package synth

import (
	"math"
	"slices"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// A nasty flight has two faults at once, at the decisive second, and a
// recorder as slow and coarse as 14 CFR part 121 appendix M allows. What its
// truth says of a check follows from the state of the simulator and the times
// of the samples in the file, never from a detector:
//
//   - a value is told at an instant between two samples that are no more than
//     two nominal periods apart; in a longer gap it is not;
//   - a finding is certain when it lasts for two samples and what a fault may
//     take away from them; a shorter one, or one partly in a gap, is open;
//   - the state at the onset is open when it changes, or a sample is false,
//     between the samples around the bracket of the onset, or is as near to
//     its limit as the resolution there;
//   - a value nearer to its limit than half a quantum is open;
//   - an inverted discrete contradicts the taxi and tells nothing.

// drawNasty draws two faults on two parameters.
func drawNasty(r *recipe, p *profile.Profile, rnd random) {
	kinds := []faultKind{blind, blind, missing, frozen, frozenLate, spikes, spikes, flicker, flicker, unlocked, inverted, drifting, dead}
	for range 20 {
		kind := kinds[rnd.pick(len(kinds))]
		targets := faultTargets(kind, p, Nasty)
		if len(targets) == 0 {
			continue
		}
		ft := fault{kind, targets[rnd.pick(len(targets))]}
		if !slices.ContainsFunc(r.faults, func(o fault) bool { return o.param.Base() == ft.param.Base() || o.kind == kind }) {
			r.faults = append(r.faults, ft)
		}
		if len(r.faults) == 2 {
			return
		}
	}
}

// fitNasty adds what may happen at the wrong moment to a recipe that can be
// flown.
func fitNasty(r *recipe, p *profile.Profile, rnd random) {
	// With a reading that stays high to the end of the data nobody sees all
	// engines fall.
	stays := slices.ContainsFunc(r.faults, func(ft fault) bool { return ft.kind == frozenLate && ft.param.Base() != flightdata.Airspeed })
	// An inverted brake that was set for the takeoff reads as one that was
	// released for it and set in the taxi; what that proves is nobody's guess.
	for i := range p.Checks {
		if c := &p.Checks[i]; c.Name == r.check && c.Watched() == flightdata.ParkingBrake {
			r.faults = slices.DeleteFunc(r.faults, func(ft fault) bool { return ft.kind == inverted && ft.param == flightdata.ParkingBrake })
		}
	}
	r.short = r.rejects() && r.ending != rejectStill && !r.retry && !stays && rnd.chance(0.3)
	if r.check == "" || r.manner != corrected && r.manner != arises {
		return
	}
	// An onset that moves what is compared with it is no change about it.
	for i := range p.Checks {
		c := &p.Checks[i]
		if c.Name == r.check && c.OneOf == nil && c.Judged.From == "" {
			r.atOnce = rnd.chance(0.5)
		}
	}
}

// condition is the state of a recorder. The zero value is one in good order
// that samples as the profile says.
type condition struct {
	slow   bool    // no parameter faster than it must be
	coarse float64 // quanta are so many times larger; 0 is 1
	jitter int64   // microseconds that a row may be stamped early or late
	drift  int64   // microseconds that the clock gains per second
	lag    int     // steps by which the recorded ground speed is late
}

// drawCondition draws the state of the recorder of a nasty flight.
func drawCondition(rnd random) condition {
	return condition{
		slow: rnd.chance(0.6), coarse: []float64{1, 2, 2}[rnd.pick(3)], jitter: []int64{0, 2000, 5000}[rnd.pick(3)],
		drift: []int64{0, 200, -300}[rnd.pick(3)], lag: []int{0, stepsPerS / 4, stepsPerS / 2}[rnd.pick(3)],
	}
}

func (c condition) coarseness() float64 { return max(c.coarse, 1) }

// rate is how often a parameter is sampled, per second.
func (c condition) rate(rule *profile.ParameterRule) float64 {
	rate := rule.Rate
	if rate <= 0 {
		rate = channelOf(rule.Parameter).rate
	}
	if c.slow {
		rate = min(rate, slowest(rule.Parameter))
	}
	return rate
}

// slowest is the slowest rate that 14 CFR part 121 appendix M allows, samples
// per second. Flaps and slats, rows 20, 21, 85 and 86, may be taken from the
// lever and the surface in turn, each every 4 s.
func slowest(p flightdata.Parameter) float64 {
	switch p.Base() {
	case flightdata.FlapLever, flightdata.FlapPosition, flightdata.SlatPosition:
		return 0.25
	case flightdata.LongAcceleration:
		return 4 // row 11
	}
	return 1
}

// cutShort ends the recording of a reject in the middle of the stop: at once,
// when nobody can tell yet what it will be, or after the speed has plainly
// fallen.
func (f *flight) cutShort() {
	if !f.short || len(f.attempts) == 0 || f.attempts[0].cut < 0 {
		return
	}
	a, t := &f.attempts[0], f.sim.tape
	end, top := a.cut, 0.0
	f.shortCut = f.rnd.chance(0.5)
	lost := f.rnd.between(24, 30) * knot // the profiles want 10 kt, of samples that come late
	if f.shortCut {
		lost = f.rnd.between(0.5, 3) * knot
	}
	for end < a.end && (top-t.speed[end] < lost || end < a.cut+stepsPerS/2) {
		top = max(top, t.speed[end])
		end++
	}
	t.truncate(end)
	a.end = end
	for _, n := range []*int{&a.rotation, &a.brakes, &a.speedbrake, &a.reverse} {
		if *n >= end {
			*n = -1
		}
	}
}

// truncate drops every step from end on.
func (t *trace) truncate(end int) {
	for i := range t.columns {
		t.columns[i] = t.columns[i][:end]
	}
	t.speed, t.distance, t.accel = t.speed[:end], t.distance[:end], t.accel[:end]
	t.armed, t.wheels, t.warning = t.armed[:end], t.wheels[:end], t.warning[:end]
}

// aim picks the ticks that a spike or a flicker hits: samples about instants
// that matter, apart from each other, for one that lasts is no single one.
func (r *recorder) aim(c *column, ft *placedFault, apart int) []int {
	var hits []int
	for _, k := range ft.keep {
		t := max((k+int(r.rnd.between(-1, 1)*stepsPerS))*r.hz/stepsPerS, 0)
		for t < len(c.cells) && c.cells[t] == blankCell {
			t++
		}
		if t >= len(c.cells) || near(hits, t, apart) || !r.rnd.chance(0.7) || c.discrete() && !alone(c.cells, t) {
			continue
		}
		hits = append(hits, t)
	}
	return hits
}

// alone says whether both neighbours of the sample at a tick are in its state.
// Beside a change, a false sample is a change one sample sooner or later, and
// nothing in the data tells the two apart.
func alone(cells []int64, t int) bool {
	same := func(step int) bool {
		for i := t + step; i >= 0 && i < len(cells); i += step {
			if cells[i] != blankCell {
				return cells[i] == cells[t]
			}
		}
		return true
	}
	return same(-1) && same(1)
}

// sampling is when a parameter was sampled: the steps of the samples that the
// file holds, in order, and those that are false.
type sampling struct {
	steps, wrong []int
	period       int // steps between two, nominally
}

// hidden says whether a step lies in a gap that is too long to look across.
func (s *sampling) hidden(step int) bool {
	before, after := s.around(step, step)
	return before < 0 || after-before > 2*s.period+s.period/10
}

// around are the last sample at or before from and the first at or after to;
// -1 when there is none before, far off when there is none after.
func (s *sampling) around(from, to int) (before, after int) {
	before, after = -1, 1<<40
	i, found := slices.BinarySearch(s.steps, from)
	if found {
		before = from
	} else if i > 0 {
		before = s.steps[i-1]
	}
	if i, _ = slices.BinarySearch(s.steps, to); i < len(s.steps) {
		after = s.steps[i]
	}
	return before, after
}

// onsetOpen says whether the samples leave open how a check stood at the
// onset: its state changes, or a sample of what it watches is false, between
// the samples around the bracket of the onset, or its value is as near to the
// limit as the resolution.
func (r *reader) onsetOpen(c *profile.Check, s *steps) bool {
	if r.rows == nil || r.rows.seen == nil {
		return false
	}
	early, late := s.advance, s.advance
	for n := 1; n <= r.p.Engines; n++ {
		if seen := r.rows.seen[r.p.Thrust.Measure.Engine(n)]; seen != nil {
			from, to := seen.around(s.advance, s.advance)
			early, late = min(early, max(from, 0)), max(late, min(to, s.advance+seen.period))
		}
	}
	delay := s.onset - s.advance
	from, to := early+delay, late+delay
	if seen := r.rows.seen[c.Watched()]; seen != nil {
		before, after := seen.around(from, to)
		from, to = max(before, 0), min(after, len(r.tape.speed)-1)
		for _, n := range seen.wrong {
			if n >= from-seen.period && n <= to+seen.period {
				return true
			}
		}
	}
	st, at := r.stateAt(s.onset), from
	st.read = func(p flightdata.Parameter) (float64, bool) { return r.told(p, at) }
	first := judge(c, st)
	for ; at <= min(to, len(r.tape.speed)-1); at++ {
		v := judge(c, st)
		if v.out != first.out || v.untold != first.untold || math.Abs(v.margin) < r.unresolved(c) {
			return true
		}
	}
	return first.untold
}
