package synth

import (
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/truth"
)

// findWindows narrows each look-alike to where the arming rule was met.
func (f *flight) findWindows() {
	for i := range f.alike {
		a := &f.alike[i]
		from, to := -1, -1
		for n := a.from; n < a.to; n++ {
			if f.sim.tape.armed[n] {
				if from < 0 {
					from = n
				}
				to = n + 1
			}
		}
		a.from, a.to = from, to
	}
	kept := f.alike[:0]
	for _, a := range f.alike {
		if a.from >= 0 { // a landing without reverse never met the rule
			kept = append(kept, a)
		}
	}
	f.alike = kept
}

// reader reads one attempt off the full-rate state.
type reader struct {
	*flight
	tape  *trace
	notes *attemptNotes
	lost  map[flightdata.Parameter]bool // what the data of the file cannot tell
}

// truths are the rows of truth.csv of this flight, with times in seconds of
// the simulation; clock turns them into seconds of the file.
func (f *flight) truths(file string, lost map[flightdata.Parameter]bool, clock func(step int) float64) []truth.Attempt {
	var out []truth.Attempt
	for i := range f.attempts {
		r := reader{flight: f, tape: f.sim.tape, notes: &f.attempts[i], lost: lost}
		a := r.attempt(clock)
		a.File, a.Number, a.Scenario = file, len(out)+1, f.name
		out = append(out, a)
	}
	if len(out) == 0 {
		a := blank()
		a.File, a.Scenario = file, f.name
		out = append(out, a)
	}
	for _, l := range f.alike {
		out[0].LookAlikes = append(out[0].LookAlikes, truth.LookAlike{Kind: l.kind, From: clock(l.from), To: clock(l.to)})
	}
	return out
}

// blank is an attempt in which nothing happened.
func blank() truth.Attempt {
	n := math.NaN()
	return truth.Attempt{
		ThrustAdvance: n, Onset: n, RollStart: n, Rotation: n, LiftOff: n, ThrustCut: n,
		FirstAction: n, Peak: n, Stop: n, PeakGroundSpeed: n, GroundSpeedAtCut: n, DistanceToCut: n, DistanceToStop: n,
	}
}

// steps of an attempt; -1: did not happen.
type steps struct {
	advance, onset, roll, rotation, lift, cut, action, peak, stop int
	actionBy                                                      string
}

func (r *reader) attempt(clock func(int) float64) truth.Attempt {
	s := r.steps()
	a := blank()
	at := func(field *float64, step int) {
		if step >= 0 {
			*field = clock(step)
		}
	}
	at(&a.ThrustAdvance, s.advance)
	at(&a.Onset, s.onset)
	at(&a.RollStart, s.roll)
	at(&a.Rotation, s.rotation)
	at(&a.LiftOff, s.lift)
	at(&a.ThrustCut, s.cut)
	at(&a.FirstAction, s.action)
	a.FirstActionBy, a.Rolling, a.Outcome = s.actionBy, r.notes.rolling, r.outcome(&s)
	r.measures(&a, &s, at)
	if a.Outcome != truth.TouchAndGo {
		r.findings(&a, &s)
	}
	return a
}

func (r *reader) steps() steps {
	n := r.notes
	s := steps{advance: -1, onset: -1, roll: -1, rotation: n.rotation, lift: -1, cut: n.cut, action: -1, peak: -1, stop: -1}
	s.advance = r.advance()
	if s.advance >= 0 {
		s.onset = s.advance + int(r.p.Attempt.OnsetAfter.Seconds()*stepsPerS)
	}
	s.lift = r.liftOff()
	s.action, s.actionBy = r.firstAction()
	s.roll = r.rollStart(&s)
	if n.cut >= 0 && s.roll >= 0 {
		s.peak = r.fastest(n.begin, n.end)
		s.stop = r.standstill(s.peak)
	}
	return s
}

// advance is the first step from which the arming rule holds for at least its
// persistence.
func (r *reader) advance() int {
	need := int(r.p.Thrust.Persistence.Seconds() * stepsPerS)
	from := -1
	for n := r.notes.begin; n < r.notes.end; n++ {
		switch {
		case !r.tape.armed[n]:
			from = -1
		case from < 0:
			from = n
		}
		if from >= 0 && n-from >= need {
			return from
		}
	}
	return -1
}

// liftOff is the step at which the wheels leave the ground for good.
func (r *reader) liftOff() int {
	if r.notes.end == 0 || r.tape.wheels[r.notes.end-1] {
		return -1
	}
	n := r.notes.end - 1
	for n > r.notes.begin && !r.tape.wheels[n-1] {
		n--
	}
	return n
}

func (r *reader) firstAction() (int, string) {
	best, by := -1, ""
	for _, a := range []struct {
		step int
		what string
	}{{r.notes.cut, "thrust"}, {r.notes.brakes, "brakes"}, {r.notes.speedbrake, "speedbrake"}, {r.notes.reverse, "reverse"}} {
		if a.step >= 0 && (best < 0 || a.step < best) {
			best, by = a.step, a.what
		}
	}
	return best, by
}

// sustained is how long an acceleration of rollFrom has to last to be the
// start of the roll.
const (
	sustained = 3 * time.Second
	rollFrom  = 0.05 * gravity // m/s²
)

// rollStart is the first step of the acceleration that goes on into the roll;
// -1 when the aircraft stayed below the speed at which it counts as rolled.
func (r *reader) rollStart(s *steps) int {
	limit := r.notes.end
	for _, n := range []int{s.cut, s.lift, s.action} {
		if n >= 0 {
			limit = min(limit, n)
		}
	}
	if r.tape.speed[r.fastest(r.notes.begin, r.notes.end)]/knot < r.p.Attempt.RolledFrom {
		return -1
	}
	from := -1
	for n := r.notes.begin; n < limit; n++ {
		switch {
		case r.tape.accel[n] < rollFrom || r.notes.touch && !r.tape.wheels[n]:
			from = -1
		case from < 0:
			from = n
		}
		if from >= 0 && n-from >= int(sustained.Seconds()*stepsPerS) {
			return from
		}
	}
	return from
}

func (r *reader) fastest(from, to int) int {
	best := from
	for n := from; n < to; n++ {
		if r.tape.speed[n] > r.tape.speed[best] {
			best = n
		}
	}
	return best
}

func (r *reader) standstill(from int) int {
	for n := from; n < r.notes.end; n++ {
		if r.tape.speed[n] == 0 {
			return n
		}
	}
	return -1
}

func (r *reader) outcome(s *steps) string {
	switch {
	case r.notes.touch:
		return truth.TouchAndGo
	case s.lift >= 0:
		return truth.Airborne
	case s.cut >= 0 && s.roll < 0:
		return truth.RejectedNoRoll
	case s.cut >= 0:
		return truth.Rejected
	}
	return truth.Undetermined
}

// measures fills in speeds and distances of a reject.
func (r *reader) measures(a *truth.Attempt, s *steps, at func(*float64, int)) {
	if s.cut < 0 {
		return
	}
	a.GroundSpeedAtCut = r.tape.speed[s.cut] / knot
	if s.roll < 0 {
		a.RejectClass = truth.BeforeRoll
		return
	}
	at(&a.Peak, s.peak)
	at(&a.Stop, s.stop)
	a.PeakGroundSpeed = r.tape.speed[s.peak] / knot
	a.DistanceToCut = r.tape.distance[s.cut] - r.tape.distance[s.roll]
	if s.stop >= 0 {
		a.DistanceToStop = r.tape.distance[s.stop] - r.tape.distance[s.roll]
	}
	a.RejectClass = truth.LowSpeed
	if a.GroundSpeedAtCut >= r.p.Reject.Boundary {
		a.RejectClass = truth.HighSpeed
	}
	a.AgainstV1 = truth.BeforeV1
	// V1 is an airspeed; it is compared with the first action (14 CFR 1.2).
	if r.airspeed(s.action) > r.sim.v1Air() {
		a.AgainstV1 = truth.AfterV1
	}
}

// findings judges every check over its span at the full rate.
func (r *reader) findings(a *truth.Attempt, s *steps) {
	if s.onset < 0 {
		return
	}
	due, dueUntold := false, false
	for i := range r.p.Checks {
		c := &r.p.Checks[i]
		v := r.finding(c, s)
		switch {
		case v.out:
			a.Out = append(a.Out, c.Name)
			if v.atOnset {
				a.OutAtOnset = append(a.OutAtOnset, c.Name)
			}
		case v.untold:
			a.Untold = append(a.Untold, c.Name)
		case v.mixed:
			a.Open = append(a.Open, c.Name)
		}
		due = due || v.out && (c.WarningDue || c.Basis != "" && r.warned(s))
		dueUntold = dueUntold || v.untold && c.WarningDue
	}
	a.Warning = r.warning(s, due, dueUntold)
}

// found is the truth about one check.
type found struct{ out, atOnset, untold, mixed bool }

func (r *reader) finding(c *profile.Check, s *steps) found {
	from, to := r.judged(c, s)
	st := r.stateAt(s.onset)
	step := from
	st.read = func(p flightdata.Parameter) (float64, bool) { return r.told(p, step) }
	need := max(int(c.Persistence.Seconds()*stepsPerS), 1)
	var f found
	run, unknown, longest := 0, 0, 0
	for ; step < to; step++ {
		v := judge(c, st)
		kt := r.tape.speed[step] / knot
		if v.untold {
			unknown++
		}
		if !v.out || kt < c.SpeedFrom || kt >= c.SpeedTo {
			run = 0
			continue
		}
		run++
		if run >= need {
			longest = max(longest, run)
			f.atOnset = f.atOnset || step-run < from
		}
	}
	f.out = longest > 0 && longest >= min(r.resolved(c), to-from)
	f.untold = to > from && unknown == to-from
	f.mixed = !f.untold && !f.out && (unknown > 0 || longest > 0)
	return f
}

// resolved is how many steps a condition must last so that two samples of its
// parameter are sure to show it. Shorter ones, such as a lever on its way
// from one detent to the next, are left open.
func (r *reader) resolved(c *profile.Check) int {
	rule := r.p.Find(c.Watched())
	if rule == nil {
		return 1
	}
	rate := rule.Rate
	if rate <= 0 {
		rate = channelOf(c.Watched()).rate
	}
	return int(2 / rate * stepsPerS)
}

// judged is the span of steps over which a check is judged.
func (r *reader) judged(c *profile.Check, s *steps) (from, to int) {
	from, to = s.onset, r.notes.end
	if c.Judged.From == "roll start" && s.roll >= 0 {
		from = max(from, s.roll)
	}
	ends := []int{s.lift, s.cut, s.action}
	if c.Judged.To != "lift-off" {
		ends = append(ends, s.rotation)
	}
	for _, n := range ends {
		if n >= 0 {
			to = min(to, n)
		}
	}
	return from, to
}

func (r *reader) stateAt(onset int) *state {
	st := &state{planned: r.planned, states: stateIndex(r.p)}
	st.onset = func(p flightdata.Parameter) (float64, bool) { return r.told(p, onset) }
	return st
}

// told is the value of a parameter at a step, if the data of the file can
// tell it: recorded, or in the flight list.
func (r *reader) told(p flightdata.Parameter, step int) (float64, bool) {
	recorded := r.p.Find(p) != nil && !r.lost[p]
	v, ok := r.tape.at(p, step)
	if recorded {
		return v, ok
	}
	listed := p == flightdata.GrossWeight || p == flightdata.CenterOfGravity
	if listed && !r.noPlan {
		return v, ok
	}
	return 0, false
}

// warned says whether the warning sounded in the attempt.
func (r *reader) warned(s *steps) bool {
	to := r.notes.end
	for _, n := range []int{s.cut, s.lift} {
		if n >= 0 {
			to = min(to, n)
		}
	}
	for n := r.notes.begin; n < to; n++ {
		if r.tape.warning[n] {
			return true
		}
	}
	return false
}

// warning is the verdict of the cross-check. No warning proves nothing while
// a check that could have caused one cannot be told.
func (r *reader) warning(s *steps, due, untold bool) string {
	w := r.p.Warning
	switch {
	case w == nil || r.lost[w.Parameter] || r.p.Find(w.Parameter) == nil:
		return truth.WarnUnknown
	case r.warned(s) && due:
		return truth.WarnBoth
	case r.warned(s):
		return truth.WarnOnly
	case due:
		return truth.WarnCondition
	case untold:
		return truth.WarnUnknown
	}
	return truth.WarnNeither
}

func (r *reader) airspeed(step int) float64 {
	if v, ok := r.tape.at(flightdata.Airspeed, step); ok {
		return v
	}
	return r.tape.speed[step] / knot
}
