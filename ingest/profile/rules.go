package profile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/spelling"
	"rollonset/ingest/unit"
)

// thrust reads the arming rule.
func (r *reader) thrust(top section, m *parameterMap, engines int) ThrustRule {
	n := top.need("thrust", "thrust: {measure: n1}")
	s := r.section(n, "thrust", "measure", "threshold", "hysteresis", "engines", "persistence")
	// The measures in the order of preference, which is also the order in
	// which a message proposes them.
	t := ThrustRule{}
	var names []string
	for _, d := range thrustDefaults {
		names = append(names, string(d.measure))
	}
	t.Engines = Engines(r.word(s.get("engines"), "engines", string(HalfEngines), string(AnyEngine), string(HalfEngines), string(AllEngines)))
	t.Persistence = r.duration(s.get("persistence"), "persistence", defaultThrustPersistence)
	measure := s.need("measure", "measure: n1")
	t.Measure = flightdata.Parameter(r.word(measure, "measure", "", names...))
	if n != nil {
		t.Line = n.Line
	}
	if t.Measure == "" || !r.allEngines(measure, t.Measure, m, engines) {
		return t
	}
	r.levels(s, &t, m.find(t.Measure.Engine(1)))
	return t
}

// allEngines demands that the measure is mapped for every engine: half of
// the engines cannot be counted when one is missing.
func (r *reader) allEngines(n *yaml.Node, measure flightdata.Parameter, m *parameterMap, engines int) bool {
	if m.unread || engines == 0 {
		return false
	}
	for i := 1; i <= engines; i++ {
		name := measure.Engine(i)
		switch {
		case m.broken[name] || m.broken[measure]:
			return false
		case m.find(name) == nil:
			r.fail(n, fmt.Sprintf("map %s.* under parameters", measure), "measure: %s is not mapped under parameters, so %s cannot be told for every engine", name, measure)
			return false
		}
	}
	return true
}

// levels reads the threshold and the hysteresis in the unit of the measure.
func (r *reader) levels(s section, t *ThrustRule, rule *ParameterRule) {
	// The measure is one of the list: word has seen to that.
	i := slices.IndexFunc(thrustDefaults, func(d thrustDefault) bool { return d.measure == t.Measure })
	d := thrustDefaults[i]
	t.Threshold, t.Hysteresis = d.threshold, d.hysteresis
	n := s.get("threshold")
	if n == nil && d.threshold == 0 {
		s.need("threshold", fmt.Sprintf("threshold: 40 %s; it differs from type to type", unitName(rule.Canonical)))
		return
	}
	lo, hi := possible(rule)
	if n != nil {
		t.Threshold = r.bounded(n, "threshold", rule.Canonical, d.threshold, lo, hi)
	}
	if h := s.get("hysteresis"); h != nil {
		t.Hysteresis = r.bounded(h, "hysteresis", rule.Canonical, d.hysteresis, 0, hi-lo)
		// Thrust that never counts as reduced would never be cut: no reject
		// could be found.
		if t.Threshold-t.Hysteresis <= lo {
			r.fail(h, "make it smaller", "hysteresis: thrust would count as reduced only below %s, which is never recorded", amount(t.Threshold-t.Hysteresis, rule.Canonical))
		}
	}
}

// attempt reads the bounds that tell an attempt from its look-alikes.
func (r *reader) attempt(top section) AttemptRule {
	a := defaultAttempt()
	n := top.get("attempt")
	if n == nil {
		return a
	}
	a.Line = n.Line
	s := r.section(n, "attempt", "start_below", "onset_after", "airborne_for", "no_advance", "speed_fall",
		"rolled_from", "taxi_below", "taxi_turn", "run_up_from", "retry_within", "airborne_since")
	a.StartBelow = r.speed(s.get("start_below"), "start_below", a.StartBelow)
	a.OnsetAfter = r.duration(s.get("onset_after"), "onset_after", a.OnsetAfter)
	a.AirborneFor = r.duration(s.get("airborne_for"), "airborne_for", a.AirborneFor)
	a.NoAdvance = r.duration(s.get("no_advance"), "no_advance", a.NoAdvance)
	a.SpeedFall = r.speed(s.get("speed_fall"), "speed_fall", a.SpeedFall)
	a.RolledFrom = r.speed(s.get("rolled_from"), "rolled_from", a.RolledFrom)
	a.TaxiBelow = r.speed(s.get("taxi_below"), "taxi_below", a.TaxiBelow)
	a.TaxiTurn = r.bounded(s.get("taxi_turn"), "taxi_turn", unit.Canonical(unit.Angle), a.TaxiTurn, 0, 360)
	a.RunUpFrom = r.duration(s.get("run_up_from"), "run_up_from", a.RunUpFrom)
	a.RetryWithin = r.duration(s.get("retry_within"), "retry_within", a.RetryWithin)
	a.AirborneSince = r.duration(s.get("airborne_since"), "airborne_since", a.AirborneSince)
	if s.node == nil {
		return a
	}
	at := s.get("rolled_from")
	switch {
	case a.StartBelow == 0:
		r.fail(s.get("start_below"), "for example 60 kt", "start_below: no attempt could ever start")
	case at != nil && a.RolledFrom >= a.StartBelow:
		r.fail(at, "make it smaller than start_below", "rolled_from: %q is not below the %s below which an attempt starts", at.Value, amount(a.StartBelow, unit.Canonical(unit.Speed)))
	}
	return a
}

// warning reads the recorded takeoff configuration warning; nil when the
// profile names none.
func (r *reader) warning(top section, m *parameterMap) *WarningRule {
	n := top.get("warning")
	if n == nil {
		return nil
	}
	s := r.section(n, "warning", "parameter", "within")
	// A rule with a mistake is given back too; the profile is refused anyway,
	// and nil would read as "no warning recorded".
	w := &WarningRule{Line: n.Line, Within: r.duration(s.get("within"), "within", defaultWarnWithin)}
	if w.Within == 0 {
		r.fail(s.get("within"), "for example 3 s", "within: no warning can be seen within 0 s")
	}
	at := s.need("parameter", "parameter: takeoff_warning")
	rule := r.refer(at, m)
	if rule == nil {
		return w
	}
	w.Parameter = rule.Parameter
	if rule.Kind != flightdata.Discrete || !slices.ContainsFunc(rule.States, func(s StateRule) bool { return s.State == "on" && len(s.Cells) > 0 }) {
		r.fail(at, "map takeoff_warning with the states off and on", "warning: %s is not a discrete with a state \"on\"", rule.Parameter)
	}
	return w
}

// reject reads the bounds of the measures of a reject.
func (r *reader) reject(top section, m *parameterMap) RejectRule {
	n := top.need("reject", "reject: {boundary: 80 kt}")
	s := r.section(n, "reject", "boundary", "high_from", "cue_within", "braked_wheels", "brakes_on", "lever_out")
	// Without a level, when brakes or lever were used is not guessed at.
	j := RejectRule{HighFrom: defaultHighReject, BrakesOn: math.NaN(), LeverOut: math.NaN()}
	if s.node == nil {
		return j
	}
	j.Line = n.Line
	boundary := s.need("boundary", "boundary: 80 kt")
	j.Boundary = r.speed(boundary, "boundary", 0)
	j.HighFrom = r.speed(s.get("high_from"), "high_from", j.HighFrom)
	j.CueWithin = r.duration(s.get("cue_within"), "cue_within", defaultCueWithin)
	j.BrakedWheels = r.whole(s.get("braked_wheels"), "braked_wheels", 0, 1, 64)
	j.BrakesOn = r.level(s.get("brakes_on"), "brakes_on", flightdata.BrakePressure, m)
	j.LeverOut = r.level(s.get("lever_out"), "lever_out", flightdata.SpeedbrakeLever, m)
	if boundary != nil && j.Boundary > j.HighFrom {
		r.fail(boundary, fmt.Sprintf("high_from is %s", amount(j.HighFrom, unit.Canonical(unit.Speed))), "boundary: %q is above the speed from which a reject is of high severity", boundary.Value)
	}
	return j
}

// level reads a level on a parameter that may be mapped whole or by side.
func (r *reader) level(n *yaml.Node, what string, base flightdata.Parameter, m *parameterMap) float64 {
	if n == nil {
		return math.NaN()
	}
	// The sides are in one dimension (checkSides), so any of them will do.
	for _, name := range []flightdata.Parameter{base, base.Left(), base.Right()} {
		if m.broken[name] || m.unread {
			return math.NaN()
		}
		if rule := m.find(name); rule != nil {
			lo, hi := possible(rule)
			return r.bounded(n, what, rule.Canonical, math.NaN(), lo, hi)
		}
	}
	r.fail(n, "map it or leave the line out", "%s: %s is not mapped under parameters", what, base)
	return math.NaN()
}

// severity reads how configuration events are graded by speed.
func (r *reader) severity(top section) SeverityRule {
	v := SeverityRule{MediumFrom: defaultMediumFrom, HighFrom: defaultHighFrom}
	n := top.get("severity")
	if n == nil {
		return v
	}
	v.Line = n.Line
	s := r.section(n, "severity", "medium_from", "high_from")
	v.MediumFrom = r.speed(s.get("medium_from"), "medium_from", v.MediumFrom)
	v.HighFrom = r.speed(s.get("high_from"), "high_from", v.HighFrom)
	if s.node != nil && v.MediumFrom >= v.HighFrom {
		r.fail(n, "medium_from must be below high_from", "severity: no event could ever be of medium severity")
	}
	return v
}

// refer finds the parameter that a rule names. Nil: a mistake was told, or
// the entry it names has one.
func (r *reader) refer(n *yaml.Node, m *parameterMap) *ParameterRule {
	s, ok := r.text(n, "parameter")
	if !ok || m.unread {
		return nil
	}
	name := flightdata.Parameter(s)
	rule := m.find(name)
	if rule != nil || m.broken[name] || m.broken[name.Base()] && name.EngineNumber() > 0 {
		return rule
	}
	if strings.HasSuffix(s, ".*") {
		r.fail(n, "name one engine, and write one check for each", "%q means every engine; a rule looks at one parameter", s)
		return nil
	}
	// Two different mistakes: a parameter that exists and was not mapped, and
	// a name that does not exist.
	if _, known := m.define(name); known {
		r.fail(n, orElse(spelling.DidYouMean(s, m.names()), "add it to parameters"), "parameter %q is not mapped under parameters", s)
		return nil
	}
	r.fail(n, spelling.DidYouMean(s, m.names()), "there is no parameter %q", s)
	return nil
}

// possible is what is physically possible for a parameter, in its canonical unit;
// infinite where nothing can be said.
func possible(rule *ParameterRule) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	d, known := flightdata.Define(rule.Parameter)
	// The bounds of a definition hold in its first dimension only.
	if known && d.Lo < d.Hi && rule.Canonical.Dim() == d.Dims[0] {
		lo, hi = d.Lo, d.Hi
	}
	if !math.IsNaN(rule.Lo) {
		lo = rule.Lo
	}
	if !math.IsNaN(rule.Hi) {
		hi = rule.Hi
	}
	return lo, hi
}

// reachOf says in words what is possible for a parameter.
func reachOf(rule *ParameterRule) string {
	lo, hi := possible(rule)
	return string(rule.Parameter) + " can be " + reach(lo, hi, rule.Canonical)
}

// unitName is the unit as a message prints it.
func unitName(u unit.Unit) string {
	if u.Symbol == "" {
		return "none"
	}
	return u.Symbol
}
