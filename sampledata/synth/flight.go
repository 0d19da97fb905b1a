package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// flight is one flight while it is made: what was drawn for it, the aircraft
// in motion, and what the pilot noted.
type flight struct {
	recipe
	p          *profile.Profile
	m          *model
	rnd        random
	difficulty Difficulty
	cond       condition
	shortCut   bool // the recording ends before one can tell a reject
	long       bool // minutes of taxi and climb, instead of the shortest that will do

	takeoffFlap float64 // the setting used
	planned     float64 // the setting in the flight list
	plannedTrim float64
	runway      float64 // heading

	sim      *sim
	attempts []attemptNotes
	alike    []alikeNotes
}

// attemptNotes are the steps at which the pilot did something in one attempt;
// -1: never.
type attemptNotes struct {
	begin, end                       int // what belongs to the attempt
	rotation                         int
	cut, brakes, speedbrake, reverse int
	rolling                          bool
	touch                            bool // the go part of a touch-and-go
}

// alikeNotes is a window in which advanced thrust is no attempt.
type alikeNotes struct {
	kind     string
	from, to int
}

// newFlight draws the aircraft and the day for a recipe.
func newFlight(r recipe, p *profile.Profile, rnd random, d Difficulty, long bool) (*flight, error) {
	m, err := modelOf(p)
	if err != nil {
		return nil, err
	}
	f := &flight{recipe: r, p: p, m: m, rnd: rnd, difficulty: d, long: long}
	if d == Nasty {
		f.cond = drawCondition(rnd)
	}
	settings := takeoffSettings(p)
	f.takeoffFlap = settings[rnd.pick(len(settings))]
	f.planned = f.takeoffFlap
	if c := f.broken(); c != nil {
		f.chooseFlaps(c, settings)
	}
	f.runway = float64(10 * (1 + rnd.pick(36)))
	f.sim = f.newSim()
	f.plannedTrim = f.healthy(flightdata.StabilizerTrim)
	return f, nil
}

// chooseFlaps picks flap settings that the recipe's check needs: one to come
// from for a movement, another than the planned one for a mismatch.
func (f *flight) chooseFlaps(c *profile.Check, settings []float64) {
	o := c.OneOf
	switch {
	case f.manner == inTransit:
		f.takeoffFlap = settings[len(settings)-1]
		f.planned = f.takeoffFlap
	case o != nil && o.Rule == profile.PlannedSetting:
		for f.planned == f.takeoffFlap {
			f.planned = settings[f.rnd.pick(len(settings))]
		}
	case o != nil && o.Rule == profile.AsAtOnset:
		f.takeoffFlap = settings[f.rnd.pick(len(settings)-1)]
		f.planned = f.takeoffFlap
	}
}

// broken is the check that the recipe puts out of limits, nil for none.
func (f *flight) broken() *profile.Check {
	for i := range f.p.Checks {
		if f.check != "" && f.p.Checks[i].Name == f.check {
			return &f.p.Checks[i]
		}
	}
	return nil
}

func (f *flight) newSim() *sim {
	low, high := f.m.weightRange(f.p)
	margin := float64(0.1 * (high - low))
	weight := f.rnd.between(low+margin, high-margin)
	cgLow, cgHigh := cgRange(f.p)
	cgMargin := float64(0.1 * (cgHigh - cgLow))
	s := &sim{
		m: f.m, p: f.p, conf: newConfiguration(f.p, f.m),
		body: body{
			mass: weight, gravity: gravity, density: seaLevel, wing: high / f.m.wingLoading,
			rolling: freeWheels, slope: f.rnd.between(-0.004, 0.004),
		},
		ground: true, heading: f.runway, wind: f.rnd.between(-2, 7),
		cg:          f.rnd.between(cgLow+cgMargin, cgHigh-cgMargin),
		plannedFlap: f.planned, elevation: math.Round(f.rnd.between(20, 900)),
		engines: make([]engine, f.p.Engines), leverRate: leverSpeed,
		warn: warningUnit{mode: f.warning, delay: f.rnd.between(0.3, 0.8)},
	}
	for i := range s.engines {
		s.engines[i].share = f.m.idle
	}
	s.threshold = f.m.shareFor(f.p.Thrust.Measure, f.p.Thrust.Threshold, leverFull(f.p))
	stall := squareRoot(2 * weight * gravity / (seaLevel * s.body.wing * (f.m.clMax + float64(f.m.clFlap*f.planned))))
	s.vr = math.Round((float64(1.07*stall) - s.wind) / knot)
	s.v1 = s.vr - 3 - float64(f.rnd.pick(6))
	s.tape = newTrace(f.p, []flightdata.Parameter{flightdata.FlapLever, flightdata.GroundSpeed, flightdata.CenterOfGravity}, 60*stepsPerS*20)
	return s
}

// healthy is the value of a quantity in a configuration that is right for
// this takeoff.
func (f *flight) healthy(p flightdata.Parameter) float64 {
	d := f.m.detent(f.takeoffFlap)
	switch p.Base() {
	case flightdata.FlapLever:
		return d.lever
	case flightdata.FlapPosition:
		return d.flap
	case flightdata.SlatPosition:
		return d.slat
	}
	st := &state{read: f.readHealthy(p), planned: f.planned, states: stateIndex(f.p)}
	value, found := 0.0, false
	for i := range f.p.Checks {
		c := &f.p.Checks[i]
		switch {
		case c.Watched() != p:
		case c.State != nil:
			return st.states(p, c.State.Is)
		case c.Band != nil:
			_, low, high, _ := bandEdges(c.Band, st)
			return (low + high) / 2
		case c.Range != nil && c.Range.Minus == "" && !found:
			value, found = middle(c.Range), true
		}
	}
	return value
}

// readHealthy reads the quantities that the limit of p depends on.
func (f *flight) readHealthy(p flightdata.Parameter) func(flightdata.Parameter) (float64, bool) {
	return func(q flightdata.Parameter) (float64, bool) {
		switch {
		case q == p:
			return 0, true
		case simulated(q):
			return f.sim.read(q), true
		}
		return f.healthy(q), true
	}
}

// middle is zero where the range holds zero, as most ranges are about
// something that should not be out; else its middle.
func middle(r *profile.Range) float64 {
	if r.Min <= 0 && r.Max >= 0 {
		return 0
	}
	return (r.Min + r.Max) / 2
}

// v1Air is V1 as an airspeed in kt, as the flight list gives it.
func (s *sim) v1Air() float64 { return s.v1 + math.Round(s.wind/knot) }

// vrAir is VR the same way.
func (s *sim) vrAir() float64 { return s.vr + math.Round(s.wind/knot) }

// speedbrakeOut is the reading of a fully extended speedbrake lever.
func (f *flight) speedbrakeOut() float64 {
	if r := f.p.Find(flightdata.SpeedbrakeLever); r != nil && r.Canonical.Dim() == unit.Angle {
		return 45
	}
	return 100
}
