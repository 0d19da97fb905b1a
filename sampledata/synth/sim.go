package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// engine is one engine with its lever. Shares are of full static thrust.
type engine struct {
	lever, command float64 // 0 idle … 1 full
	share          float64
	failed         bool
	reverse        int // state of the reverser: stowed, transit, deployed
	reverseFor     float64
}

// sim is the aircraft in motion. Speeds are m/s, lengths m, angles deg.
type sim struct {
	m    *model
	p    *profile.Profile
	body body
	conf *configuration

	speed, distance, height float64
	pitch, heading, climb   float64 // climb is the flight path angle, as a slope
	accel                   float64 // along the track
	ground                  bool    // wheels on the ground
	wind                    float64 // headwind, m/s
	cg                      float64
	plannedFlap             float64
	v1, vr                  float64 // kt, over the ground
	elevation               float64 // ft
	x, y                    float64 // m east and north of the gate

	engines   []engine
	leverRate float64
	brake     float64 // pedal, 0…1
	brakeTo   float64
	drag      float64 // friction of a set parking brake
	turn      float64 // deg/s
	pitchTo   float64
	pitchRate float64

	threshold   float64 // share of thrust at which the arming rule is met
	warn        warningUnit
	masterUntil int // step until which the master warning stays on
	tape        *trace
}

// leverSpeed is the usual speed of thrust levers: full travel in 4 s.
const leverSpeed = 0.25

// now is the number of the next step to be recorded.
func (s *sim) now() int { return len(s.tape.speed) }

// step moves everything on by 1/64 s and records the new state.
func (s *sim) step() {
	s.conf.step()
	s.moveEngines()
	s.brake = toward(s.brake, s.brakeTo, 3*dt)
	s.pitch = toward(s.pitch, s.pitchTo, s.pitchRate*dt)
	if s.ground && s.speed > 0 || !s.ground {
		s.heading = wrap(s.heading + float64(s.turn*dt))
	}
	s.move()
	s.warn.step(s)
	s.tape.record(s)
}

func wrap(deg float64) float64 {
	switch {
	case deg < 0:
		return deg + 360
	case deg >= 360:
		return deg - 360
	}
	return deg
}

// moveEngines moves levers to their command and lets the engines follow:
// slowly from idle, faster with speed, as a spool does.
func (s *sim) moveEngines() {
	for i := range s.engines {
		e := &s.engines[i]
		e.lever = toward(e.lever, e.command, s.leverRate*dt)
		want := s.m.idle + float64((1-s.m.idle)*e.lever)
		if e.failed {
			want = 0
		}
		gap := (want - e.share) / 0.6 // first order near the end
		up := s.m.spoolUp + float64(s.m.spoolMore*e.share)
		e.share += float64(min(max(gap, -s.m.spoolDown), up) * dt)
		e.moveReverser()
	}
}

const reverserTime = 1.5 // s from stowed to deployed

func (e *engine) moveReverser() {
	if e.reverse != 1 {
		return
	}
	if e.reverseFor += dt; e.reverseFor >= reverserTime {
		e.reverse = 2
	}
}

// deploy starts the reverser doors; stow closes them at once.
func (e *engine) deploy() {
	if e.reverse == 0 {
		e.reverse, e.reverseFor = 1, 0
	}
}

// thrust is the thrust of all engines at a ground speed. A deployed reverser
// turns 45 % of it round (common practice, no published source).
func (s *sim) thrust(v float64) float64 {
	full := s.m.thrustRatio * s.heavy() * gravity / float64(len(s.engines))
	loss := max(1-float64(s.m.lapse*(v+s.wind)), 0.3)
	sum := 0.0
	for i := range s.engines {
		e := &s.engines[i]
		share := e.share
		switch e.reverse {
		case 1:
			share = 0
		case 2:
			share *= -0.45
		}
		sum += float64(share * full)
	}
	return sum * loss
}

// heavy is the largest weight, to which thrust and wing belong.
func (s *sim) heavy() float64 {
	_, high := s.m.weightRange(s.p)
	return high
}

// Friction of free wheels and of full braking on dry concrete: inside the
// published ranges (rolling 0.02 at most on concrete, braking 0.30 to 0.35,
// a tyre that does not roll about 0.8).
const (
	freeWheels   = 0.015
	fullBraking  = 0.34
	standingGrip = 0.75
)

func (s *sim) move() {
	f := s.forces()
	if s.ground {
		thrust := s.thrust
		var d float64
		s.speed, d, s.accel = s.body.advance(f, s.speed, dt, thrust)
		s.travel(d)
		if s.body.lift(&f, s.speed) >= s.body.mass*gravity && s.pitch > 3 {
			s.ground = false
		}
		return
	}
	s.fly(f)
}

func (s *sim) forces() forces {
	spoiled := s.conf.value(flightdata.SpoilerPosition) > 30
	cl := s.m.clGround + float64(s.m.clPerDegree*max(s.pitch, 0)) + float64(0.4*s.m.clFlap*s.conf.value(flightdata.FlapPosition))
	cd := s.m.cdGround + float64(0.05*cl*cl)
	if spoiled {
		cl, cd = 0.2*cl, cd+0.06
	}
	f := forces{cl: cl, cd: cd, wind: s.wind, air: !s.ground}
	f.braking = fullBraking * s.brake
	if s.speed == 0 && s.brake == 1 {
		f.braking = standingGrip
	}
	if s.conf.value(flightdata.ParkingBrake) == 1 {
		f.braking += s.drag
	}
	return f
}

// fly moves the aircraft along its flight path; the path is commanded by the
// pilot, the speed follows from the forces.
func (s *sim) fly(f forces) {
	f.thrust = s.thrust(s.speed)
	s.accel = s.body.accel(&f, s.speed) - float64(gravity*s.climb)
	d := float64(s.speed * dt)
	s.speed += float64(s.accel * dt)
	s.travel(d)
	s.height += float64(d * s.climb)
	if s.height <= 0 && s.climb <= 0 {
		s.height, s.climb, s.ground = 0, 0, true
	}
}

// travel adds a distance along the heading.
func (s *sim) travel(d float64) {
	s.distance += d
	if d == 0 {
		return
	}
	sin, cos := s.tape.direction(s.heading)
	s.x += float64(d * sin)
	s.y += float64(d * cos)
}

// advanced counts the engines whose measure is at or above the arming
// threshold of the profile.
func (s *sim) advanced() int {
	n := 0
	for i := range s.engines {
		if s.measure(i) >= s.p.Thrust.Threshold {
			n++
		}
	}
	return n
}

func (s *sim) armed() bool {
	return s.ground && s.advanced() >= s.p.Thrust.Engines.Need(len(s.engines))
}

// measure is the arming measure of engine i, as its instrument shows it.
func (s *sim) measure(i int) float64 {
	if s.p.Thrust.Measure == flightdata.ThrustLever {
		return s.engines[i].lever * leverFull(s.p)
	}
	return s.m.indication(s.p.Thrust.Measure, s.engines[i].share)
}

// read is the value of any parameter of the profile in its canonical unit; a
// discrete gives the index of its state.
func (s *sim) read(p flightdata.Parameter) float64 {
	i := p.EngineNumber() - 1
	switch base := p.Base(); base {
	case flightdata.N1, flightdata.EPR, flightdata.Torque:
		return s.m.indication(base, s.engines[i].share)
	case flightdata.ThrustLever:
		return s.engines[i].lever * leverFull(s.p)
	case flightdata.ThrustReverser:
		return float64(s.engines[i].reverse)
	case flightdata.GroundSpeed:
		return s.speed / knot
	case flightdata.Airspeed:
		return max(s.speed+s.wind, 0) / knot
	case flightdata.LongAcceleration:
		// The accelerometer also feels the weight along the fuselage; for
		// these angles the sine is the angle.
		return s.accel/gravity + float64(s.pitch*math.Pi/180) + s.body.slope
	case flightdata.RadioHeight:
		return s.height / foot
	case flightdata.BrakePressure:
		return 3000 * s.brake
	case flightdata.GrossWeight:
		return s.body.mass
	}
	return s.readRest(p)
}

func (s *sim) readRest(p flightdata.Parameter) float64 {
	switch p.Base() {
	case flightdata.AirGround:
		return truthOf(!s.ground)
	case flightdata.PressureAltitude:
		return s.elevation + s.height/foot
	case flightdata.Pitch:
		return s.pitch
	case flightdata.Heading:
		return s.heading
	case flightdata.TakeoffWarning:
		return truthOf(s.warn.on)
	case flightdata.MasterWarning:
		return truthOf(s.warn.on || s.now() < s.masterUntil)
	case flightdata.CenterOfGravity:
		return s.cg
	case flightdata.V1:
		return s.v1
	case flightdata.VR:
		return s.vr
	case flightdata.OutsideAirTemp:
		return 15
	case flightdata.WindSpeed:
		return math.Abs(s.wind) / knot
	case flightdata.WindDirection:
		return s.heading
	case flightdata.Latitude: // a plane near an invented origin on the equator
		return s.y / 111120
	case flightdata.Longitude:
		return s.x / 111120
	}
	return s.conf.value(p)
}

func truthOf(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
