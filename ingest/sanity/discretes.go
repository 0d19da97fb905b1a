package sanity

import (
	"fmt"
	"math"

	"rollonset/ingest/flightdata"
)

// Speeds, kt, below which an aeroplane is surely not flying and above which it
// surely moves, and how many seconds a contradiction must last.
const (
	walking  = 30
	rolling  = 5
	standing = 1
	patience = 20
	shortly  = 10
	calmly   = 3 // kt in two seconds: no takeoff roll is so slow to gain speed
)

// airGround doubts an air/ground discrete that says air while the aircraft is
// slow, or ground while it climbs high above the ground or is faster than any
// tyre is rated. detect/takeoff has the last word on it, also for a clip.
func (s *scene) airGround() {
	p := flightdata.AirGround
	if !s.usable(p) {
		return
	}
	air, gs, height, as := s.hold(p), s.hold(flightdata.GroundSpeed), s.hold(flightdata.RadioHeight), s.hold(flightdata.Airspeed)
	inAir, onGround := s.named(p, "air"), s.named(p, "ground")
	remedy := "check the states of " + s.column(p) + ", they may be inverted; ground and air are read from radio height and speed"
	for _, x := range []struct {
		cond func(c int) bool
		long int
		why  string
	}{
		{func(c int) bool {
			return gs[c] < walking && inAir.has(air[c]) && !(as[c] > 80) && !(height[c] > 50)
		}, patience, "it says air from %d s while the speed is below 30 kt"},
		{func(c int) bool {
			return height[c] > 200 && onGround.has(air[c]) && moving(height, c) && (gs[c] > 100 || as[c] > 100)
		}, 10, "it says ground from %d s while the radio height is above 200 ft"},
		{func(c int) bool { return gs[c] > 230 && onGround.has(air[c]) && as[c] > 200 }, patience, "it says ground from %d s at more than 200 kt"},
	} {
		if from, ok := s.lasting(x.cond, x.long); ok {
			s.doubt(fmt.Sprintf(x.why, from), remedy, p)
			return
		}
	}
}

// moving says whether a height changed within the last seconds: one that is
// stuck proves nothing.
func moving(height []float64, c int) bool {
	return c >= 5 && math.Abs(height[c]-height[c-5]) > 5
}

// lasting finds the first run of at least n seconds in which cond holds.
func (s *scene) lasting(cond func(c int) bool, n int) (from int, ok bool) {
	run := 0
	for c := range s.cells {
		if !cond(c) {
			run = 0
			continue
		}
		if run++; run >= n {
			return c - run + 1, true
		}
	}
	return 0, false
}

// parkingBrake doubts a brake that is set whenever the aircraft moves. A brake
// that was left set for a takeoff is a finding and not a misreading: what tells
// the two apart is the taxiing, which nobody does for long with the brake set,
// and the standing, in which an inverted brake reads released.
func (s *scene) parkingBrake() {
	p := flightdata.ParkingBrake
	if !s.usable(p) || !s.usable(flightdata.GroundSpeed) {
		return
	}
	brake, gs := s.hold(p), s.hold(flightdata.GroundSpeed)
	defer s.release(p)
	set := s.named(p, "set")
	var taxi, taxiSet, calm, calmSet, move, moveSet, stand, standSet int
	for c, v := range brake {
		if v != v {
			continue
		}
		one := 0
		if set.has(v) {
			one = 1
		}
		switch speed := gs[c]; {
		case speed < standing:
			stand, standSet = stand+1, standSet+one
		case speed > 40:
			move, moveSet = move+1, moveSet+one
		case speed > rolling && speed < 40:
			taxi, taxiSet = taxi+1, taxiSet+one
			if c >= 2 && math.Abs(gs[c]-gs[c-2]) < calmly {
				calm, calmSet = calm+1, calmSet+one
			}
		}
	}
	remedy := "check the states of " + s.column(p) + ", they may be inverted"
	switch {
	case taxi >= 60 && taxiSet*10 >= taxi*8 || taxi >= 40 && taxiSet*10 >= taxi*9 && moveSet*10 >= move*9:
		s.doubt(fmt.Sprintf("it says set for %d of %d s of taxiing", taxiSet, taxi), remedy, p)
	case move >= patience && moveSet*10 >= move*9 && stand >= patience && standSet*2 < stand && taxiSet*10 >= taxi*9:
		s.doubt(fmt.Sprintf("it says set for %d of %d s above 40 kt, and released for %d of %d s of standing", moveSet, move, stand-standSet, stand), remedy, p)
	case calm >= shortly && calmSet == calm && move >= shortly && moveSet == move && stand-standSet >= shortly:
		// A short recording. A brake left set for the takeoff was released for
		// the taxiing before, which is calm; the roll itself is not.
		s.doubt(fmt.Sprintf("it says set whenever the aircraft moves, and released for %d s of standing", stand-standSet), remedy, p)
	}
}

// usualState doubts a discrete that spends most of the recording in the state
// that it takes for seconds only: a warning that sounds for minutes, a steering
// that is off centre at the gate and again in flight.
func (s *scene) usualState() {
	for _, p := range []flightdata.Parameter{flightdata.TakeoffWarning, flightdata.MasterWarning} {
		if !s.usable(p) {
			continue
		}
		told, on := s.told(p, "on")
		if told >= 120 && on*2 > told {
			s.doubt(fmt.Sprintf("it says on for %d of %d s", on, told), "check the states of "+s.column(p)+", they may be inverted", p)
		}
	}
	p := flightdata.MainGearSteering
	if !s.usable(p) {
		return
	}
	v, gs := s.hold(p), s.hold(flightdata.GroundSpeed)
	aside := s.named(p, "not centered")
	off := func(c int) bool { return aside.has(v[c]) }
	stand := s.share(off, func(c int) bool { return v[c] == v[c] && gs[c] < standing })
	move := s.share(off, func(c int) bool { return v[c] == v[c] && gs[c] > 40 })
	if stand > 0.9 && move > 0.9 {
		s.doubt("it says not centered at standstill and again at speed", "check the states of "+s.column(p)+", they may be inverted", p)
	}
}

// reversers doubts a reverser that is deployed most of the time.
func (s *scene) reversers() {
	for n := 1; n <= s.prof.Engines; n++ {
		p := flightdata.ThrustReverser.Engine(n)
		if !s.usable(p) {
			continue
		}
		told, out := s.told(p, "deployed")
		if told >= 120 && out*2 > told {
			s.doubt(fmt.Sprintf("it says deployed for %d of %d s", out, told), "check the states of "+s.column(p)+", they may be inverted", p)
		}
	}
}
