package synth

import (
	"rollonset/ingest/flightdata"
)

// takeOff plays one attempt from the line-up: thrust, roll, and the ending.
func (f *flight) takeOff(devs []deviation) {
	s := f.sim
	a := &f.attempts[len(f.attempts)-1]
	*a = attemptNotes{begin: s.now(), rotation: -1, cut: -1, brakes: -1, speedbrake: -1, reverse: -1, rolling: f.start == rolling}
	s.warn.inhibited, s.warn.silenced = false, false
	if f.ending == noAttempt {
		f.attempts = f.attempts[:len(f.attempts)-1]
		f.taxi(30, 10, 0, nil)
		f.stopNow()
		return
	}
	f.atLineUp(devs)
	r := &rollout{flight: f, notes: a, devs: devs, target: f.takeoffShare()}
	r.plan()
	f.run(120, r.step, r.done)
	if f.ending == dataEnds {
		a.end = s.now()
		return
	}
	if r.giveUp {
		f.reject(a)
	} else {
		f.rotateAndClimb(a, devs)
	}
	a.end = s.now()
}

// atLineUp applies what happens just before the thrust.
func (f *flight) atLineUp(devs []deviation) {
	s := f.sim
	for i := range devs {
		d := &devs[i]
		if d.from.kind == atLineUp {
			f.deviate(d)
			s.drag = f.brakeDrag()
			f.keepRolling(3)
		}
		if d.to.kind == atLineUp {
			f.putRight(d)
			f.keepRolling(f.rnd.between(0.8, 2.8))
		}
	}
	if f.start == held || f.ending == rejectStill && s.conf.value(flightdata.ParkingBrake) == 0 {
		s.brakeTo = 1
	} else {
		s.brakeTo = 0
	}
}

func (f *flight) keepRolling(seconds float64) {
	if f.start == rolling {
		f.taxi(seconds, 9, 0, nil)
		return
	}
	f.wait(seconds)
}

// brakeDrag is the friction of the parking brake: enough to hold against
// everything, to creep under it, or to drag along.
func (f *flight) brakeDrag() float64 {
	thrust := f.m.thrustRatio * f.sim.heavy() / f.sim.body.mass
	switch f.manner {
	case walking:
		return 0.6 * thrust
	case dragged:
		return 0.25 * thrust
	}
	return 1.5 * thrust
}

// takeoffShare is the thrust that this takeoff is made with.
func (f *flight) takeoffShare() float64 {
	if f.setting == reduced {
		return f.rnd.between(0.78, 0.86)
	}
	return f.rnd.between(0.94, 1)
}

// rollout is the control of one takeoff roll.
type rollout struct {
	*flight
	notes  *attemptNotes
	devs   []deviation
	target float64 // share of thrust

	began      int     // step of the first lever movement
	advanced   int     // step at which the arming rule was met, -1 before
	pause      float64 // share at which the levers rest on their way
	pauseFor   float64
	pausedFrom int
	lag        float64 // s by which the second half of the engines follows
	cutSpeed   float64 // kt at which a reject starts
	reaction   float64 // s from the warning, or from the advance, to a reject
	warned     int     // steps with the warning on
	brakeOff   int     // step at which held brakes are released
	failAt     float64 // kt, of engine loss
	giveUp     bool
}

// plan draws when things happen.
func (r *rollout) plan() {
	r.began, r.advanced, r.brakeOff, r.pausedFrom = r.sim.now(), -1, -1, -1
	r.sim.leverRate = r.rnd.between(0.15, 0.3)
	r.reaction = r.rnd.between(1.2, 2)
	if r.setting == stabilised {
		r.pause, r.pauseFor = 0.7*r.sim.threshold, r.rnd.between(2, 3)
		if r.rnd.chance(0.5) {
			r.pause = min(1.3*r.sim.threshold, 0.9)
		}
	}
	if r.setting == split {
		r.lag, r.sim.leverRate = r.rnd.between(3, 4), 0.15
	}
	boundary := r.p.Reject.Boundary
	switch r.ending {
	case rejectLow:
		r.cutSpeed = r.rnd.between(25, boundary-12)
		if r.manner == corrected || r.manner == arises || r.movesInRoll() {
			r.cutSpeed = boundary - 5
		}
	case rejectHigh:
		r.cutSpeed = r.rnd.between(boundary+6, max(r.sim.v1-6, boundary+8))
	case rejectPastV1:
		r.cutSpeed = r.rnd.between(r.sim.v1+3, max(r.sim.vr-1, r.sim.v1+3.5))
	case dataEnds:
		r.cutSpeed = r.rnd.between(50, 90)
	case engineLoss:
		r.failAt = r.sim.v1 + 1
	}
}

// movesInRoll says whether the check watches for a movement.
func (r *rollout) movesInRoll() bool {
	for i := range r.devs {
		if r.devs[i].from.kind == atSpeed {
			return true
		}
	}
	return false
}

// step gives the controls for the next step of the roll.
func (r *rollout) step() {
	s := r.sim
	r.setThrust()
	if s.armed() && r.advanced < 0 {
		r.advanced = s.now()
	}
	if s.warn.on {
		r.warned++
	}
	r.brakes()
	r.falseAlarm()
	r.deviateOnTime()
	if r.failAt > 0 && s.speed/knot >= r.failAt {
		s.engines[len(s.engines)-1].failed = true
		s.masterUntil = s.now() + 5*stepsPerS
		r.failAt = 0
	}
}

// falseAlarm lets a warning with a fault of its own sound for some seconds:
// in the roll, or under the thrust of an attempt that is given up before it.
func (r *rollout) falseAlarm() {
	s := r.sim
	if s.warn.mode != falseWarning || s.warn.falseTill > 0 || r.advanced < 0 {
		return
	}
	still := r.ending == rejectStill && seconds(s.now()-r.advanced) >= 2
	if still || s.speed/knot >= 40 {
		s.warn.falseFrom, s.warn.falseTill = s.now(), s.now()+5*stepsPerS
	}
}

// setThrust moves the levers: straight to the target, with a pause, or half
// of the engines first.
func (r *rollout) setThrust() {
	s := r.sim
	since := seconds(s.now() - r.began)
	for i := range s.engines {
		late := r.setting == split && !leads(i, len(s.engines))
		switch {
		case late && since < r.lag:
			r.lever(i, r.m.idle)
		case r.pause > 0 && (r.pausedFrom < 0 || seconds(s.now()-r.pausedFrom) < r.pauseFor):
			r.lever(i, r.pause)
			if r.pausedFrom < 0 && s.engines[0].share >= 0.95*r.pause {
				r.pausedFrom = s.now()
			}
		default:
			r.lever(i, r.target)
		}
	}
}

// leads says whether engine i is of the half that is advanced first: the
// inner ones of four, the first of two.
func leads(i, n int) bool {
	if n == 4 {
		return i == 1 || i == 2
	}
	return i < n/2
}

// brakes releases held brakes once the thrust is set.
func (r *rollout) brakes() {
	s := r.sim
	if r.ending == rejectStill && s.brakeTo == 1 {
		return // given up before the brakes come off
	}
	if s.brakeTo != 1 {
		return
	}
	if r.advanced >= 0 && seconds(s.now()-r.advanced) >= 4 {
		s.brakeTo = 0
	}
}

// deviateOnTime starts and ends deviations that are due in the roll.
func (r *rollout) deviateOnTime() {
	for i := range r.devs {
		d := &r.devs[i]
		if !d.on && r.met(d.from) {
			r.deviate(d)
		}
		if d.on && !d.off && r.met(d.to) {
			r.putRight(d)
		}
	}
}

func (r *rollout) met(t trigger) bool {
	s := r.sim
	switch t.kind {
	case atSpeed:
		return s.speed/knot >= t.value
	case aboutOnset:
		// The onset itself is not known yet: levers take about as long to the
		// arming threshold as the persistence takes after it.
		return seconds(s.now()-r.began) >= t.value+2
	case afterThrust:
		return r.advanced >= 0 && seconds(s.now()-r.advanced) >= t.value && s.speed/knot >= 2
	}
	return false
}

// done says whether the roll is over: rotation speed, a reject, or the end of
// the data.
func (r *rollout) done() bool {
	s := r.sim
	kt := s.speed / knot
	under := r.advanced >= 0 && seconds(s.now()-r.advanced) >= 6
	switch r.ending {
	case rejectStill:
		told := float64(r.warned) >= r.reaction*stepsPerS || !s.warn.on
		r.giveUp = under && told
		return r.giveUp
	case rejectLow, rejectHigh, rejectPastV1:
		r.giveUp = under && kt >= r.cutSpeed
		return r.giveUp
	case rejectRotated:
		r.giveUp = kt >= s.vr
		return r.giveUp
	case dataEnds:
		return under && kt >= r.cutSpeed
	}
	return kt >= s.vr
}
