package profile

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// maxOwn bounds the definitions of one profile.
const maxOwn = 200

// ownParameters reads the definitions of parameters that the core set does
// not have.
func (r *reader) ownParameters(top section, m *parameterMap) {
	n := top.get("own_parameters")
	if n == nil {
		return
	}
	if n.Kind != yaml.MappingNode {
		r.fail(n, "for example own_parameters: {cargo_door: {kind: discrete, states: [closed, open]}}", "own_parameters must be keys with values, not %s", describe(n))
		return
	}
	for key, value := range r.entries(n, "own_parameters") {
		if len(m.own) >= maxOwn {
			r.fail(key, "", "more than %d own parameters", maxOwn)
			return
		}
		name := flightdata.Parameter(key.Value)
		switch {
		case !ownName.MatchString(key.Value):
			r.fail(key, "lower-case letters, digits and _, at most 40", "%q cannot be the name of a parameter", key.Value)
			m.broken[name] = true
			continue
		case inCoreSet(name):
			r.fail(key, "map it under parameters, without defining it", "%q is a canonical parameter already", key.Value)
			continue
		}
		// A definition with a mistake still counts as known below, so that the
		// map and the checks are not told off for using it.
		before := len(r.problems)
		def := r.ownParameter(m, key.Value, value)
		if def.Name == "" || len(r.problems) > before {
			m.broken[name] = true
		}
		if def.Name != "" {
			m.own = append(m.own, def)
		}
	}
}

func inCoreSet(name flightdata.Parameter) bool {
	return slices.ContainsFunc(flightdata.Definitions(), func(d flightdata.Definition) bool { return d.Name == name })
}

// ownParameter reads one definition; one without a name could not be read.
func (r *reader) ownParameter(m *parameterMap, name string, value *yaml.Node) flightdata.Definition {
	s := r.section(value, "own parameter "+name, "kind", "unit", "states", "range")
	kind := r.word(s.need("kind", "kind: continuous, or kind: discrete"), "kind", "", "continuous", "discrete")
	def := flightdata.Definition{Name: flightdata.Parameter(name)}
	// A key of the other kind is refused rather than ignored: whoever wrote it
	// expects something of it.
	switch kind {
	case "discrete":
		def.Kind = flightdata.Discrete
		for _, key := range []string{"unit", "range"} {
			if n := s.get(key); n != nil {
				r.fail(n, "remove it", "a discrete has no %s", key)
			}
		}
		n := s.need("states", "states: [closed, open]")
		def.States = r.texts(n, "states", false)
		if n != nil && n.Kind == yaml.SequenceNode && len(n.Content) == 1 {
			r.fail(n, "for example [closed, open]", "a discrete needs at least two states")
		}
	case "continuous":
		if n := s.get("states"); n != nil {
			r.fail(n, "remove them, or write kind: discrete", "a continuous parameter has no states")
		}
		r.ownUnit(s, m, &def)
	default:
		return flightdata.Definition{}
	}
	return def
}

// ownUnit reads unit and range of a continuous parameter of the profile.
func (r *reader) ownUnit(s section, m *parameterMap, def *flightdata.Definition) {
	n := s.need("unit", "unit: deg, or unit: none")
	text, ok := r.text(n, "unit")
	if !ok {
		return
	}
	if text == "none" {
		text = ""
	}
	u, err := unit.Parse(text)
	if err != nil {
		r.fail(n, unitProposal(text, append(unit.Symbols(), "none")), "unknown unit %q", text)
		return
	}
	def.Dims = []unit.Dimension{u.Dim()}
	m.ownUnits[def.Name] = u
	if n := s.get("range"); n != nil {
		def.Lo, def.Hi = r.interval(n, s.what+" range", unit.Canonical(u.Dim()))
	}
}

// checkOwnMapped reports definitions that nothing is recorded for; a name that
// was misspelt in one of the two places shows here.
func (r *reader) checkOwnMapped(m *parameterMap, n *yaml.Node) {
	for _, d := range m.own {
		if m.find(d.Name) == nil && !m.broken[d.Name] {
			r.fail(n, fmt.Sprintf("add %s: {column: …}, or remove the definition", d.Name), "own parameter %q is defined but not mapped to a column", d.Name)
		}
	}
}
