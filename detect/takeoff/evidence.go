package takeoff

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// evidence is what the attempts are read from.
type evidence struct {
	rec  *flightdata.Recording
	prof *profile.Profile

	engines []engine
	// armed is where enough engines are advanced, anyOn where at least one is.
	armed, anyOn span.Set
	thrustLost   span.Set // where too few engines can be told

	air      []trigger.Episode // sustained air states in time order
	airSet   span.Set
	groundBy string
	doubt    []span.Span // where air_ground was found to contradict the rest

	speed *flightdata.Series // over the ground, or through the air when that is all there is
	notes []flightdata.Note
}

// engine is one engine's thrust.
type engine struct {
	number  int
	series  *flightdata.Series
	forward trigger.Result // at or above the threshold
	usable  span.Set       // forward, and not in reverse
}

// gather reads the evidence. It fails to find thrust or ground evidence
// without an error: what is missing is noted, and nothing is found by it.
func gather(rec *flightdata.Recording, prof *profile.Profile) *evidence {
	e := &evidence{rec: rec, prof: prof}
	e.readSpeed()
	e.readThrust()
	e.readAir()
	return e
}

func (e *evidence) note(format string, args ...any) {
	e.notes = append(e.notes, flightdata.Note{Text: fmt.Sprintf(format, args...)})
}

// readSpeed prefers ground speed; an airspeed is a stand-in that is blind
// below the floor of the air-data computer.
func (e *evidence) readSpeed() {
	if e.rec.Has(flightdata.GroundSpeed) {
		e.speed = e.rec.Get(flightdata.GroundSpeed)
		return
	}
	for _, p := range []flightdata.Parameter{flightdata.Airspeed, flightdata.Airspeed.Left(), flightdata.Airspeed.Right()} {
		if e.rec.Has(p) {
			e.speed = e.rec.Get(p)
			e.note("%s: movement on the ground is read from the airspeed, which is not valid at low speed", e.lacking(flightdata.GroundSpeed))
			return
		}
	}
	e.note("%s; %s: no takeoff attempt can be told from a run-up", e.lacking(flightdata.GroundSpeed), e.lacking(flightdata.Airspeed))
}

// lacking says why a speed is no evidence: what is recorded and not believed
// must not be called unrecorded.
func (e *evidence) lacking(p flightdata.Parameter) string {
	words := strings.ReplaceAll(string(p), "_", " ")
	for _, side := range []flightdata.Parameter{p, p.Left(), p.Right()} {
		if _, doubted := e.rec.Doubted[side]; doubted {
			return "the recorded " + words + " is not believed"
		}
	}
	for _, side := range []flightdata.Parameter{p, p.Left(), p.Right()} {
		if e.rec.Get(side).Len() > 0 {
			return "the recorded " + words + " holds no valid sample"
		}
	}
	return "no " + words + " recorded"
}

func (e *evidence) readThrust() {
	rule := e.prof.Thrust
	whole := e.whole()
	reverse := e.inReverse()
	var usable, lost []span.Set
	for n := 1; n <= e.prof.Engines; n++ {
		s := e.rec.Get(rule.Measure.Engine(n))
		if !e.rec.Has(rule.Measure.Engine(n)) {
			lost = append(lost, span.Of(whole))
			continue
		}
		eng := engine{number: n, series: s}
		eng.forward = trigger.Above(s, trigger.Rule{On: rule.Threshold, Off: rule.Threshold - rule.Hysteresis, Bridge: rule.Persistence}, whole)
		eng.usable = eng.forward.True().And(reverse[n-1].Not(whole))
		e.engines = append(e.engines, eng)
		usable = append(usable, eng.usable)
		lost = append(lost, eng.forward.Unknown)
	}
	need := rule.Engines.Need(e.prof.Engines)
	e.armed = span.CountAtLeast(need, usable...).AtLeast(rule.Persistence)
	e.anyOn = span.CountAtLeast(1, usable...)
	e.thrustLost = span.CountAtLeast(e.prof.Engines-need+1, lost...)
	if len(e.engines) < need {
		e.note("%s is recorded on %d of %d engines and the arming rule needs %d: no takeoff attempt can be found", rule.Measure, len(e.engines), e.prof.Engines, need)
	}
}

// inReverse is where the reverser of each engine is not stowed. Of an engine
// whose own is not recorded or not believed, the others tell: nobody takes off on
// one engine while others are in reverse.
func (e *evidence) inReverse() []span.Set {
	out := make([]span.Set, e.prof.Engines)
	var one span.Set // where any is
	for i := range out {
		out[i] = e.unstowed(flightdata.ThrustReverser.Engine(i + 1))
		one = one.Or(out[i])
	}
	for i := range out {
		if !e.rec.Has(flightdata.ThrustReverser.Engine(i + 1)) {
			out[i] = one
		}
	}
	return out
}

func (e *evidence) unstowed(p flightdata.Parameter) span.Set {
	s := e.rec.Get(p)
	if s.Len() == 0 {
		return nil
	}
	return trigger.InState(s, trigger.Rule{}, e.whole(), 1, 2).True()
}

// whole is the span of the recording, its last sample included.
func (e *evidence) whole() span.Span {
	return span.Span{From: e.rec.Span.From, To: e.rec.Span.To + 1}
}

// plausibleStill is the ground speed, kt, below which an aeroplane is not
// flying, and how long an air state at such a speed is believed.
const (
	plausibleStill = 30
	doubtAfter     = 20 * time.Second
	// heightOff is the radio height, ft, above which the aircraft is surely
	// off the ground, and heightOn the one below which it is not climbing;
	// the antenna of a parked aircraft may read a few feet either way.
	heightOff, heightOn = 25, 10
	// highUp, ft, and fastEnough, kt, together are flight. doubtAround is what
	// a clip holds around a contradiction, so that no edge of it is cut off.
	highUp, fastEnough = 200, 100
	doubtAround        = 10 * time.Second
)

// readAir finds the sustained air states: from the air/ground discrete when
// it is alive and believable, else from radio height and speed.
func (e *evidence) readAir() {
	s := e.rec.Get(flightdata.AirGround)
	rule := trigger.Rule{Persistence: e.prof.Attempt.AirborneFor, Bridge: 2 * e.prof.Attempt.AirborneFor}
	if e.rec.Has(flightdata.AirGround) {
		all := trigger.InState(s, rule, e.whole(), 1)
		if why := e.unbelievable(all); why == "" {
			e.airBy("air_ground", all)
			return
		} else {
			e.note("air_ground is not believed: %s; ground and air are read from radio height and speed", why)
		}
	}
	if h := e.rec.Get(flightdata.RadioHeight); e.rec.Has(flightdata.RadioHeight) {
		rule.On, rule.Off = heightOff, heightOn
		e.airBy("radio_height and speed", trigger.Above(h, rule, e.whole()))
		return
	}
	// An aeroplane that goes faster than any tyre is rated flies; nothing
	// better is left. 195 kt: common practice, no published source.
	e.note("neither a believable air_ground nor radio_height recorded: lift-off is read from the speed alone and comes late")
	if e.speed.Len() > 0 {
		rule.On, rule.Off = 195, 190
		e.airBy("speed", trigger.Above(e.speed, rule, e.whole()))
	}
}

func (e *evidence) airBy(what string, r trigger.Result) {
	e.groundBy, e.air = what, r.Episodes
	e.airSet = r.True()
}

// unbelievable says why the air/ground discrete contradicts the rest of the
// recording, "" when it does not: airborne at walking speed for long, or on
// the ground though fast and high above it. Either contradiction lasts, in one
// place; that place is kept for the clip, which must come to the same belief.
func (e *evidence) unbelievable(all trigger.Result) string {
	for _, sp := range all.True().AtLeast(doubtAfter) {
		if still, at := e.stillFor(sp, doubtAfter); still {
			e.doubt = append(e.doubt, span.Span{From: at, To: at.Add(doubtAfter)}.Widen(doubtAround, doubtAround))
			return fmt.Sprintf("it says air from %.1f s while the speed is below %d kt", at.Seconds(), plausibleStill)
		}
	}
	ground := all.True().Or(all.Unknown).Not(e.whole())
	for _, sp := range e.flying().And(ground).AtLeast(doubtAfter) {
		e.doubt = append(e.doubt, span.Span{From: sp.From, To: sp.From.Add(doubtAfter)}.Widen(doubtAround, doubtAround))
		return fmt.Sprintf("it says ground at %.1f s while the radio height is above %d ft at flying speed", sp.From.Seconds(), highUp)
	}
	return ""
}

// flying is where the radio height and the speed together leave no doubt. A
// radio height alone may be stuck.
func (e *evidence) flying() span.Set {
	h := e.rec.Get(flightdata.RadioHeight)
	if h.Len() == 0 || e.speed.Len() == 0 {
		return nil
	}
	high := trigger.Above(h, trigger.Rule{On: highUp, Off: highUp}, e.whole()).True()
	fast := trigger.Above(e.speed, trigger.Rule{On: fastEnough, Off: fastEnough}, e.whole()).True()
	return high.And(fast)
}

// stillFor says whether the ground speed stays below plausibleStill for d
// inside sp, and from when.
func (e *evidence) stillFor(sp span.Span, d time.Duration) (bool, span.Instant) {
	if !e.rec.Has(flightdata.GroundSpeed) {
		return false, 0
	}
	from, last, open := span.Instant(0), span.Instant(0), false
	for p := range e.speed.Good(sp) {
		if p.Value >= plausibleStill {
			open = false
			continue
		}
		if !open || p.At.Sub(last) > e.speed.MaxAge() { // a gap may hide a flight
			from, open = p.At, true
		}
		if last = p.At; p.At.Sub(from) >= d {
			return true, from
		}
	}
	return false, 0
}

// speedAt is the speed at t, kt; an airspeed masked as below its floor counts
// as slow, not as unknown.
func (e *evidence) speedAt(t span.Instant) (float64, bool) {
	r := e.speed.At(t)
	if r.OK {
		return r.Value, true
	}
	if strings.Contains(r.Why, flightdata.BelowFloor.String()) {
		return 0, true
	}
	return math.NaN(), false
}

// fastest is the highest speed inside sp and when it was, with false when
// there is no sample.
func (e *evidence) fastest(sp span.Span) (flightdata.Point, bool) {
	best, ok := flightdata.Point{}, false
	for p := range e.speed.Good(sp) {
		if !ok || p.Value > best.Value {
			best, ok = p, true
		}
	}
	return best, ok
}

// slowest is the lowest speed inside sp.
func (e *evidence) slowest(sp span.Span) (flightdata.Point, bool) {
	best, ok := flightdata.Point{}, false
	for p := range e.speed.Good(sp) {
		if !ok || p.Value < best.Value {
			best, ok = p, true
		}
	}
	return best, ok
}

// turned is the largest departure from the heading at the start of sp, deg.
func (e *evidence) turned(sp span.Span) float64 {
	s := e.rec.Get(flightdata.Heading)
	first, most, ok := 0.0, 0.0, false
	for p := range s.Good(sp) {
		if !ok {
			first, ok = p.Value, true
		}
		most = max(most, math.Abs(math.Remainder(p.Value-first, 360)))
	}
	return most
}

// warned says whether the recorded takeoff warning sounded inside sp.
func (e *evidence) warned(sp span.Span) bool {
	if e.prof.Warning == nil {
		return false
	}
	s := e.rec.Get(e.prof.Warning.Parameter)
	on := slices.Index(seriesStates(s), "on")
	for p := range s.Good(sp) {
		if on >= 0 && p.Value == float64(on) {
			return true
		}
	}
	return false
}

func seriesStates(s *flightdata.Series) []string {
	if s == nil {
		return nil
	}
	return s.States
}

// engineNumbers lists the engines that the thrust was read on.
func (e *evidence) engineNumbers() []int {
	out := make([]int, len(e.engines))
	for i, g := range e.engines {
		out[i] = g.number
	}
	return out
}
