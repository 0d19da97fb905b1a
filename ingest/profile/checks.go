package profile

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/spelling"
	"rollonset/ingest/unit"
)

// kinds are the keys that say what a check demands; exactly one stands in it.
var kinds = []string{"one_of", "range", "band", "state"}

var checkName = regexp.MustCompile(`^[a-z0-9][a-z0-9 _-]{0,39}$`)

// checks reads the configuration rules.
func (r *reader) checks(top section, m *parameterMap) []Check {
	// The archive keeps a finding by the name of its check, over years; two
	// checks of one name would be one line in every trend.
	first := map[string]int{}
	var out []Check
	for _, n := range r.list(top.need("checks", "checks: [{name: parking brake, …}]"), "checks") {
		c, ok := r.check(n, m)
		if !ok {
			continue
		}
		if line, twice := first[c.Name]; twice && c.Name != "" {
			r.fail(n, fmt.Sprintf("first at line %d; findings are kept by the name of the check", line), "two checks are named %q", c.Name)
		}
		first[c.Name] = n.Line
		out = append(out, c)
	}
	return out
}

// check reads one check; false when it is none.
func (r *reader) check(n *yaml.Node, m *parameterMap) (Check, bool) {
	s := r.section(n, "check", append([]string{
		"name", "title", "judged", "persistence", "speeds", "far_outside",
		"severity", "warning_due", "basis",
	}, kinds...)...)
	c := Check{Line: n.Line, SpeedTo: math.Inf(1)}
	if s.node == nil {
		return c, false
	}
	at := s.need("name", "name: flap lever")
	if name, ok := r.text(at, "name"); ok {
		if !checkName.MatchString(name) {
			r.fail(at, "lower-case letters, digits, spaces, - and _, at most 40; put words into title", "name: %q cannot name a check", name)
		}
		c.Name, s.what = name, fmt.Sprintf("check %q", name)
	}
	c.Title = r.prose(s.need("title", "title: flap lever in a takeoff setting"), "title")
	c.Judged = r.judged(s.get("judged"))
	c.Persistence = r.duration(s.get("persistence"), "persistence", 0)
	r.speeds(s.get("speeds"), &c)
	c.Severity = r.word(s.get("severity"), "severity", bySpeed, bySpeed, "low", "medium", "high")
	c.WarningDue = r.truth(s.get("warning_due"), "warning_due")
	c.Basis = r.prose(s.get("basis"), "basis")
	// A missing warning is a finding of high severity, so the claim that one
	// was due must be traceable to a rule.
	if c.WarningDue && c.Basis == "" && s.get("basis") == nil {
		r.fail(s.get("warning_due"), "add the rule, for example basis: 14 CFR 25.703(a)(1)", "%s says that a warning is due, but not by which rule", s.what)
	}
	// far_outside last: it is in the unit of the parameter that kind finds.
	watched := r.kind(s, &c, m)
	r.farOutside(s, &c, watched)
	return c, true
}

// bySpeed grades an event by the speed at which the condition still held.
const bySpeed = "by speed"

// kind reads what the check demands and gives the rule of the watched
// parameter, nil when that could not be told.
func (r *reader) kind(s section, c *Check, m *parameterMap) *ParameterRule {
	var found []string
	for _, k := range kinds {
		if s.get(k) != nil {
			found = append(found, k)
		}
	}
	switch {
	case len(found) == 0 && !slices.ContainsFunc(kinds, func(k string) bool { return s.empty[k] }):
		r.fail(s.node, "add one of "+strings.Join(kinds, ", "), "%s demands nothing", s.what)
	case len(found) > 1:
		r.fail(s.get(found[1]), "split it into two checks", "%s has both %s and %s", s.what, found[0], found[1])
	}
	if len(found) != 1 {
		return nil
	}
	switch n := s.get(found[0]); found[0] {
	case "one_of":
		return r.oneOf(n, c, m)
	case "range":
		return r.rangeCheck(n, c, m)
	case "band":
		return r.band(n, c, m)
	default:
		return r.state(n, c, m)
	}
}

func (r *reader) judged(n *yaml.Node) Judged {
	s := r.section(n, "judged", "from", "to")
	return Judged{
		From: r.word(s.get("from"), "from", "onset", "onset", "roll start"),
		To:   r.word(s.get("to"), "to", "rotation", "rotation", "lift-off"),
	}
}

// speeds reads the ground speeds between which the check matters.
func (r *reader) speeds(n *yaml.Node, c *Check) {
	s := r.section(n, "speeds", "from", "to")
	c.SpeedFrom = r.speed(s.get("from"), "from", 0)
	c.SpeedTo = r.speed(s.get("to"), "to", math.Inf(1))
	if s.node != nil && c.SpeedFrom >= c.SpeedTo {
		r.fail(n, "from must be below to", "speeds: the check could never matter")
	}
}

// farOutside reads the margin beyond which severity rises. It is a distance
// in the unit of the watched parameter; a state has none.
func (r *reader) farOutside(s section, c *Check, watched *ParameterRule) {
	n := s.get("far_outside")
	switch {
	case n == nil:
	case c.State != nil:
		r.fail(n, "remove it", "far_outside: a state is held or not, there is no distance from it")
	case watched != nil:
		lo, hi := possible(watched)
		c.FarOutside = r.positive(n, "far_outside", watched.Canonical, 0, hi-lo, "leave it out if no distance raises the severity")
	}
}

// continuous finds a parameter that is a number.
func (r *reader) continuous(n *yaml.Node, m *parameterMap) *ParameterRule {
	rule := r.refer(n, m)
	if rule != nil && rule.Kind == flightdata.Discrete {
		r.fail(n, "use state: {parameter: "+string(rule.Parameter)+", is: …}", "%s is a discrete and has no number", rule.Parameter)
		return nil
	}
	return rule
}

// oneOf reads a check against settings.
func (r *reader) oneOf(n *yaml.Node, c *Check, m *parameterMap) *ParameterRule {
	// All three keys are asked for before anything is given up, so that one
	// missing key does not hide another.
	s := r.section(n, "one_of", "parameter", "settings", "tolerance")
	rule := r.continuous(s.need("parameter", "parameter: flap_lever"), m)
	settings := s.need("settings", "settings: [10 deg, 20 deg]")
	tolerance := s.need("tolerance", "tolerance: 0.5 deg")
	if rule == nil || settings == nil {
		return rule
	}
	o := &OneOf{Parameter: rule.Parameter}
	c.OneOf = o
	lo, hi := possible(rule)
	o.Tolerance = r.positive(tolerance, "tolerance", rule.Canonical, 0, hi-lo, "give the accuracy of the sensor; a measured value is hardly ever exact")
	if settings.Kind == yaml.SequenceNode {
		r.settings(settings, o, rule)
		return rule
	}
	// A word instead of a list: the setting comes from elsewhere.
	o.Rule = SettingRule(r.word(settings, "settings", string(AsAtOnset), string(PlannedSetting), string(AsAtOnset)))
	base := rule.Parameter.Base()
	if o.Rule == PlannedSetting && base != flightdata.FlapLever && base != flightdata.FlapPosition && base != flightdata.StabilizerTrim {
		r.fail(settings, "list the settings", "a flight list plans flaps and trim, but not %s", rule.Parameter)
	}
	return rule
}

// settings reads the list of settings: possible, rising, told apart by the
// tolerance.
func (r *reader) settings(n *yaml.Node, o *OneOf, rule *ParameterRule) {
	lo, hi := possible(rule)
	for _, at := range r.list(n, "settings") {
		v, ok := r.quantity(at, "settings", rule.Canonical)
		if !ok {
			continue
		}
		if v < lo || v > hi {
			r.fail(at, reachOf(rule), "settings: %q is never reached", at.Value)
			continue
		}
		if k := len(o.Settings); k > 0 {
			last := o.Settings[k-1]
			switch {
			case v <= last:
				r.fail(at, "list the settings in rising order, each once", "settings: %q is not above the one before", at.Value)
				continue
			// Where two settings touch, a lever between its detents would pass.
			case v-last <= 2*o.Tolerance:
				r.fail(at, "make the tolerance smaller, or use range", "settings: with this tolerance every value between %s and %s would be within", amount(last, rule.Canonical), amount(v, rule.Canonical))
			}
		}
		o.Settings = append(o.Settings, v)
	}
	// One setting may still reach over everything that can be recorded.
	if len(o.Settings) == 1 && o.Settings[0]-o.Tolerance <= lo && o.Settings[0]+o.Tolerance >= hi {
		r.fail(n, "make the tolerance smaller", "the check can never fail: the tolerance covers all that %s can be", rule.Parameter)
	}
}

// rangeCheck reads a check against one or two limits.
func (r *reader) rangeCheck(n *yaml.Node, c *Check, m *parameterMap) *ParameterRule {
	s := r.section(n, "range", "parameter", "minus", "min", "max")
	rule := r.continuous(s.need("parameter", "parameter: speedbrake_lever"), m)
	minus := r.minus(s, rule, m)
	if rule == nil || s.get("minus") != nil && minus == nil {
		return rule
	}
	g := &Range{Parameter: rule.Parameter, Min: math.Inf(-1), Max: math.Inf(1)}
	c.Range = g
	lo, hi := possible(rule)
	if minus != nil {
		g.Minus = minus.Parameter
		// The difference of two intervals reaches from lowest minus highest
		// to highest minus lowest.
		a, b := possible(minus)
		lo, hi = lo-b, hi-a
	}
	low, high := s.get("min"), s.get("max")
	read := func(n *yaml.Node, what string, into *float64) bool {
		if n == nil {
			return true
		}
		v, ok := r.quantity(n, what, rule.Canonical)
		if ok {
			*into = v
		}
		return ok
	}
	okMin, okMax := read(low, "min", &g.Min), read(high, "max", &g.Max)
	switch {
	case low == nil && high == nil && !s.empty["min"] && !s.empty["max"]:
		r.fail(s.node, "give min, max or both", "range limits nothing")
	case okMin && okMax && (low != nil || high != nil):
		r.possibleRange(s, g, lo, hi, rule.Canonical)
	}
	return rule
}

// minus reads the parameter that is subtracted. The two must be worked with in
// one unit; a difference of degrees and percent means nothing.
func (r *reader) minus(s section, rule *ParameterRule, m *parameterMap) *ParameterRule {
	n := s.get("minus")
	if n == nil {
		return nil
	}
	other := r.continuous(n, m)
	switch {
	case other == nil || rule == nil:
		return other
	case other.Parameter == rule.Parameter:
		r.fail(n, "name the other side", "minus: the difference of %s from itself is always 0", rule.Parameter)
		return nil
	case other.Canonical != rule.Canonical:
		r.fail(n, "", "minus: %s is in %s and %s in %s", other.Parameter, unitName(other.Canonical), rule.Parameter, unitName(rule.Canonical))
		return nil
	}
	return other
}

// possibleRange refuses limits that nothing can meet or nothing can miss.
func (r *reader) possibleRange(s section, g *Range, lo, hi float64, u unit.Unit) {
	low, high := s.get("min"), s.get("max")
	at := high
	if at == nil {
		at = low
	}
	bounds := reach(lo, hi, u) + " is possible"
	what := string(g.Parameter)
	if g.Minus != "" {
		what += " minus " + string(g.Minus)
	}
	switch {
	case g.Min == g.Max:
		r.fail(at, "use one_of with a tolerance for a single value", "the range is empty: min and max are the same")
		return
	case g.Min > g.Max:
		r.fail(at, "swap min and max", "the range is empty: min is above max")
		return
	case g.Min > hi || g.Max < lo:
		r.fail(at, bounds, "the check must always fail: %s is never in this range", what)
		return
	}
	// A limit beyond what a sensor can show is a slip of the pen: it looks like
	// a safeguard and is none.
	if low != nil && g.Min <= lo {
		r.fail(low, bounds, "min can never be passed: %s is never below it", what)
	}
	if high != nil && g.Max >= hi {
		r.fail(high, bounds, "max can never be passed: %s is never above it", what)
	}
}

// state reads a check on a discrete.
func (r *reader) state(n *yaml.Node, c *Check, m *parameterMap) *ParameterRule {
	s := r.section(n, "state", "parameter", "is")
	at := s.need("parameter", "parameter: parking_brake")
	rule := r.refer(at, m)
	is := s.need("is", "is: released")
	if rule == nil {
		return nil
	}
	c.State = &State{Parameter: rule.Parameter}
	if rule.Kind != flightdata.Discrete {
		r.fail(at, "use range or one_of", "%s is a number and has no states", rule.Parameter)
		return rule
	}
	// A state of the definition that the recorder never writes can never be
	// met: the brake would be "not released" for ever.
	var known []string
	for _, st := range rule.States {
		if len(st.Cells) > 0 {
			known = append(known, st.State)
		}
	}
	word, ok := r.text(is, "is")
	if ok && !slices.Contains(known, word) {
		hint := spelling.DidYouMean(word, known)
		if slices.ContainsFunc(rule.States, func(s StateRule) bool { return s.State == word }) {
			hint = "map the texts of this state under parameters"
		}
		r.fail(is, hint, "the check must always fail: %s is never recorded as %q", rule.Parameter, word)
	}
	c.State.Is = word
	return rule
}
