package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/truth"
)

// notOrdered says how a played flight is not what its recipe says, or, unless
// it may be a hard one, where it comes too near to what no recorder resolves;
// "" when it is as it should be.
func (f *flight) notOrdered() string {
	tr := f.truths("", nil, nil)
	if tr[0].Outcome != f.expected() {
		return "the outcome is " + tr[0].Outcome
	}
	for i := range f.attempts {
		r := reader{flight: f, tape: f.sim.tape, notes: &f.attempts[i]}
		s := r.steps()
		if f.attempts[i].touch {
			if s.advance < 0 || f.sim.tape.speed[s.advance]/knot < f.p.Attempt.StartBelow+5 {
				return "the go part of the touch-and-go begins too slow"
			}
			continue
		}
		if s.onset < 0 {
			return "thrust was never advanced"
		}
		if f.difficulty >= Hard {
			continue // nothing is too near: the truth says what is open
		}
		if why := r.tooNear(&s); why != "" {
			return why
		}
	}
	if !f.checkIsOut(&tr[0]) {
		return f.check + " is not out of limits"
	}
	return ""
}

// expected is the outcome of the first attempt of the recipe.
func (f *flight) expected() string {
	if f.shortCut {
		return truth.Undetermined
	}
	switch f.ending {
	case rejectStill:
		return truth.RejectedNoRoll
	case rejectLow, rejectHigh, rejectPastV1, rejectRotated:
		return truth.Rejected
	case dataEnds:
		return truth.Undetermined
	case noAttempt, lands:
		return ""
	case touches:
		return truth.TouchAndGo
	}
	return truth.Airborne
}

// checkIsOut says whether the check of the recipe came out of limits.
func (f *flight) checkIsOut(a *truth.Attempt) bool {
	for _, name := range a.Out {
		if name == f.check {
			return true
		}
	}
	return f.check == ""
}

// Plain flights keep every check in one state from clearBefore the onset to
// as long after it, and every value twoQuanta off its limits.
const (
	clearBefore = 3 * stepsPerS
	twoQuanta   = 2
)

// tooNear says which edge an attempt comes too near to, "" for none.
func (r *reader) tooNear(s *steps) string {
	if !r.stopsClear(s) {
		return "the reject is near the edge of its class, of V1 or of the onset"
	}
	for i := range r.p.Checks {
		c := &r.p.Checks[i]
		if c.OneOf != nil && c.OneOf.Rule == profile.AsAtOnset {
			continue
		}
		at := s.onset
		st := r.stateAt(s.onset)
		st.read = func(p flightdata.Parameter) (float64, bool) { return r.told(p, at) }
		first := judge(c, st)
		if !math.IsNaN(first.margin) && math.Abs(first.margin) < twoQuanta*quantumOf(c.Watched()) {
			return c.Name + " is near its limit at the onset"
		}
		end := len(r.tape.speed)
		for at = max(s.onset-clearBefore, 0); at < min(s.onset+clearBefore, end); at++ {
			if v := judge(c, st); v.out != first.out || v.untold != first.untold {
				return c.Name + " changes near the onset"
			}
		}
	}
	return ""
}

// stopsClear says whether a reject is clear of the boundary of its class, of
// V1, and of the persistence of the onset.
func (r *reader) stopsClear(s *steps) bool {
	if s.cut < 0 {
		return true
	}
	cut := r.tape.speed[s.cut] / knot
	clear := func(v, edge float64) bool { return math.Abs(v-edge) >= 3 }
	if !clear(cut, r.p.Reject.Boundary) || s.cut < s.onset+clearBefore {
		return false
	}
	return s.roll < 0 || clear(r.airspeed(s.action), r.sim.v1Air())
}
