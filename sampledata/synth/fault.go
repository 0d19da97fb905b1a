package synth

import (
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// placedFault is a fault with the steps between which it shows.
type placedFault struct {
	fault
	from, to int
	keep     []int // steps that a spike or flicker must stay away from
	aimed    bool  // or rather must hit
}

// placeFaults decides when each fault of the recipe shows: around the first
// attempt, from well before the thrust advance to well after the roll.
func (f *flight) placeFaults() []placedFault {
	end := len(f.sim.tape.speed)
	from, to := end/3, end
	var keep []int
	if len(f.attempts) > 0 {
		a := &f.attempts[0]
		from, to = a.begin-25*stepsPerS, min(a.end+5*stepsPerS, end)
		keep = f.instants(a)
	}
	var out []placedFault
	for _, ft := range f.faults {
		p := placedFault{fault: ft, from: max(from, 0), to: to, keep: keep, aimed: f.difficulty >= Hard}
		if ft.kind == brief && len(f.attempts) > 0 {
			mid := f.attempts[0].begin + 15*stepsPerS
			p.from, p.to = mid, mid+int(f.rnd.between(2, 6)*stepsPerS)
		}
		if len(f.attempts) > 0 {
			f.atMoment(&p)
		}
		out = append(out, p)
	}
	return out
}

// atMoment places the faults of nasty flights in the attempt.
func (f *flight) atMoment(p *placedFault) {
	a := &f.attempts[0]
	r := reader{flight: f, tape: f.sim.tape, notes: a}
	onset := max(r.steps().onset, a.begin)
	switch p.kind {
	case blind:
		p.from = onset - int(f.rnd.between(0.2, 4)*stepsPerS)
		p.to = onset + int(f.rnd.between(0.2, 8)*stepsPerS)
	case frozenLate:
		p.from, p.to = onset+5*stepsPerS, len(f.sim.tape.speed)
	case unlocked:
		p.from, p.to = 0, len(f.sim.tape.speed)
	}
	p.from, p.to = max(p.from, 0), max(min(p.to, len(f.sim.tape.speed)), 0)
}

// instants are the steps that matter in an attempt.
func (f *flight) instants(a *attemptNotes) []int {
	r := reader{flight: f, tape: f.sim.tape, notes: a}
	s := r.steps()
	var out []int
	for _, n := range []int{s.advance, s.onset, s.roll, s.rotation, s.lift, s.cut, s.action, s.peak, s.stop} {
		if n >= 0 {
			out = append(out, n)
		}
	}
	return out
}

// lost are the parameters that the data of the file cannot tell in the first
// attempt. A frozen sensor counts as long as the freeze covers the roll, and
// for parameters of which others prove that they should have moved.
func (f *flight) lost(faults []placedFault) map[flightdata.Parameter]bool {
	out := map[flightdata.Parameter]bool{}
	for _, ft := range faults {
		switch ft.kind {
		case missing, dead, dropout:
			out[ft.param] = true
		case inverted:
			// Set in the taxi and released at the gate: no reading is believed.
			out[ft.param] = out[ft.param] || ft.param == flightdata.ParkingBrake
		}
	}
	return out
}

// suffers says whether a parameter has a fault of that kind.
func (r *recorder) suffers(p flightdata.Parameter, kind faultKind) bool {
	for i := range r.faults {
		if r.faults[i].param == p && r.faults[i].kind == kind {
			return true
		}
	}
	return false
}

// spoil applies the faults to the cells of one column.
func (r *recorder) spoil(rule *profile.ParameterRule, c *column) {
	r.hits = nil
	for i := range r.faults {
		ft := &r.faults[i]
		if ft.param != rule.Parameter {
			continue
		}
		to := min(ft.to*r.hz/stepsPerS, len(c.cells))
		from := min(ft.from*r.hz/stepsPerS, to) // a short recording may end before it
		switch ft.kind {
		case dead:
			blankAll(c.cells)
		case dropout, brief, blind:
			blankAll(c.cells[from:to])
		case unlocked:
			r.unlock(rule, c)
		case frozen, frozenLate:
			freeze(c.cells, from, to)
		case inverted:
			r.invert(c, 0, len(c.cells), 1)
		case flicker:
			r.single(c, ft, func(t int) { r.invert(c, t, t+1, 1) })
		case spikes:
			r.single(c, ft, func(t int) { c.cells[t] += 100 * stepOf(c) })
		}
	}
}

// unlock makes a reverser read as out all the time.
func (r *recorder) unlock(rule *profile.ParameterRule, c *column) {
	for t := range c.cells {
		if c.cells[t] != blankCell {
			c.cells[t] = int64(stateIndex(r.p)(rule.Parameter, "deployed"))
		}
	}
}

func blankAll(cells []int64) {
	for i := range cells {
		cells[i] = blankCell
	}
}

// freeze repeats the first value of the stretch through it.
func freeze(cells []int64, from, to int) {
	held := int64(blankCell)
	for t := from; t < to; t++ {
		switch {
		case cells[t] == blankCell:
		case held == blankCell:
			held = cells[t]
		default:
			cells[t] = held
		}
	}
}

// invert turns a discrete with two states round.
func (r *recorder) invert(c *column, from, to int, top int64) {
	for t := from; t < to; t++ {
		if c.cells[t] != blankCell {
			c.cells[t] = top - c.cells[t]
		}
	}
}

// single applies hit to a few single samples that are clear of the instants
// of the attempt and of each other.
func (r *recorder) single(c *column, ft *placedFault, hit func(tick int)) {
	const apart = 5 // s
	if ft.aimed {
		r.hits = r.aim(c, ft, apart*r.hz)
		for _, t := range r.hits {
			hit(t)
		}
		return
	}
	last := -apart * r.hz
	hits := 0
	for t := ft.from * r.hz / stepsPerS; t < ft.to*r.hz/stepsPerS && t < len(c.cells) && hits < 4; t++ {
		if c.cells[t] == blankCell || t-last < apart*r.hz || near(ft.keep, t*stepsPerS/r.hz, apart*stepsPerS) {
			continue
		}
		if !r.rnd.chance(0.3) {
			continue
		}
		hit(t)
		last = t
		hits++
	}
}

func near(steps []int, n, within int) bool {
	for _, s := range steps {
		if n-s < within && s-n < within {
			return true
		}
	}
	return false
}

// stepOf is the least difference between two cells of a column, at least one.
func stepOf(c *column) int64 {
	least := int64(0)
	last := int64(blankCell)
	for _, v := range c.cells {
		if v == blankCell {
			continue
		}
		if d := v - last; last != blankCell && d != 0 {
			if d < 0 {
				d = -d
			}
			if least == 0 || d < least {
				least = d
			}
		}
		last = v
	}
	return max(least, 1)
}
