package synth

import (
	"rollonset/ingest/flightdata"
)

// reject stops the aircraft: thrust, brakes, speedbrake, reverse, in the
// order of the recipe.
func (f *flight) reject(a *attemptNotes) {
	s := f.sim
	if f.ending == rejectRotated {
		f.noseUpAndDown(a)
	}
	start := s.now()
	cutAt, brakesAt := 0.0, f.rnd.between(0.6, 1.2)
	if f.brakesFirst {
		cutAt, brakesAt = f.rnd.between(2.5, 3.5), 0
	}
	still := s.speed < 1
	force := min(0.35+float64(s.speed/100), 1)
	speedbrakeAt, reverseAt := cutAt+f.rnd.between(1.3, 2), cutAt+f.rnd.between(1.6, 2.4)
	at := func(t float64) bool { return s.now() == start+int(t*stepsPerS) }
	f.run(150, func() {
		switch {
		case at(cutAt):
			a.cut = s.now()
			s.warn.silenced = true
			s.leverRate = 2
			f.levers(0)
		case at(brakesAt) && !still:
			a.brakes = s.now()
			s.brakeTo = force
		case at(speedbrakeAt) && !still && f.p.Find(flightdata.SpeedbrakeLever) != nil:
			a.speedbrake = s.now()
			s.conf.set(flightdata.SpeedbrakeLever, f.speedbrakeOut())
		case at(reverseAt) && s.speed/knot > 70 && f.reverses():
			a.reverse = s.now()
			f.deploy()
		}
		f.reverseThrust()
	}, func() bool { return a.cut >= 0 && s.speed == 0 && s.now() > a.cut+5*stepsPerS })
	f.afterStop()
}

// noseUpAndDown is the rotation of a reject that comes after it.
func (f *flight) noseUpAndDown(a *attemptNotes) {
	s := f.sim
	a.rotation = s.now()
	s.warn.silenced = true
	s.pitchTo, s.pitchRate = 4.5, 2.5
	f.wait(f.rnd.between(1.8, 2.2))
	s.pitchTo, s.pitchRate = 0, 2
}

// reverses says whether the aircraft has reversers that the profile records.
func (f *flight) reverses() bool {
	return f.p.Find(flightdata.ThrustReverser.Engine(1)) != nil
}

func (f *flight) deploy() {
	for i := range f.sim.engines {
		f.sim.engines[i].deploy()
	}
}

// reverseThrust works the levers while reversers are out: up once deployed,
// idle below 65 kt, stowed at taxi speed.
func (f *flight) reverseThrust() {
	s := f.sim
	for i := range s.engines {
		e := &s.engines[i]
		if e.reverse != 2 {
			continue
		}
		switch {
		case s.speed/knot > 65:
			f.lever(i, 0.6)
		case s.speed/knot > 30:
			f.lever(i, 0)
		default:
			e.reverse = 0
		}
	}
}

// afterStop stands for a while with everything put away.
func (f *flight) afterStop() {
	s := f.sim
	s.brakeTo = 0.5
	f.wait(10)
	s.conf.set(flightdata.SpeedbrakeLever, f.healthy(flightdata.SpeedbrakeLever))
	if s.conf.value(flightdata.ParkingBrake) == 1 {
		s.conf.set(flightdata.ParkingBrake, 0)
	}
	s.leverRate = leverSpeed
	for i := range s.engines {
		s.engines[i].reverse = 0
	}
	if f.long {
		f.wait(30)
	}
	s.brakeTo = 0
	if !f.retry {
		f.taxi(20, 12, 4, nil)
	}
}

// rotateAndClimb raises the nose, leaves the ground, and climbs out.
func (f *flight) rotateAndClimb(a *attemptNotes, devs []deviation) {
	s := f.sim
	a.rotation = s.now()
	s.warn.silenced = true
	s.pitchTo, s.pitchRate = f.m.rotateTo, 2.8
	r := &rollout{flight: f, devs: devs}
	if !f.run(40, r.deviateOnTime, func() bool { return !s.ground }) {
		s.pitchTo = f.m.rotateTo + 6 // a wrong flap needs a higher nose
		f.run(20, nil, func() bool { return !s.ground })
	}
	if f.bounce {
		f.bounceOnce()
	}
	f.climbOut(a)
}

// bounceOnce lets the wheels touch again just after they left the ground.
func (f *flight) bounceOnce() {
	s := f.sim
	f.wait(0.6)
	s.ground, s.height, s.climb = true, 0, 0
	pitch := s.pitch
	s.pitch = min(pitch, 3)
	s.pitchTo = s.pitch // not enough to fly
	f.wait(0.8)
	s.pitchTo = f.m.rotateTo
	s.pitchRate = 6
	f.run(20, nil, func() bool { return !s.ground })
	s.pitchRate = 2.8
}

// climbOut climbs, retracting flaps on the way.
func (f *flight) climbOut(a *attemptNotes) {
	s := f.sim
	climbFor := 45.0
	if f.long {
		climbFor = 100
	}
	start := s.now()
	f.run(climbFor, func() {
		ft := s.forces()
		spare := (s.thrust(s.speed) - float64(0.5*seaLevel*(s.speed+s.wind)*(s.speed+s.wind)*s.body.wing*ft.cd)) / (s.body.mass * gravity)
		goal := min(max(0.8*spare, 0.02), 0.16)
		s.climb = toward(s.climb, goal, 0.018*dt)
		if seconds(s.now()-start) > 25 {
			s.conf.set(flightdata.FlapLever, 0)
		}
	}, nil)
	a.end = s.now()
}
