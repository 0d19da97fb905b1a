package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// trigger is when a deviation begins or ends.
type trigger struct {
	kind  triggerKind
	value float64
}

type triggerKind int

const (
	never       triggerKind = iota
	atSetup                 // with the takeoff configuration, while taxiing out
	atLineUp                // some seconds before the thrust is advanced
	atSpeed                 // kt over the ground
	afterThrust             // s after the thrust advance, at walking speed at least
	aboutOnset              // s after the onset, or before it when negative
)

// deviation is one quantity away from where it should be.
type deviation struct {
	param    flightdata.Parameter
	value    float64
	jam      bool // the quantity itself is off, whatever its lever says
	from, to trigger
	on, off  bool
}

// deviations are what makes the recipe's check fail.
func (f *flight) deviations() []deviation {
	c := f.broken()
	if c == nil || c.OneOf != nil && c.OneOf.Rule == profile.PlannedSetting {
		return nil // the plan is wrong, not the aircraft
	}
	d := deviation{param: c.Watched(), from: trigger{kind: atSetup}}
	switch {
	case f.manner == inTransit:
		return []deviation{f.lateFlaps()}
	case d.param == flightdata.ParkingBrake:
		return []deviation{f.brakeSet()}
	case c.OneOf != nil:
		f.breakOneOf(c, &d)
	case c.Range != nil:
		f.breakRange(c.Range, &d)
	case c.Band != nil:
		f.breakBand(c, &d)
	default:
		d.value = f.otherState(c.State)
	}
	if d.param == flightdata.MainGearSteering {
		d.from, d.jam = trigger{kind: atLineUp}, true // the turns of the taxi move it before
	}
	switch {
	case f.atOnce && f.manner == corrected:
		d.to = trigger{aboutOnset, f.rnd.between(-2, 3)}
	case f.atOnce && f.manner == arises:
		d.from = trigger{aboutOnset, f.rnd.between(-2, 3)}
	case f.manner == corrected:
		d.to = trigger{atSpeed, f.rnd.between(25, 60)}
	case f.manner == arises:
		d.from = trigger{atSpeed, f.rnd.between(45, 60)}
	}
	if c.OneOf != nil && c.OneOf.Rule == profile.AsAtOnset {
		d.from = trigger{atSpeed, f.rnd.between(45, 60)}
	}
	return []deviation{d}
}

// lateFlaps are flaps still up when the crew lines up; the lever is put right
// seconds before the thrust, the surfaces follow at their own rate.
func (f *flight) lateFlaps() deviation {
	settings := takeoffSettings(f.p)
	return deviation{
		param: flightdata.FlapLever, value: settings[max(len(settings)-2, 0)],
		from: trigger{kind: atSetup}, to: trigger{kind: atLineUp},
	}
}

// brakeSet is a parking brake that nobody released.
func (f *flight) brakeSet() deviation {
	d := deviation{param: flightdata.ParkingBrake, value: 1, from: trigger{kind: atLineUp}}
	switch f.manner {
	case walking:
		d.to = trigger{afterThrust, 5}
	case dragged:
		d.to = trigger{atSpeed, f.rnd.between(70, 85)}
	}
	return d
}

// clear is how far beyond a limit a value has to be so that it counts.
func (f *flight) clear(p flightdata.Parameter) float64 {
	q := quantumOf(p)
	if f.difficulty >= Hard {
		return float64(0.6 * q * f.cond.coarseness())
	}
	return float64(3.5 * q)
}

func (f *flight) breakOneOf(c *profile.Check, d *deviation) {
	settings := c.OneOf.Settings
	leverMoves := d.param.Base() == flightdata.FlapLever || f.p.Find(flightdata.FlapLever) == nil
	switch {
	case c.OneOf.Rule == profile.AsAtOnset:
		all := takeoffSettings(f.p)
		d.value = all[len(all)-1] // chooseFlaps took an earlier one
	case d.param.Base() == flightdata.FlapPosition && !leverMoves:
		// One surface disagrees with its lever, near the setting.
		side := 1.0
		if f.rnd.chance(0.5) {
			side = -1
		}
		d.jam = true
		d.value = f.healthy(d.param) + float64(side*(c.OneOf.Tolerance+f.clear(d.param)+f.rnd.between(0, 0.35)))
	default:
		d.param = flightdata.FlapLever
		d.value = f.wrongDetent(settings, c.OneOf.Tolerance)
	}
}

// wrongDetent is a detent that is no takeoff setting.
func (f *flight) wrongDetent(settings []float64, tolerance float64) float64 {
	var wrong []float64
	for _, d := range f.m.detents {
		ok := true
		for _, s := range settings {
			ok = ok && math.Abs(d.flap-s) > tolerance+1
		}
		if ok {
			wrong = append(wrong, d.lever)
		}
	}
	return wrong[f.rnd.pick(len(wrong))]
}

// breakRange goes beyond one end. A difference goes out by moving the second
// of the two, so that the first keeps its own checks.
func (f *flight) breakRange(r *profile.Range, d *deviation) {
	beyond := f.clear(r.Parameter)
	width := 10.0
	if !math.IsInf(r.Min, -1) && !math.IsInf(r.Max, 1) {
		width = 0.25 * (r.Max - r.Min)
	}
	v := r.Max + beyond + f.rnd.between(0, width)
	if math.IsInf(r.Max, 1) || !math.IsInf(r.Min, -1) && f.rnd.chance(0.5) {
		v = r.Min - beyond - f.rnd.between(0, width)
	}
	d.value = v
	if r.Minus != "" {
		d.param, d.jam = r.Minus, true
		d.value = f.healthy(r.Parameter) - v
	}
	if d.param.Base() == flightdata.SpoilerPosition || d.param.Base() == flightdata.SlatPosition {
		d.jam = true // the surface, with its lever where it should be
	}
}

// breakBand goes beyond one edge of the band and stays inside every plain
// range of the same parameter: the placarded band is another check.
func (f *flight) breakBand(c *profile.Check, d *deviation) {
	st := &state{read: f.readHealthy(d.param), planned: f.planned, states: stateIndex(f.p)}
	_, low, high, _ := bandEdges(c.Band, st)
	beyond := f.clear(d.param)
	for range 200 {
		off := beyond + f.rnd.between(0, 0.6*(high-low))
		d.value = high + off
		if f.rnd.chance(0.5) {
			d.value = low - off
		}
		if f.insideRanges(d.param, d.value, beyond) {
			break
		}
	}
	if d.param.Base() == flightdata.SlatPosition {
		d.jam, d.value = true, 0
	}
}

func (f *flight) insideRanges(p flightdata.Parameter, v, beyond float64) bool {
	for i := range f.p.Checks {
		r := f.p.Checks[i].Range
		if r != nil && r.Minus == "" && r.Parameter == p && (v < r.Min+beyond || v > r.Max-beyond) {
			return false
		}
	}
	return true
}

// otherState is a state that the check does not want.
func (f *flight) otherState(want *profile.State) float64 {
	index := stateIndex(f.p)(want.Parameter, want.Is)
	if index == 0 {
		return 1
	}
	return 0
}
