package synth

import (
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/sampledata/truth"
)

// findWindows narrows each look-alike to where the arming rule was met.
func (f *flight) findWindows() {
	for i := range f.alike {
		a := &f.alike[i]
		from, to, run, longest := -1, -1, 0, 0
		for n := a.from; n < a.to; n++ {
			if !f.sim.tape.armed[n] {
				run = 0
				continue
			}
			if from < 0 {
				from = n
			}
			to = n + 1
			run++
			longest = max(longest, run)
		}
		a.from, a.to = from, to
		if seconds(longest) < f.p.Thrust.Persistence.Seconds()+persistenceTold {
			a.kind = truth.TooShort // reverse thrust may last no longer
		}
	}
	kept := f.alike[:0]
	for _, a := range f.alike {
		if a.from >= 0 { // a landing without reverse never met the rule
			kept = append(kept, a)
		}
	}
	f.alike = kept
}

// persistenceTold is how much longer, in seconds, than the persistence the
// arming rule must be met to be sure of it from samples a second apart, whose
// stamps may jitter.
const persistenceTold = 0.5

// reader reads one attempt off the full-rate state.
type reader struct {
	*flight
	tape  *trace
	notes *attemptNotes
	lost  map[flightdata.Parameter]bool // what the data of the file cannot tell
	rows  *tape                         // the samples; nil: before they are taken
}

// truths are the rows of truth.csv of this flight, with times in seconds of
// the clock of the file; of the simulation while rows is nil.
func (f *flight) truths(file string, lost map[flightdata.Parameter]bool, rows *tape) []truth.Attempt {
	clock := seconds
	if rows != nil {
		clock = rows.clock
	}
	var out []truth.Attempt
	for i := range f.attempts {
		r := reader{flight: f, tape: f.sim.tape, notes: &f.attempts[i], lost: lost, rows: rows}
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
	judged := r.steps()
	s := judged
	if r.shortCut { // it began, and ends all judging, but nobody can tell yet
		s.cut, s.action, s.actionBy, s.peak, s.stop = -1, -1, "", -1, -1
	}
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
		r.findings(&a, &judged)
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
	a.RejectClass = r.class(s, a.GroundSpeedAtCut)
	a.AgainstV1 = truth.BeforeV1
	// V1 is an airspeed; it is compared with the first action (14 CFR 1.2).
	if r.airspeed(s.action) > r.sim.v1Air() {
		a.AgainstV1 = truth.AfterV1
	}
}

// class is by the ground speed at the thrust cut. On hard flights, of which
// nothing keeps the cut off the boundary, it is either when the speeds that the
// samples allow for the cut lie on both sides of it.
func (r *reader) class(s *steps, cut float64) string {
	low, high := cut, cut
	if r.difficulty >= Hard && r.rows != nil {
		low, high = r.speedsAbout(s.cut)
	}
	switch {
	case low >= r.p.Reject.Boundary:
		return truth.HighSpeed
	case high < r.p.Reject.Boundary:
		return truth.LowSpeed
	}
	return truth.EitherClass
}

// speedsAbout are the lowest and highest ground speed, kt, that the file leaves
// possible at a step: those between the samples of the thrust on either side,
// of a speed that may be late and is rounded.
func (r *reader) speedsAbout(step int) (low, high float64) {
	lever := flightdata.ThrustLever.Engine(1)
	if r.p.Find(lever) == nil {
		lever = r.p.Thrust.Measure.Engine(1)
	}
	early, late := step, step
	for _, p := range []flightdata.Parameter{lever, flightdata.GroundSpeed} {
		if seen := r.rows.seen[p]; seen != nil {
			before, after := seen.around(step, step)
			early, late = min(early, max(before, 0)), max(late, min(after, step+2*seen.period))
		}
	}
	early -= r.cond.lag
	low, high = math.Inf(1), 0
	for n := max(early, 0); n <= min(late, len(r.tape.speed)-1); n++ {
		low, high = min(low, r.tape.speed[n]/knot), max(high, r.tape.speed[n]/knot)
	}
	half := float64(quantumOf(flightdata.GroundSpeed) * r.cond.coarseness())
	return low - half, high + half
}
