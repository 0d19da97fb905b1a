package synth

import (
	"math"

	"rollonset/ingest/flightdata"
)

// run steps the simulator until done says so, or for at most the given
// seconds; it says whether done was reached. fly, when not nil, is asked for
// controls before each step.
func (f *flight) run(atMost float64, fly func(), done func() bool) bool {
	for n := 0; float64(n) < atMost*stepsPerS; n++ {
		if done != nil && done() {
			return true
		}
		if fly != nil {
			fly()
		}
		f.sim.step()
	}
	return done != nil && done()
}

func (f *flight) wait(seconds float64) { f.run(seconds, nil, nil) }

// levers commands all engines to a share of static thrust.
func (f *flight) levers(share float64) {
	for i := range f.sim.engines {
		f.lever(i, share)
	}
}

func (f *flight) lever(i int, share float64) {
	f.sim.engines[i].command = min(max((float64(share)-f.m.idle)/(1-f.m.idle), 0), 1)
}

// play plays the whole recipe.
func (f *flight) play() {
	switch {
	case f.departs():
		f.gate()
		f.taxiOut()
		f.tryAgain()
	default:
		f.approach()
		if f.ending == touches {
			f.touchAndGo()
		} else {
			f.landing()
		}
	}
	f.findWindows()
}

// gate is the stand: parking brake set, surfaces up, controls tried once, so
// that the recording shows that their sensors live.
func (f *flight) gate() {
	s := f.sim
	s.drag = fullBraking
	f.home()
	s.conf.set(flightdata.ParkingBrake, 1)
	s.conf.settle()
	f.wait(f.rnd.between(8, 12))
	s.conf.set(flightdata.SpeedbrakeLever, f.speedbrakeOut())
	s.conf.set(flightdata.RudderTrim, 4)
	f.wait(4)
	s.conf.set(flightdata.SpeedbrakeLever, 0)
	s.conf.set(flightdata.RudderTrim, f.healthy(flightdata.RudderTrim))
	f.wait(f.rnd.between(5, 9))
	s.conf.set(flightdata.ParkingBrake, 0)
	f.wait(2)
}

// home is the configuration of an aircraft that has just been started: what
// the takeoff needs is not yet set.
func (f *flight) home() {
	for i := range f.sim.conf.slots {
		p := f.sim.conf.slots[i].param
		switch p.Base() {
		case flightdata.FlapLever, flightdata.FlapPosition, flightdata.SlatPosition, flightdata.Autobrake:
			f.sim.conf.set(p, 0)
		case flightdata.StabilizerTrim:
			f.sim.conf.set(p, f.healthy(p)+0.8)
		default:
			f.sim.conf.set(p, f.otherAtGate(p))
		}
	}
}

// otherAtGate is the value at the gate: locks of the profile's own are
// engaged there, so that both of their states are seen.
func (f *flight) otherAtGate(p flightdata.Parameter) float64 {
	if _, core := flightdata.Define(p); core {
		return f.healthy(p)
	}
	if r := f.p.Find(p); r != nil && r.Kind == flightdata.Discrete && len(r.States) == 2 {
		return 1 - f.healthy(p)
	}
	return f.healthy(p)
}

// setUp sets the configuration for takeoff, with the deviations of the recipe
// that are there from the start.
func (f *flight) setUp(devs []deviation) {
	s := f.sim
	for i := range s.conf.slots {
		p := s.conf.slots[i].param
		switch p.Base() {
		case flightdata.FlapPosition, flightdata.SlatPosition, flightdata.SpoilerPosition, flightdata.MainGearSteering:
			continue // they follow, or the turns move them
		}
		s.conf.set(p, f.healthy(p))
	}
	for i := range devs {
		if devs[i].from.kind == atSetup {
			f.deviate(&devs[i])
		}
	}
}

func (f *flight) deviate(d *deviation) {
	d.on = true
	if d.jam {
		f.sim.conf.jam(d.param, d.value)
		return
	}
	f.sim.conf.set(d.param, d.value)
}

func (f *flight) putRight(d *deviation) {
	d.off = true
	f.sim.conf.free(d.param)
	if !d.jam {
		f.sim.conf.set(d.param, f.healthy(d.param))
	}
}

// taxi drives for some seconds towards a speed in kt, turning at a rate in
// deg/s, on the given engines (nil: all).
func (f *flight) taxi(duration, kt, rate float64, on []int) {
	s := f.sim
	s.turn = rate
	f.steer(rate)
	friction := freeWheels + s.body.slope
	hold := friction * s.body.mass * gravity / (f.m.thrustRatio * s.heavy() * gravity)
	if on != nil {
		hold *= float64(len(s.engines)) / float64(len(on))
	}
	f.run(duration, func() {
		gap := float64(kt*knot) - s.speed
		share := min(max(hold+float64(0.03*gap), f.m.idle), 0.8*s.threshold)
		s.brakeTo = min(max(-0.15*(gap+0.7), 0), 0.6)
		for i := range s.engines {
			if on == nil || holds(on, i) {
				f.lever(i, share)
			} else {
				f.lever(i, 0)
			}
		}
	}, nil)
	s.turn, s.brakeTo = 0, 0
	f.steer(0)
}

// steer lets a steerable main gear follow a tight turn.
func (f *flight) steer(rate float64) {
	f.sim.conf.set(flightdata.MainGearSteering, truthOf(math.Abs(rate) > 2))
}

func holds(list []int, i int) bool {
	for _, v := range list {
		if v == i {
			return true
		}
	}
	return false
}

// stopNow brakes to a standstill.
func (f *flight) stopNow() {
	f.levers(0)
	f.sim.brakeTo = 0.3
	f.run(60, nil, func() bool { return f.sim.speed == 0 })
	f.wait(3)
}

// taxiOut goes from the gate to the holding point: turns, look-alikes, and
// the configuration set on the way.
func (f *flight) taxiOut() {
	stretch := 10.0
	if f.long {
		stretch = f.rnd.between(120, 200)
	}
	var on []int
	if f.has(oneEngine) {
		on = f.shutDown()
	}
	f.taxi(8, 6, 0, on)
	f.taxi(f.rnd.between(12, 18), 9, -5, on)
	devs := f.deviations()
	f.setUp(devs)
	f.taxi(stretch, 16, 0, on)
	f.taxi(f.rnd.between(12, 16), 9, 6, on)
	if on != nil {
		f.restart()
	}
	for range 10 { // nothing that arms the warning before the flaps are out
		if s := f.sim.conf; !s.settled() {
			f.taxi(6, 12, 0, nil)
		}
	}
	f.preludes()
	f.taxi(stretch, 17, 0, nil)
	f.attempts = append(f.attempts, attemptNotes{})
	f.lineUp()
	f.takeOff(devs)
}

func (f *flight) has(p prelude) bool {
	for _, b := range f.before {
		if b == p {
			return true
		}
	}
	return false
}

// shutDown stops half of the engines, at least one, for taxi.
func (f *flight) shutDown() []int {
	n := len(f.sim.engines)
	var on []int
	for i := range f.sim.engines {
		if i < (n+1)/2 {
			on = append(on, i)
			continue
		}
		f.sim.engines[i].failed = true
	}
	return on
}

func (f *flight) restart() {
	for i := range f.sim.engines {
		f.sim.engines[i].failed = false
	}
	f.stopNow()
	f.wait(10)
	f.sim.brakeTo = 0
}

// preludes plays what looks like an attempt.
func (f *flight) preludes() {
	s := f.sim
	for _, p := range f.before {
		from := s.now()
		switch p {
		case burst:
			f.taxiBurst(3.2)
			f.alike = append(f.alike, alikeNotes{"taxi burst", from, s.now()})
		case shortBurst:
			f.taxiBurst(0.7)
			f.alike = append(f.alike, alikeNotes{"too short", from, s.now()})
		case runUp:
			f.standingThrust(1.4*s.threshold, f.rnd.between(25, 35))
			f.alike = append(f.alike, alikeNotes{"run-up", from, s.now()})
		case antiIce:
			f.standingThrust(0.6*s.threshold, f.rnd.between(15, 20))
		case taxiTurnStrong:
			f.taxi(12, 14, 5, nil)
		}
	}
}

// taxiBurst opens the levers in a turn until the arming rule has been met for
// the given seconds, brakes holding the speed down.
func (f *flight) taxiBurst(armedFor float64) {
	s := f.sim
	f.taxi(10, 6, 0, nil)
	s.turn = 5
	f.steer(5)
	s.leverRate = 0.6
	f.levers(1.25 * s.threshold)
	steps := 0
	f.run(15, func() {
		switch { // fast enough to be seen moving, slow enough for the turn
		case s.speed > 7:
			s.brakeTo = 0.9
		case s.speed > 5:
			s.brakeTo = 0.3
		default:
			s.brakeTo = 0
		}
		if s.armed() {
			steps++
		}
	}, func() bool { return float64(steps) >= armedFor*stepsPerS })
	s.leverRate = 2
	f.levers(0)
	s.brakeTo = 0.25
	f.wait(4)
	s.turn, s.brakeTo, s.leverRate = 0, 0, leverSpeed
	f.steer(0)
	f.taxi(15, 8, 0, nil)
}

// standingThrust holds the aircraft on its brakes under a share of thrust.
func (f *flight) standingThrust(share, duration float64) {
	s := f.sim
	f.stopNow()
	s.brakeTo = 1
	f.wait(2)
	f.levers(share)
	f.wait(duration)
	f.levers(0)
	f.wait(8)
	s.brakeTo = 0
}

// lineUp turns onto the runway; it ends standing or at taxi speed.
func (f *flight) lineUp() {
	s := f.sim
	f.stopNow()
	f.wait(f.rnd.between(6, 10))
	turns := f.rnd.between(85, 95)
	rate := 5.0
	s.brakeTo = 0
	f.taxi(4, 7, 0, nil)
	f.taxi(turns/rate, 9, rate, nil)
	s.heading = f.runway
	f.taxi(10, 9, 0, nil)
	if f.start != rolling {
		f.stopNow()
		f.wait(f.rnd.between(5, 9))
	}
}

// tryAgain plays a second attempt, with everything put right, when the recipe
// wants one.
func (f *flight) tryAgain() {
	if !f.retry {
		return
	}
	s := f.sim
	f.wait(20)
	for i := range s.conf.slots {
		s.conf.free(s.conf.slots[i].param)
	}
	if f.ending != rejectStill {
		f.taxi(14, 10, 13, nil) // backtrack
		f.taxi(25, 18, 0, nil)
		f.stopNow()
	}
	first := f.recipe
	f.ending, f.start, f.brakesFirst = flies, standing, false
	f.setUp(nil)
	f.wait(20)
	f.attempts = append(f.attempts, attemptNotes{})
	s.heading = f.runway
	f.lineUp()
	f.takeOff(nil)
	f.recipe = first
}
