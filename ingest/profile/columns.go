package profile

import (
	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
)

// checkEngines reports entries for engines that the aircraft does not have.
func (r *reader) checkEngines(m *parameterMap, engines int) {
	if engines == 0 {
		return // a mistake already told
	}
	for _, rule := range m.rules {
		if e := rule.Parameter.EngineNumber(); e > engines {
			r.fail(m.keys[rule.Parameter], "remove it or correct engines", "%s is of engine %d, but the profile says engines: %d", rule.Parameter, e, engines)
		}
	}
}

// checkSides demands that left, right and every engine of one quantity are
// recorded in units of one dimension: they are compared with each other.
func (r *reader) checkSides(m *parameterMap) {
	first := map[flightdata.Parameter]*ParameterRule{}
	for i := range m.rules {
		rule := &m.rules[i]
		base := rule.Parameter.Base()
		if f := first[base]; f == nil {
			first[base] = rule
		} else if f.Canonical != rule.Canonical {
			r.fail(m.keys[rule.Parameter], "give both in units of one kind",
				"%s is in %s and %s in %s", rule.Parameter, unitName(rule.Unit), f.Parameter, unitName(f.Unit))
		}
	}
}

// checkColumns reports a recorded name that is given to two parameters. Two
// meanings of one column are nearly always a slip of the pen; different bits
// of one word are none. In a long recording the names are those in its cells.
func (r *reader) checkColumns(m *parameterMap, p *Profile) {
	owner := map[string]string{}
	rules := map[string][]*ParameterRule{}
	if p.Long == nil {
		for _, c := range p.Time.Columns {
			owner[c] = "the time"
		}
		if p.Time.DateColumn != "" {
			owner[p.Time.DateColumn] = "the date"
		}
	}
	for i := range m.rules {
		rule := &m.rules[i]
		for _, c := range rule.Columns {
			for _, other := range rules[c] {
				if !sharedBits(rule, other) {
					owner[c] = string(other.Parameter)
					break
				}
				delete(owner, c)
			}
			if other, taken := owner[c]; taken {
				hint := "give each column to one parameter"
				if rule.Bits.Set {
					hint = "give each bit to one parameter"
				}
				r.fail(m.keys[rule.Parameter], hint, "column %q is used for %s and for %s", c, other, rule.Parameter)
				continue
			}
			owner[c] = string(rule.Parameter)
			rules[c] = append(rules[c], rule)
		}
		if p.Long != nil && rule.InRow {
			r.fail(m.keys[rule.Parameter], "write column", "%s: in_row makes no sense where every row is one sample (long)", rule.Parameter)
		}
	}
}

// checkSpeed demands a speed. Without one no attempt could ever be found, and
// a profile that finds nothing looks like a fleet without events.
func (r *reader) checkSpeed(m *parameterMap, n *yaml.Node) {
	for _, name := range []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed} {
		if m.find(name) != nil || m.broken[name] {
			return
		}
	}
	r.fail(n, "map ground_speed; airspeed can stand in for it", "parameters has no speed, so no attempt could ever be found")
}
