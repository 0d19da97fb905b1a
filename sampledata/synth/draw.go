package synth

import (
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// drawRecipe draws one recipe out of everything that can happen to an
// aircraft of this profile: outcome, check, sensor fault, look-alike, each
// by its own chance, with those combinations left out that cannot be.
func drawRecipe(p *profile.Profile, rnd random, d Difficulty) recipe {
	r := recipe{ending: drawEnding(rnd)}
	if !r.departs() {
		r.name = r.describe()
		return r
	}
	r.before = drawPreludes(&r, rnd)
	if r.ending == noAttempt {
		r.name = r.describe()
		return r
	}
	r.start = []start{standing, standing, rolling, held}[rnd.pick(4)]
	r.setting = []setting{full, full, reduced, split, stabilised}[rnd.pick(5)]
	if rnd.chance(0.55) {
		drawOffence(&r, p, rnd)
	}
	drawFaults(&r, p, rnd, d)
	r.brakesFirst = (r.ending == rejectHigh || r.ending == rejectPastV1) && rnd.chance(0.25)
	r.bounce = r.ending == flies && rnd.chance(0.08)
	r.retry = (r.ending == rejectStill || r.ending == rejectLow) && len(r.faults) == 0 && rnd.chance(0.5)
	fit(&r, p)
	if d == Nasty {
		fitNasty(&r, p, rnd)
	}
	if r.retry {
		r.faults = nil // what a dropout hides in one attempt it does not hide in the other
	}
	r.name = r.describe()
	return r
}

// drawEnding weighs the endings: mostly takeoffs, every other one often.
func drawEnding(rnd random) ending {
	weights := []struct {
		e ending
		w int
	}{
		{flies, 40},
		{engineLoss, 4},
		{rejectStill, 9},
		{rejectLow, 12},
		{rejectHigh, 9},
		{rejectPastV1, 4},
		{rejectRotated, 3},
		{dataEnds, 4},
		{noAttempt, 6},
		{lands, 6},
		{touches, 3},
	}
	n := rnd.pick(100)
	for _, w := range weights {
		if n -= w.w; n < 0 {
			return w.e
		}
	}
	return flies
}

func drawPreludes(r *recipe, rnd random) []prelude {
	var out []prelude
	for _, p := range []prelude{burst, shortBurst, oneEngine, antiIce, taxiTurnStrong} {
		if rnd.chance(0.12) {
			out = append(out, p)
		}
	}
	if r.ending == noAttempt && rnd.chance(0.7) {
		out = append(out, runUp)
	}
	return out
}

// drawOffence picks a check of the profile and how it is out in time.
func drawOffence(r *recipe, p *profile.Profile, rnd random) {
	c := &p.Checks[rnd.pick(len(p.Checks))]
	r.check = c.Name
	watched := c.Watched()
	manners := []manner{throughout, throughout, corrected, arises}
	switch {
	case watched == flightdata.ParkingBrake:
		manners = []manner{walking, dragged}
	case c.OneOf != nil && c.OneOf.Rule == profile.AsAtOnset:
		manners = []manner{arises}
	case c.OneOf != nil && c.OneOf.Rule == profile.PlannedSetting:
		manners = []manner{throughout}
	case c.OneOf != nil && watched.Base() == flightdata.FlapPosition:
		manners = []manner{throughout, inTransit}
	case watched.Base() == flightdata.FlapLever:
		manners = []manner{throughout, throughout, corrected}
	case watched.Base() == flightdata.SlatPosition:
		manners = []manner{throughout}
	}
	r.manner = manners[rnd.pick(len(manners))]
	r.warning = []warningMode{working, working, working, inoperative}[rnd.pick(4)]
}

// drawFaults adds sensor faults; most flights have none.
func drawFaults(r *recipe, p *profile.Profile, rnd random, d Difficulty) {
	if rnd.chance(0.06) && r.check == "" {
		r.warning = falseWarning
	}
	if d == Nasty {
		drawNasty(r, p, rnd)
		return
	}
	if !rnd.chance(0.35) {
		return
	}
	kinds := []faultKind{missing, dead, dropout, frozen, spikes, flicker}
	if d == Hard {
		kinds = append(kinds, brief, drifting, inverted)
	}
	kind := kinds[rnd.pick(len(kinds))]
	targets := faultTargets(kind, p, d)
	if len(targets) > 0 {
		r.faults = []fault{{kind, targets[rnd.pick(len(targets))]}}
	}
}

// faultTargets are the parameters on which a fault of that kind leaves a
// recording with one right answer: what the checks read may be lost, but not
// what tells the attempt itself.
func faultTargets(kind faultKind, p *profile.Profile, d Difficulty) []flightdata.Parameter {
	engine := p.Thrust.Measure.Engine(p.Engines)
	switch kind {
	case frozen:
		return mapped(p, engine, flightdata.Airspeed)
	case spikes:
		return mapped(p, flightdata.GroundSpeed, flightdata.Airspeed, flightdata.Pitch)
	case flicker:
		return mapped(p, flightdata.AirGround, flightdata.ParkingBrake)
	case inverted:
		if d == Nasty {
			return mapped(p, flightdata.MasterWarning, flightdata.ParkingBrake)
		}
		return mapped(p, flightdata.MasterWarning)
	case frozenLate:
		return mapped(p, engine, flightdata.Airspeed)
	case unlocked:
		return mapped(p, flightdata.ThrustReverser.Engine(1))
	case drifting:
		return mapped(p, flightdata.GroundSpeed)
	}
	var out []flightdata.Parameter
	for i := range p.Checks {
		for _, q := range p.Checks[i].Reads() {
			if p.Find(q) != nil && !slices.Contains(out, q) {
				out = append(out, q)
			}
		}
	}
	return append(out, mapped(p, flightdata.TakeoffWarning, flightdata.Airspeed)...)
}

func mapped(p *profile.Profile, names ...flightdata.Parameter) []flightdata.Parameter {
	var out []flightdata.Parameter
	for _, n := range names {
		if p.Find(n) != nil {
			out = append(out, n)
		}
	}
	return out
}

// fit changes what cannot be: a recipe has to be one that an aircraft can fly.
func fit(r *recipe, p *profile.Profile) {
	var c *profile.Check
	for i := range p.Checks {
		if p.Checks[i].Name == r.check && r.check != "" {
			c = &p.Checks[i]
		}
	}
	if r.ending == rejectStill {
		// Only a recorded warning or a later takeoff tells it from a run-up.
		silent := p.Warning == nil || len(r.faults) > 0
		r.start, r.retry = standing, r.retry || r.check == "" || r.warning != working || silent
		if r.manner != throughout && r.manner != walking && r.manner != dragged {
			r.check, r.manner, r.warning, r.retry = "", throughout, working, true
		}
	}
	if c == nil || r.check == "" {
		return
	}
	if r.manner == inTransit {
		r.setting, r.start = full, standing // the surfaces must still move at the onset
	}
	brake := c.Watched() == flightdata.ParkingBrake
	switch {
	case r.ending == rejectStill && brake:
		r.manner = throughout
	case brake:
		r.start, r.setting = standing, full
	}
	// In the roll there must be speed and time enough for what happens in it.
	if r.manner == arises || r.manner == corrected || r.manner == dragged {
		if r.ending == rejectLow || r.ending == dataEnds || r.ending == rejectHigh && p.Reject.Boundary < 90 {
			r.ending = flies
		}
	}
	// A lock of the profile's own keeps the nose down: the roll is given up.
	if _, core := flightdata.Define(c.Watched()); !core && (r.ending == flies || r.ending == engineLoss || r.ending == rejectRotated) {
		r.ending, r.bounce = rejectHigh, false
	}
	r.retry = r.retry && r.rejects()
	if r.ending == rejectStill && !c.WarningDue {
		r.retry = true
	}
}

// describe names the recipe in words, for truth.csv.
func (r *recipe) describe() string {
	endings := [...]string{
		"takeoff", "engine loss continued", "reject before the roll", "reject low-speed", "reject high-speed",
		"reject above V1", "reject after rotation", "data end in the roll", "no attempt", "landing", "touch-and-go",
	}
	parts := []string{endings[r.ending]}
	if r.departs() && r.ending != noAttempt {
		parts = append(parts, [...]string{"standing", "rolling", "brakes held"}[r.start],
			[...]string{"full thrust", "reduced thrust", "split advance", "stabilised"}[r.setting])
	}
	if r.check != "" {
		parts = append(parts, r.check+" "+[...]string{"throughout", "corrected", "arises", "in transit", "released walking", "dragged"}[r.manner])
	}
	parts = append(parts, r.extras()...)
	return strings.Join(parts, ", ")
}

func (r *recipe) extras() []string {
	var out []string
	switch r.warning {
	case inoperative:
		out = append(out, "warning inoperative")
	case falseWarning:
		out = append(out, "false warning")
	}
	for _, b := range r.before {
		out = append(out, [...]string{"taxi burst", "short burst", "run-up", "single-engine taxi", "anti-ice run-up", "strong taxi thrust"}[b])
	}
	kinds := [...]string{
		"no column", "dead", "dropout", "frozen", "spikes", "flicker", "inverted", "brief gap", "clock drift",
		"blind at onset", "frozen late", "unlocked",
	}
	for _, f := range r.faults {
		out = append(out, kinds[f.kind]+" "+string(f.param))
	}
	for _, b := range []struct {
		on   bool
		word string
	}{{r.brakesFirst, "brakes first"}, {r.retry, "second attempt"}, {r.bounce, "bounce"}, {r.noPlan, "no plan weight"}, {r.short, "data end in the reject"}, {r.atOnce, "at the onset"}} {
		if b.on {
			out = append(out, b.word)
		}
	}
	return out
}
