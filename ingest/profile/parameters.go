package profile

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/spelling"
	"rollonset/ingest/unit"
)

// parameterMap is the parameter map while the rest of the file refers to it.
type parameterMap struct {
	rules []ParameterRule
	// broken are names that the file maps, but with a mistake; what refers to
	// them is not reported as unmapped on top.
	broken map[flightdata.Parameter]bool
	own    []flightdata.Definition
	// ownUnits are the units in which the profile defines its own parameters.
	ownUnits map[flightdata.Parameter]unit.Unit
	// keys are where the entries stand, for messages that concern two of them.
	keys map[flightdata.Parameter]*yaml.Node
	// unread says that the map as a whole could not be read.
	unread bool
}

// find is the rule of a parameter, nil when the map has none.
func (m *parameterMap) find(name flightdata.Parameter) *ParameterRule {
	for i := range m.rules {
		if m.rules[i].Parameter == name {
			return &m.rules[i]
		}
	}
	return nil
}

// names lists the mapped parameters.
func (m *parameterMap) names() []string {
	out := make([]string, len(m.rules))
	for i, rule := range m.rules {
		out[i] = string(rule.Parameter)
	}
	return out
}

// define finds a definition in the core set or among the profile's own.
func (m *parameterMap) define(p flightdata.Parameter) (flightdata.Definition, bool) {
	for _, d := range m.own {
		if d.Name == p {
			return d, true
		}
	}
	return flightdata.Define(p)
}

// everyName lists what a key of the parameter map can be, for proposals.
func (m *parameterMap) everyName() []string {
	var out []string
	for _, d := range append(flightdata.Definitions(), m.own...) {
		name := string(d.Name)
		switch {
		case d.PerEngine:
			out = append(out, name+".*")
		case d.Sided:
			out = append(out, name, name+".left", name+".right")
		default:
			out = append(out, name)
		}
	}
	return out
}

// parameters reads the parameter map and the profile's own definitions.
func (r *reader) parameters(top section, p *Profile) *parameterMap {
	m := &parameterMap{
		broken:   map[flightdata.Parameter]bool{},
		ownUnits: map[flightdata.Parameter]unit.Unit{},
		keys:     map[flightdata.Parameter]*yaml.Node{},
	}
	r.ownParameters(top, m)
	n := top.need("parameters", "parameters: {ground_speed: {column: GS, unit: kt}}")
	if n == nil || n.Kind != yaml.MappingNode {
		if n != nil {
			r.fail(n, "for example parameters: {ground_speed: {column: GS, unit: kt}}", "parameters must be keys with values, not %s", describe(n))
		}
		m.unread = true
		return m
	}
	// A wildcard gives way to entries for single engines wherever they stand,
	// so wildcards wait until all of those are read.
	type pending struct{ key, value *yaml.Node }
	var wild []pending
	order := map[flightdata.Parameter]int{}
	for key, value := range r.entries(n, "parameters") {
		order[flightdata.Parameter(strings.TrimSuffix(key.Value, ".*"))] = len(order)
		if strings.HasSuffix(key.Value, ".*") {
			wild = append(wild, pending{key, value})
			continue
		}
		r.parameter(m, key, value, flightdata.Parameter(key.Value), 0)
	}
	for _, w := range wild {
		r.wildcard(m, w.key, w.value, p.Engines)
	}
	r.sortRules(m, order)
	r.checkEngines(m, p.Engines)
	r.checkSides(m)
	r.checkColumns(m, p)
	r.checkOwnMapped(m, n)
	r.checkSpeed(m, n)
	p.Parameters = m.rules
	return m
}

// sortRules brings the rules into the order of the file, engines in theirs.
func (r *reader) sortRules(m *parameterMap, order map[flightdata.Parameter]int) {
	place := func(p ParameterRule) int {
		if i, ok := order[p.Parameter]; ok {
			return i
		}
		return order[p.Parameter.Base()]
	}
	slices.SortStableFunc(m.rules, func(a, b ParameterRule) int {
		if a.Parameter.Base() == b.Parameter.Base() && a.Parameter.EngineNumber() > 0 {
			return a.Parameter.EngineNumber() - b.Parameter.EngineNumber()
		}
		return place(a) - place(b)
	})
}

// wildcard expands "n1.*" to every engine that has no entry of its own.
func (r *reader) wildcard(m *parameterMap, key, value *yaml.Node, engines int) {
	base := flightdata.Parameter(strings.TrimSuffix(key.Value, ".*"))
	if d, _ := m.define(base.Engine(1)); !d.PerEngine {
		r.fail(key, spelling.DidYouMean(key.Value, m.everyName()), "unknown parameter %q: it does not exist per engine", key.Value)
		m.broken[base] = true
		return
	}
	before := len(r.problems)
	for i := 1; i <= engines; i++ {
		name := base.Engine(i)
		if m.find(name) == nil && !m.broken[name] {
			r.parameter(m, key, value, name, i)
		}
		if len(r.problems) > before {
			// The same mistake once per engine would say nothing more.
			for j := 1; j <= engines; j++ {
				m.broken[base.Engine(j)] = true
			}
			return
		}
	}
}

// parameter reads one entry of the map. engine is the number that replaces *
// in the columns, zero for a literal entry.
func (r *reader) parameter(m *parameterMap, key, value *yaml.Node, name flightdata.Parameter, engine int) {
	def, known := m.define(name)
	if !known {
		m.broken[name] = true
		hint := spelling.DidYouMean(key.Value, m.everyName())
		if def.PerEngine {
			hint = fmt.Sprintf("write %s.* for all engines or %s.1 for one", name.Base(), name.Base())
		}
		r.fail(key, orElse(hint, "define it under own_parameters"), "unknown parameter %q", key.Value)
		return
	}
	before := len(r.problems)
	keys := kindKeys(def.Kind)
	if name.Base() == flightdata.Airspeed { // only an air-data computer has a floor
		keys = append(keys, "floor")
	}
	s := r.section(value, "parameter "+key.Value, allOf(keys, foreign)...)
	for _, k := range foreign {
		if n := s.get(k); n != nil && !slices.Contains(keys, k) {
			r.fail(n, "keys here: "+strings.Join(keys, ", "), "%s is %s and has no %s", key.Value, kindName(def.Kind), k)
		}
	}
	// Not-a-number bounds leave the decision to the definition.
	rule := ParameterRule{Parameter: name, Kind: def.Kind, Lo: math.NaN(), Hi: math.NaN(), Floor: math.NaN(), AgreeWithin: math.NaN(), Line: key.Line}
	r.sampling(s, key, &rule, strings.ToUpper(string(name.Base())), engine)
	if def.Kind == flightdata.Discrete {
		rule.States = r.states(s.need("states", exampleStates(def)), def)
		r.checkBits(s.get("states"), &rule)
	} else {
		r.measured(s, m, def, &rule)
	}
	if len(r.problems) > before || s.node == nil {
		m.broken[name] = true
		return
	}
	m.keys[name] = key
	m.rules = append(m.rules, rule)
}

// foreign are the keys that some parameters have and some have not.
var foreign = []string{"unit", "range", "states", "floor", "bit", "bits", "agree_within"}

// allOf joins two lists of words without repetition.
func allOf(a, b []string) []string {
	out := slices.Clone(a)
	for _, s := range b {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func kindName(k flightdata.Kind) string {
	if k == flightdata.Discrete {
		return "a discrete"
	}
	return "a number"
}

// measured reads what only a continuous parameter has.
func (r *reader) measured(s section, m *parameterMap, def flightdata.Definition, rule *ParameterRule) {
	own, isOwn := m.ownUnits[rule.Parameter]
	if isOwn && s.get("unit") == nil {
		rule.Unit = own // stated with the definition
	} else if u, ok := r.unit(s, def); ok {
		rule.Unit = u
	} else {
		return
	}
	rule.Canonical = unit.Canonical(rule.Unit.Dim())
	if n := s.get("range"); n != nil {
		rule.Lo, rule.Hi = r.interval(n, s.what+" range", rule.Canonical)
	}
	r.agree(s, rule)
	if isOwn && math.IsNaN(rule.Lo) && def.Lo < def.Hi {
		rule.Lo, rule.Hi = def.Lo, def.Hi // nobody else knows the definition
	}
	if n := s.get("floor"); n != nil {
		rule.Floor = r.positive(n, "floor", rule.Canonical, math.NaN(), 100, "leave it out when low readings are to be taken as they are")
	}
}

// unit reads the recorded unit. Only a parameter that may be a plain number,
// such as a lever recorded as the number of its detent, can say "none".
func (r *reader) unit(s section, def flightdata.Definition) (unit.Unit, bool) {
	n := s.need("unit", "unit: "+unitExample(def))
	text, ok := r.text(n, "unit")
	if !ok {
		return unit.Unit{}, false
	}
	if text == "none" {
		text = ""
	}
	u, err := unit.Parse(text)
	if err == nil && slices.Contains(def.Dims, u.Dim()) {
		return u, true
	}
	var fit []string
	for _, d := range def.Dims {
		if d == unit.Pure {
			fit = append(fit, "none")
		}
		fit = append(fit, symbols(d)...)
	}
	if err != nil {
		r.fail(n, unitProposal(text, fit), "unknown unit %q", text)
	} else {
		r.fail(n, "units that fit: "+strings.Join(fit, ", "), "unit %q is one of %s, in which %s cannot be", n.Value, u.Dim(), def.Name)
	}
	return unit.Unit{}, false
}

func unitExample(def flightdata.Definition) string {
	if len(def.Dims) == 0 || def.Dims[0] == unit.Pure {
		return "none"
	}
	return unit.Canonical(def.Dims[0]).Symbol
}

// columns reads the recorded names, with * replaced by the engine.
func (r *reader) columns(n *yaml.Node, engine int) []string {
	out := r.texts(n, "column", true)
	for i, c := range out {
		star := strings.Contains(c, "*")
		switch {
		case engine > 0 && !star:
			r.fail(n, "put * where the number of the engine stands", "column %q has no * and would be the same for every engine", c)
		case engine == 0 && star:
			r.fail(n, "write the recorded name out", "column %q: * stands for the engine and needs a parameter such as n1.*", c)
		case engine > 0:
			out[i] = strings.ReplaceAll(c, "*", strconv.Itoa(engine))
		}
	}
	return out
}

// fastestRate bounds the expected rate; the recorder lists end at 16 a second.
const fastestRate = 1000

func (r *reader) rate(n *yaml.Node) float64 {
	return r.positive(n, "rate", unit.Unit{}, 0, fastestRate, "samples per second, for example 0.5; or leave it out")
}

// interval reads [lo, hi] with units.
func (r *reader) interval(n *yaml.Node, what string, u unit.Unit) (lo, hi float64) {
	ends := r.list(n, what)
	if n.Kind == yaml.SequenceNode && len(ends) > 0 && len(ends) != 2 {
		r.fail(n, "write [lowest, highest]", "%s has %d entries", what, len(ends))
	}
	if len(ends) != 2 {
		return math.NaN(), math.NaN()
	}
	lo, ok1 := r.quantity(ends[0], what, u)
	hi, ok2 := r.quantity(ends[1], what, u)
	if ok1 && ok2 && lo >= hi {
		r.fail(n, "write [lowest, highest]", "%s is empty: %s is not below %s", what, ends[0].Value, ends[1].Value)
	}
	return lo, hi
}

// states reads the texts of each state of a discrete. Every state of the
// definition gets a rule, in the order of the definition; one that the file
// leaves out has no texts.
func (r *reader) states(n *yaml.Node, def flightdata.Definition) []StateRule {
	out := make([]StateRule, len(def.States))
	for i, s := range def.States {
		out[i].State = s
	}
	s := r.section(n, "states", def.States...)
	if s.node == nil {
		return out
	}
	// One text for two states would make the state a matter of chance.
	owner := map[string]string{}
	for i := range out {
		value := s.get(out[i].State)
		out[i].Cells = r.texts(value, "the texts of state "+out[i].State, true)
		for _, c := range out[i].Cells {
			if other, taken := owner[c]; taken {
				r.fail(value, "give each text to one state", "%q stands for %q and for %q", c, other, out[i].State)
			}
			owner[c] = out[i].State
		}
	}
	// With one state nothing could ever be seen to change, and a dead wire
	// would look the same as a live one.
	if len(s.values) < 2 && len(s.empty) == 0 {
		r.fail(n, "for example "+exampleStates(def), "a discrete needs at least two states that can be told apart")
	}
	return out
}

func exampleStates(def flightdata.Definition) string {
	parts := make([]string, len(def.States))
	for i, s := range def.States {
		parts[i] = fmt.Sprintf(`%s: ["%d"]`, s, i)
	}
	return "states: {" + strings.Join(parts, ", ") + "}"
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

var ownName = regexp.MustCompile(`^[a-z][a-z0-9_]{0,39}$`)
