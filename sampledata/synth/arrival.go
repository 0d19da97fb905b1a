package synth

import (
	"rollonset/ingest/flightdata"
)

// approach puts the aircraft on final at 300 m and flies it to the touchdown.
func (f *flight) approach() {
	s := f.sim
	f.home()
	landing := f.m.detent(f.m.landingFlap)
	s.conf.set(flightdata.FlapLever, landing.lever)
	for i := range s.conf.slots {
		if p := s.conf.slots[i].param; p.Base() != flightdata.FlapLever && p.Base() != flightdata.FlapPosition && p.Base() != flightdata.SlatPosition {
			s.conf.set(p, f.healthy(p))
		}
	}
	s.conf.settle()
	s.warn.inhibited = true
	s.ground, s.height, s.climb, s.pitch = false, 300, -0.052, 3
	stall := squareRoot(2 * s.body.mass * gravity / (seaLevel * s.body.wing * (f.m.clMax + float64(f.m.clFlap*f.m.landingFlap))))
	reference := float64(1.3*stall) - s.wind
	s.speed = reference
	for i := range s.engines {
		s.engines[i].share = 0.25 * s.threshold
	}
	full := f.m.thrustRatio * s.heavy() * gravity
	f.run(200, func() {
		fs := s.forces()
		air := s.speed + s.wind
		pull := float64(0.3*(reference-s.speed)) + float64(gravity*s.climb)
		need := float64(0.5*seaLevel*air*air*s.body.wing*fs.cd) + float64(s.body.mass*pull)
		f.levers(min(max(need/full/0.85, f.m.idle), 0.85*s.threshold))
		if s.height < 12 {
			s.climb = toward(s.climb, -0.012, 0.02*dt)
			s.pitchTo, s.pitchRate = 5, 1
			f.levers(0)
		}
	}, func() bool { return s.ground })
	s.pitchTo, s.pitchRate = 0, 1.5
}

// landing stops the aircraft after the touchdown and taxies in. Reverse
// thrust above the arming threshold is what looks like an attempt.
func (f *flight) landing() {
	s := f.sim
	from := s.now()
	s.conf.set(flightdata.SpeedbrakeLever, f.speedbrakeOut())
	f.wait(1)
	if f.reverses() {
		f.deploy()
	}
	s.leverRate = 0.6
	f.run(90, func() {
		f.reverseThrust()
		if s.speed/knot < 100 {
			s.brakeTo = 0.45
		}
	}, func() bool { return s.speed/knot < 12 })
	s.brakeTo, s.leverRate = 0, leverSpeed
	f.alike = append(f.alike, alikeNotes{"landing roll", from, s.now()})
	f.levers(0)
	s.conf.set(flightdata.SpeedbrakeLever, f.healthy(flightdata.SpeedbrakeLever))
	f.taxi(12, 12, 6, nil)
	s.conf.set(flightdata.FlapLever, 0)
	if f.long {
		f.taxi(240, 15, 0, nil)
		f.taxi(12, 10, -7, nil)
	}
	f.taxi(60, 15, 0, nil)
	f.stopNow()
	s.drag = fullBraking
	s.conf.set(flightdata.ParkingBrake, 1)
	f.wait(20)
}

// touchAndGo lands, sets the flaps for takeoff on the roll, and goes again.
func (f *flight) touchAndGo() {
	s := f.sim
	s.conf.set(flightdata.FlapLever, f.healthy(flightdata.FlapLever))
	f.levers(0)
	f.wait(f.rnd.between(3, 4))
	f.attempts = append(f.attempts, attemptNotes{begin: s.now(), rotation: -1, cut: -1, brakes: -1, speedbrake: -1, reverse: -1, rolling: true, touch: true})
	a := &f.attempts[0]
	r := &rollout{flight: f, notes: a, target: f.takeoffShare()}
	r.plan()
	s.leverRate = 0.4
	f.run(60, r.step, func() bool { return s.speed/knot >= s.vr && r.advanced >= 0 && seconds(s.now()-r.advanced) > 4 })
	f.rotateAndClimb(a, nil)
	if f.long {
		s.climb = 0.02
		f.wait(300) // on the way round the circuit
	}
	a.end = s.now()
}
