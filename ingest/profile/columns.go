package profile

import (
	"fmt"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
)

// checkEngines reports entries for engines that the aircraft does not have.
func (r *reader) checkEngines(m *parameterMap, engines int, n *yaml.Node) {
	if engines == 0 {
		return // a mistake already told
	}
	for _, rule := range m.rules {
		if e := rule.Parameter.EngineNumber(); e > engines {
			r.failAt(rule.Line, r.keyColumn(n, rule.Line), "remove it or correct engines", fmt.Sprintf("%s is of engine %d, but the profile says engines: %d", rule.Parameter, e, engines))
		}
	}
}

// checkSides demands that left, right and every engine of one quantity are
// recorded in units of one dimension: they are compared with each other.
func (r *reader) checkSides(m *parameterMap, n *yaml.Node) {
	first := map[flightdata.Parameter]*ParameterRule{}
	for i := range m.rules {
		rule := &m.rules[i]
		base := rule.Parameter.Base()
		if f := first[base]; f == nil {
			first[base] = rule
		} else if f.Canonical != rule.Canonical {
			r.failAt(rule.Line, r.keyColumn(n, rule.Line), "give both in units of one kind",
				string(rule.Parameter)+" is in "+unitName(rule.Unit)+" and "+string(f.Parameter)+" in "+unitName(f.Unit))
		}
	}
}

// checkColumns reports a recorded name that is given to two parameters. Two
// meanings of one column are nearly always a slip of the pen.
func (r *reader) checkColumns(m *parameterMap, t TimeRule, n *yaml.Node) {
	owner := map[string]string{}
	for _, c := range t.Columns {
		owner[c] = "the time"
	}
	for _, rule := range m.rules {
		for _, c := range rule.Columns {
			if other, taken := owner[c]; taken {
				r.failAt(rule.Line, r.keyColumn(n, rule.Line), "give each column to one parameter",
					"column \""+c+"\" is used for "+other+" and for "+string(rule.Parameter))
				continue
			}
			owner[c] = string(rule.Parameter)
		}
	}
}

// keyColumn is the column at which the key on that line begins.
func (r *reader) keyColumn(n *yaml.Node, line int) int {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Line == line {
			return n.Content[i].Column
		}
	}
	return 1
}
