package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// slot is one quantity of the configuration: levers, surfaces, trims, locks.
// A discrete holds the index of its state. Values are in canonical units.
type slot struct {
	param         flightdata.Parameter
	value, target float64
	rate          float64 // per second; +Inf: at once
	jammed        bool    // moves no more, whatever commands it
}

// configuration is all slots, those of the profile and those that the
// simulator needs although the profile records them not.
type configuration struct {
	slots []slot
	m     *model
}

// always are the quantities that the simulator moves on every aircraft.
var always = []flightdata.Parameter{
	flightdata.FlapLever, flightdata.FlapPosition, flightdata.FlapPosition.Left(), flightdata.FlapPosition.Right(),
	flightdata.SlatPosition, flightdata.StabilizerTrim, flightdata.ParkingBrake, flightdata.SpeedbrakeLever,
	flightdata.SpoilerPosition, flightdata.MainGearSteering, flightdata.Autobrake,
}

func newConfiguration(p *profile.Profile, m *model) *configuration {
	c := &configuration{m: m}
	for _, name := range always {
		c.add(name)
	}
	for i := range p.Parameters {
		if r := &p.Parameters[i]; !simulated(r.Parameter) {
			c.add(r.Parameter)
		}
	}
	return c
}

// simulated says whether the motion, the engines or the warnings give the
// parameter, so that it is no part of the configuration.
func simulated(p flightdata.Parameter) bool {
	switch p.Base() {
	case flightdata.GroundSpeed, flightdata.Airspeed, flightdata.N1, flightdata.EPR, flightdata.Torque,
		flightdata.ThrustLever, flightdata.ThrustReverser, flightdata.AirGround, flightdata.RadioHeight,
		flightdata.PressureAltitude, flightdata.LongAcceleration, flightdata.Pitch, flightdata.Heading,
		flightdata.BrakePressure, flightdata.TakeoffWarning, flightdata.MasterWarning, flightdata.GrossWeight,
		flightdata.CenterOfGravity, flightdata.Latitude, flightdata.Longitude, flightdata.V1, flightdata.VR,
		flightdata.OutsideAirTemp, flightdata.WindSpeed, flightdata.WindDirection:
		return true
	}
	return false
}

func (c *configuration) add(p flightdata.Parameter) {
	if c.find(p) == nil {
		c.slots = append(c.slots, slot{param: p, rate: c.rate(p)})
	}
}

// rate is how fast a quantity moves, units per second.
func (c *configuration) rate(p flightdata.Parameter) float64 {
	switch p.Base() {
	case flightdata.FlapLever:
		return 20
	case flightdata.FlapPosition:
		return c.m.flapRate
	case flightdata.SlatPosition:
		return 4
	case flightdata.StabilizerTrim:
		return 0.4
	case flightdata.RudderTrim, flightdata.AileronTrim:
		return 1
	case flightdata.SpeedbrakeLever, flightdata.SpoilerPosition:
		return 60
	}
	return math.Inf(1)
}

// find is the slot of a parameter, nil when there is none.
func (c *configuration) find(p flightdata.Parameter) *slot {
	for i := range c.slots {
		if c.slots[i].param == p {
			return &c.slots[i]
		}
	}
	return nil
}

func (c *configuration) value(p flightdata.Parameter) float64 {
	if s := c.find(p); s != nil {
		return s.value
	}
	return 0
}

// set commands a value; the quantity moves there at its own rate.
func (c *configuration) set(p flightdata.Parameter, v float64) {
	s := c.find(p)
	if s == nil {
		return
	}
	s.target = v
	switch p.Base() {
	case flightdata.FlapLever:
		d := c.m.detent(v)
		c.follow(flightdata.FlapPosition, d.flap)
		c.follow(flightdata.SlatPosition, d.slat)
	case flightdata.SpeedbrakeLever:
		c.follow(flightdata.SpoilerPosition, v)
	}
}

// follow commands every slot of a base parameter: both sides, or the one.
func (c *configuration) follow(base flightdata.Parameter, v float64) {
	for i := range c.slots {
		if c.slots[i].param.Base() == base {
			c.slots[i].target = v
		}
	}
}

// jam moves a quantity to v and leaves it there whatever commands it; free
// ends that, and the quantity goes on to where it was last commanded.
func (c *configuration) jam(p flightdata.Parameter, v float64) {
	if s := c.find(p); s != nil {
		s.value, s.jammed = v, true
	}
}

func (c *configuration) free(p flightdata.Parameter) {
	if s := c.find(p); s != nil {
		s.jammed = false
	}
}

// step moves everything on by one step of the simulator.
func (c *configuration) step() {
	for i := range c.slots {
		s := &c.slots[i]
		if s.jammed || s.value == s.target {
			continue
		}
		s.value = toward(s.value, s.target, s.rate*dt)
	}
}

// settled says whether everything is where it is commanded.
func (c *configuration) settled() bool {
	for i := range c.slots {
		if s := &c.slots[i]; !s.jammed && s.value != s.target {
			return false
		}
	}
	return true
}

// settle moves everything at once to where it is commanded.
func (c *configuration) settle() {
	for i := range c.slots {
		if !c.slots[i].jammed {
			c.slots[i].value = c.slots[i].target
		}
	}
}

// detent is the flap lever's detent nearest to a reading.
func (m *model) detent(lever float64) detent {
	best := m.detents[0]
	for _, d := range m.detents {
		if math.Abs(d.lever-lever) < math.Abs(best.lever-lever) {
			best = d
		}
	}
	return best
}

// toward is from moved towards to by at most step.
func toward(from, to, step float64) float64 {
	step = float64(step) // a product of the caller must not fuse into the sums
	switch {
	case to > from+step:
		return from + step
	case to < from-step:
		return from - step
	}
	return to
}

func squareRoot(x float64) float64 { return math.Sqrt(max(x, 0)) }
