// Package quality masks samples that must not be trusted and says why: out of
// physical range, faster than the aeroplane can, lone spikes, a sensor stuck
// while others prove movement, airspeed below the floor of the air-data
// computer. Masked samples are kept and counted; nothing is repaired.
//
// The bounds come from the definition of the parameter and the profile. They
// are wide: a mask is for what cannot be, not for what is unusual. A discrete
// is never masked here; one sample of it is judged by persistence instead.
package quality

import (
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Mask masks the samples of one continuous series by what it alone shows:
// floor, range, spikes and rate, in this order. rule may be nil.
func Mask(s *flightdata.Series, rule *profile.ParameterRule) {
	if s.Kind == flightdata.Discrete || s.Len() == 0 {
		return
	}
	def, known := flightdata.Define(s.Parameter)
	least := math.NaN()
	if rule != nil {
		least = rule.Floor
	}
	floor(s, least)
	lo, hi := bounds(s, def, known, rule)
	outside(s, lo, hi)
	if !known || !comparable(s, def) {
		return
	}
	// Spikes first: the sample after one must not look too fast against it.
	if !def.Circular && hampelFor(s.Parameter.Base()) {
		spikes(s, def, least)
	}
	if def.Rate > 0 {
		tooFast(s, def.Rate)
	}
}

// comparable says whether the bounds of the definition are in the unit of the
// series; a lever recorded in percent has no bounds in degrees.
func comparable(s *flightdata.Series, def flightdata.Definition) bool {
	return len(def.Dims) > 0 && s.Unit.Dim() == def.Dims[0]
}

// bounds are the profile's own, else those of the definition, else none.
func bounds(s *flightdata.Series, def flightdata.Definition, known bool, rule *profile.ParameterRule) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	if known && comparable(s, def) && (def.Lo != 0 || def.Hi != 0) {
		lo, hi = def.Lo, def.Hi
	}
	if rule != nil && !math.IsNaN(rule.Lo) {
		lo = rule.Lo
	}
	if rule != nil && !math.IsNaN(rule.Hi) {
		hi = rule.Hi
	}
	return lo, hi
}

func mask(s *flightdata.Series, i int, m flightdata.Mask) {
	if s.Masks == nil {
		s.Masks = make([]flightdata.Mask, len(s.Times))
	}
	if s.Masks[i] == flightdata.Good {
		s.Masks[i] = m
	}
}

func good(s *flightdata.Series, i int) bool {
	return s.Masks == nil || s.Masks[i] == flightdata.Good
}

// floor masks airspeeds that the air-data computer cannot measure: it reads
// its floor, or zero, when slower.
func floor(s *flightdata.Series, at float64) {
	if math.IsNaN(at) {
		return
	}
	for i, v := range s.Values {
		if v <= at {
			mask(s, i, flightdata.BelowFloor)
		}
	}
}

func outside(s *flightdata.Series, lo, hi float64) {
	for i, v := range s.Values {
		if !(v >= lo && v <= hi) { // so that NaN is outside too
			mask(s, i, flightdata.OutOfRange)
		}
	}
}

// settled is how many samples in a row must agree on a new level before a
// jump to it is believed.
const settled = 3

// tooFast masks samples that are farther from the last trusted one than the
// aeroplane can change in the time between, until enough samples agree on
// the new level: then the trust moves there, since the old level may have
// been the wrong one.
func tooFast(s *flightdata.Series, rate float64) {
	last, before := -1, -1 // the last trusted sample; the last that could be
	run := 0
	// Most steps are so small that the time between does not matter.
	small := rate * slack
	for i, v := range s.Values {
		if !good(s, i) {
			continue
		}
		previous := before
		before = i
		if last < 0 || math.Abs(v-s.Values[last]) <= small || within(s, last, i, rate) {
			last, run = i, 0
			continue
		}
		if run > 0 && within(s, previous, i, rate) {
			run++
		} else {
			run = 1
		}
		if run >= settled {
			last, run = i, 0
			continue
		}
		mask(s, i, flightdata.TooFast)
	}
}

// slack, s, is on top of the time between two samples: both a quantum and noise
// fit into that much of the fastest change.
const slack = 0.2

// within says whether sample k is reachable from sample i.
func within(s *flightdata.Series, i, k int, rate float64) bool {
	dt := s.Times[k].Sub(s.Times[i]).Seconds()
	return math.Abs(s.Values[k]-s.Values[i]) <= rate*(dt+slack)
}

// hampelFor names the parameters that cannot jump out and back within one
// sample. Brake pressures, accelerations and headings can, and so can engines:
// a burst of thrust to get the aeroplane rolling peaks within a second.
func hampelFor(p flightdata.Parameter) bool {
	switch p {
	case flightdata.GroundSpeed, flightdata.Airspeed, flightdata.FlapLever, flightdata.FlapPosition,
		flightdata.SlatPosition, flightdata.StabilizerTrim, flightdata.GrossWeight, flightdata.CenterOfGravity, flightdata.Pitch:
		return true
	}
	return false
}

// reach is how many samples on either side a spike is compared with.
const reach = 3

// spikes is a Hampel filter on the departures from a straight line: a sample is
// a spike when it departs from the line between its neighbours by more than
// three scaled medians of the departures around it, and by more than any motion
// gives (apart).
// Only a sample that both of its neighbours contradict the same way is masked.
// A masked sample is no neighbour: what it holds says nothing. One below the
// floor is: it says that the value was at the floor or below.
func spikes(s *flightdata.Series, def flightdata.Definition, floor float64) {
	var around []float64
	least := leastApart(s, def)
	// A sample nearer to both of its neighbours than any spike is nearer to the
	// line between them too. A hundredth less, so that no rounding matters.
	near := 0.99 * least
	calm := false // the step to sample i is that small
	for i := 1; i+1 < len(s.Values); i++ {
		before := calm
		calm = math.Abs(s.Values[i+1]-s.Values[i]) < near
		if before && calm && good(s, i-1) && good(s, i+1) || !good(s, i) || between(s, i) {
			continue
		}
		d, up, down := departure(s, i, floor)
		if up*down <= 0 || math.Abs(d) < apart(s, i, least) {
			continue
		}
		around = around[:0]
		for k := max(1, i-reach-1); k <= min(len(s.Values)-2, i+reach+1); k++ {
			if e, _, _ := departure(s, k, floor); heard(s, k) && (k < i-1 || k > i+1) {
				around = append(around, math.Abs(e))
			}
		}
		// 1.4826 scales the median deviation to a standard deviation.
		if len(around) > 1 && !beside(s, i, d, floor) && math.Abs(d) > 3*1.4826*median(around) {
			mask(s, i, flightdata.Spike)
		}
	}
}

// between says whether sample i lies between its neighbours, both of them good,
// or level with one: then it is no spike either.
func between(s *flightdata.Series, i int) bool {
	if !good(s, i-1) || !good(s, i+1) {
		return false
	}
	return (s.Values[i]-s.Values[i-1])*(s.Values[i]-s.Values[i+1]) <= 0
}

// beside says whether a neighbour departs farther: then that one is the spike,
// and this one only its shadow.
func beside(s *flightdata.Series, i int, d, floor float64) bool {
	for _, k := range []int{i - 1, i + 1} {
		if k < 1 || k+1 >= len(s.Values) || !good(s, k) {
			continue
		}
		if e, _, _ := departure(s, k, floor); math.Abs(e) > math.Abs(d) {
			return true
		}
	}
	return false
}

// departure is how far sample i lies off the line between its neighbours, and
// off each of them.
func departure(s *flightdata.Series, i int, floor float64) (off, left, right float64) {
	a, c := neighbour(s, i, -1), neighbour(s, i, 1)
	at, before, after := level(s, i, floor), level(s, a, floor), level(s, c, floor)
	left, right = at-before, at-after
	if a == i || c == i {
		return 0, left, right
	}
	share := float64(s.Times[i]-s.Times[a]) / float64(s.Times[c]-s.Times[a])
	return left - float64(share*(after-before)), left, right
}

// level is the value of a sample, the floor for one below it: what stands
// there, often zero, is no speed.
func level(s *flightdata.Series, i int, floor float64) float64 {
	if s.Masks != nil && s.Masks[i] == flightdata.BelowFloor {
		return floor
	}
	return s.Values[i]
}

// heard says whether a sample is one to compare with.
func heard(s *flightdata.Series, i int) bool {
	return good(s, i) || s.Masks[i] == flightdata.BelowFloor
}

// The strongest changes of speed on a runway, kt per second: a takeoff gains at
// most 0.36 g and a stop loses at most 0.62 g. Common practice, no published
// source; published examples of a roll begin at up to 0.31 g.
const (
	strongestGain = 7.0
	strongestLoss = 12.0
)

// leastApart is the least departure that is a spike anywhere in the series: a
// fiftieth of the range, and for a speed what the turn from the strongest
// acceleration to the strongest braking gives at a sample.
func leastApart(s *flightdata.Series, def flightdata.Definition) float64 {
	if !speed(s) {
		return (def.Hi - def.Lo) / 50
	}
	return turn(s.Period.Seconds())
}

// apart is the least departure of sample i that is a spike: for a speed more
// where samples are missing.
func apart(s *flightdata.Series, i int, least float64) float64 {
	if !speed(s) {
		return least
	}
	return max(least, turn(s.Times[i+1].Sub(s.Times[i-1]).Seconds()/2))
}

// speed says whether a series is a speed of the aeroplane.
func speed(s *flightdata.Series) bool {
	p := s.Parameter.Base()
	return p == flightdata.GroundSpeed || p == flightdata.Airspeed
}

// turn is by how much a speed, kt, may depart where it is sampled every dt seconds.
func turn(dt float64) float64 { return 1 + (strongestGain+strongestLoss)/2*dt }

// neighbour is the nearest sample to compare with on one side, i itself when there is none
// within reach.
func neighbour(s *flightdata.Series, i, step int) int {
	for k := i + step; k >= 0 && k < len(s.Values) && k >= i-reach && k <= i+reach; k += step {
		if heard(s, k) {
			return k
		}
	}
	return i
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// witness says which parameter proves that another must move: Stuck holds for
// at least For while Proof changes by Change.
type witness struct {
	stuck, proof flightdata.Parameter
	change       float64
	atLeast      time.Duration
}

// witnesses are pairs in which the one cannot stand still while the other
// moves that much; common practice, no published source.
var witnesses = []witness{
	{flightdata.GroundSpeed, flightdata.Airspeed, 30, 8 * time.Second},
	{flightdata.Airspeed, flightdata.GroundSpeed, 30, 8 * time.Second},
	{flightdata.RadioHeight, flightdata.PressureAltitude, 400, 10 * time.Second},
}

// Stuck masks what stands still to the last bit while another parameter
// proves movement, and returns a note for each stretch found.
func Stuck(r *flightdata.Recording, engines int, measure flightdata.Parameter) []flightdata.Note {
	var notes []flightdata.Note
	for _, w := range witnesses {
		notes = append(notes, stuck(r, w)...)
	}
	for n := 1; n <= engines; n++ {
		lever := flightdata.ThrustLever.Engine(n)
		if measure == flightdata.ThrustLever || r.Get(lever).Len() == 0 {
			continue
		}
		notes = append(notes, stuck(r, witness{measure.Engine(n), lever, 15, 20 * time.Second})...)
	}
	return notes
}

func stuck(r *flightdata.Recording, w witness) []flightdata.Note {
	s, proof := r.Get(w.stuck), r.Get(w.proof)
	if s.Len() == 0 || proof.Len() == 0 {
		return nil
	}
	var notes []flightdata.Note
	for i := 0; i < len(s.Values); {
		end := i + 1
		for end < len(s.Values) && s.Values[end] == s.Values[i] {
			end++
		}
		// Most values stand too briefly for anything.
		if s.Times[end-1].Sub(s.Times[i]) >= w.atLeast && !saturated(s, i) {
			notes = append(notes, still(s, i, end, proof, w)...)
		}
		i = end
	}
	return notes
}

// still judges the samples from i to end, which are all of one value. A gap
// parts them: nobody saw what the sensor did in it. Samples that were not read do
// not: whoever reads them all will see.
func still(s *flightdata.Series, i, end int, proof *flightdata.Series, w witness) []flightdata.Note {
	var notes []flightdata.Note
	for k := i; i < end; i = k {
		for k++; k < end && s.Lapse(s.Times[k-1], s.Times[k]) <= s.MaxAge(); k++ {
		}
		sp := span.Span{From: s.Times[i], To: s.Times[k-1]}
		if !good(s, i) || sp.Length() < w.atLeast || !moved(proof, sp, w.change) {
			continue
		}
		for j := i; j < k; j++ {
			mask(s, j, flightdata.Stuck)
		}
		notes = append(notes, flightdata.Note{Text: fmt.Sprintf("%s stood at %g for %.0f s from %.1f s while %s moved: masked as stuck",
			w.stuck, s.Values[i], sp.Length().Seconds(), sp.From.Seconds(), w.proof)})
	}
	return notes
}

// saturated says whether the value is the top of the scale of a radio height,
// where standing still is right.
func saturated(s *flightdata.Series, i int) bool {
	return s.Parameter == flightdata.RadioHeight && s.Values[i] >= 2000
}

func moved(s *flightdata.Series, sp span.Span, change float64) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for p := range s.Good(sp) {
		lo, hi = min(lo, p.Value), max(hi, p.Value)
	}
	return hi-lo >= change
}
