package profile

import (
	"fmt"
	"math"
	"slices"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// band reads a check against a table.
func (r *reader) band(n *yaml.Node, c *Check, m *parameterMap) *ParameterRule {
	s := r.section(n, "band", "parameter", "over", "select", "tolerance", "tables")
	rule := r.continuous(s.need("parameter", "parameter: stabilizer_trim"), m)
	over := r.over(s, rule, m)
	var chosen *ParameterRule
	if at := s.get("select"); at != nil {
		chosen = r.continuous(at, m)
	}
	tables := s.need("tables", "tables: [{gross_weight: […], low: […], high: […]}]")
	if rule == nil || over == nil || tables == nil || s.get("select") != nil && chosen == nil {
		return rule
	}
	// From here on the shape of every table is known, so that its cells can
	// be judged one by one.
	b := &Band{Parameter: rule.Parameter}
	c.Band = b
	for _, o := range over {
		b.Over = append(b.Over, o.Parameter)
	}
	r.selection(s, b, chosen)
	var places []section // of the tables that could be read
	for _, at := range r.list(tables, "tables") {
		if s, t, ok := r.table(at, rule, over, chosen); ok {
			b.Tables, places = append(b.Tables, t), append(places, s)
		}
	}
	if nodes := tables.Content; chosen == nil && tables.Kind == yaml.SequenceNode && len(nodes) > 1 {
		r.fail(nodes[1], "add select: flap_lever and a setting to each table", "a second table, and nothing chooses between the two")
	}
	r.apart(b, places, chosen)
	r.bites(b, tables, rule)
	return rule
}

// over reads the one or two parameters that the band depends on; nil when
// they could not be told.
func (r *reader) over(s section, watched *ParameterRule, m *parameterMap) []*ParameterRule {
	n := s.need("over", "over: [gross_weight, center_of_gravity]")
	// More than two axes would be a table that nobody can proofread.
	nodes := r.list(n, "over")
	if len(nodes) > 2 {
		r.fail(nodes[2], "split the tables by select", "over names %d parameters; a table has at most two", len(nodes))
		return nil
	}
	var out []*ParameterRule
	for _, at := range nodes {
		rule := planned(at, m)
		if rule == nil {
			rule = r.continuous(at, m)
		}
		if rule == nil {
			return nil
		}
		same := func(o *ParameterRule) bool { return o.Parameter == rule.Parameter }
		if slices.ContainsFunc(out, same) || watched != nil && same(watched) {
			r.fail(at, "name another parameter", "over: %q is used in this band already", at.Value)
			return nil
		}
		out = append(out, rule)
	}
	return out
}

// planned is a rule for weight or center of gravity where the recorder has
// neither: the flight list may give them, and without it the value is tested
// against all bands that could apply. Nil: not one of the two, or mapped.
func planned(n *yaml.Node, m *parameterMap) *ParameterRule {
	name := flightdata.Parameter(n.Value)
	if name != flightdata.GrossWeight && name != flightdata.CenterOfGravity {
		return nil
	}
	if m.unread || m.broken[name] || m.find(name) != nil {
		return nil
	}
	def, _ := flightdata.Define(name)
	u := unit.Canonical(def.Dims[0])
	return &ParameterRule{Parameter: name, Unit: u, Canonical: u, Lo: math.NaN(), Hi: math.NaN(), Floor: math.NaN()}
}

// selection reads how a table is chosen.
func (r *reader) selection(s section, b *Band, chosen *ParameterRule) {
	if chosen == nil {
		if n := s.get("tolerance"); n != nil {
			r.fail(n, "remove it, or add select", "tolerance: nothing is chosen in this band")
		}
		return
	}
	b.Select = chosen.Parameter
	if n := s.need("tolerance", "tolerance: 0.5 deg"); n != nil {
		lo, hi := possible(chosen)
		b.Tolerance = r.positive(n, "tolerance", chosen.Canonical, 0, hi-lo, "give the accuracy of the sensor; a measured value is hardly ever exact")
	}
}

// table reads one table; false when its shape is wrong.
func (r *reader) table(n *yaml.Node, rule *ParameterRule, over []*ParameterRule, chosen *ParameterRule) (section, Table, bool) {
	keys := []string{"low", "high"}
	for _, o := range over {
		keys = append(keys, string(o.Parameter))
	}
	if chosen != nil {
		keys = append(keys, "setting")
	}
	s := r.section(n, "table", keys...)
	if s.node == nil {
		return s, Table{}, false
	}
	// The axes first: without them rows and columns cannot be counted, and a
	// mistake in an axis would be told again for each row.
	before := len(r.problems)
	t := Table{Setting: math.NaN(), Line: n.Line}
	if chosen != nil {
		if at := s.need("setting", "setting: 10 "+chosen.Canonical.Symbol); at != nil {
			lo, hi := possible(chosen)
			t.Setting = r.bounded(at, "setting", chosen.Canonical, math.NaN(), lo, hi)
		}
	}
	t.X = r.axis(s, over[0])
	t.Y = []float64{0} // a band over one parameter has one unused node
	if len(over) == 2 {
		t.Y = r.axis(s, over[1])
	}
	low, high := s.need("low", "low: […]"), s.need("high", "high: […]")
	if len(r.problems) > before || t.X == nil || t.Y == nil || low == nil || high == nil {
		// An edge without a value was told when the section was opened.
		return s, t, false
	}
	t.Low = r.grid(low, "low", t, over, rule.Canonical)
	t.High = r.grid(high, "high", t, over, rule.Canonical)
	if t.Low == nil || t.High == nil {
		return s, t, false
	}
	r.cells(t, low, high, rule, len(over) == 2)
	return s, t, len(r.problems) == before
}

// axis reads the nodes of one axis: at least two, strictly rising, possible.
func (r *reader) axis(s section, rule *ParameterRule) []float64 {
	key := string(rule.Parameter)
	n := s.need(key, key+": […]")
	if n == nil {
		return nil
	}
	lo, hi := possible(rule)
	nodes := r.list(n, key)
	var out []float64
	for _, at := range nodes {
		v, ok := r.quantity(at, key, rule.Canonical)
		switch {
		case !ok:
			return nil
		case v < lo || v > hi:
			r.fail(at, reachOf(rule), "%s: %q is never reached", key, at.Value)
			return nil
		case len(out) > 0 && v <= out[len(out)-1]:
			r.fail(at, "nodes must rise from one to the next; the columns of low and high follow them", "%s: %q is not above the node before", key, at.Value)
			return nil
		}
		out = append(out, v)
	}
	// One node would make the band look as if it depended on something.
	if len(nodes) == 1 {
		r.fail(n, "give at least two nodes, or leave the parameter out of over", "%s has one node only, so the band does not depend on it", key)
		return nil
	}
	return out
}

// grid reads the edge of a band: a row for each X node, in it a value for
// each Y node; a plain list when there is one axis.
func (r *reader) grid(n *yaml.Node, what string, t Table, over []*ParameterRule, u unit.Unit) [][]float64 {
	rows := r.list(n, what)
	if n.Kind != yaml.SequenceNode {
		return nil
	}
	if len(rows) != len(t.X) {
		r.fail(n, "", "%s has %s for the %d nodes of %s", what, counted(len(rows), "row"), len(t.X), over[0].Parameter)
		return nil
	}
	out := make([][]float64, 0, len(rows))
	for _, row := range rows {
		// Over one parameter the row is the value itself, without brackets.
		cells := []*yaml.Node{row}
		if len(over) == 2 {
			if cells = r.list(row, "a row of "+what); row.Kind != yaml.SequenceNode {
				return nil
			}
		}
		if len(cells) != len(t.Y) {
			r.fail(row, "", "this row of %s has %s for the %d nodes of %s", what, counted(len(cells), "value"), len(t.Y), over[1].Parameter)
			return nil
		}
		values := make([]float64, len(cells))
		for i, c := range cells {
			v, ok := r.quantity(c, what, u)
			if !ok {
				return nil
			}
			values[i] = v
		}
		out = append(out, values)
	}
	return out
}

// cells compares the two edges node by node.
func (r *reader) cells(t Table, low, high *yaml.Node, rule *ParameterRule, two bool) {
	lo, hi := possible(rule)
	for i := range t.Low {
		for j := range t.Low[i] {
			// The caret goes to the upper edge; the hint quotes the lower.
			at, under := high.Content[i], low.Content[i]
			if two {
				at, under = at.Content[j], under.Content[j]
			}
			switch {
			case t.Low[i][j] >= t.High[i][j]:
				r.fail(at, fmt.Sprintf("low says %q there", under.Value), "the band is empty here: %q is not above its lower edge", at.Value)
			case t.Low[i][j] > hi || t.High[i][j] < lo:
				r.fail(at, reachOf(rule), "the check must always fail here: the band lies outside of what is possible")
			}
		}
	}
}

// apart demands that the settings rise and that no value chooses two tables.
func (r *reader) apart(b *Band, places []section, chosen *ParameterRule) {
	if chosen == nil {
		return
	}
	for i := 1; i < len(b.Tables); i++ {
		last, v := b.Tables[i-1].Setting, b.Tables[i].Setting
		at := places[i].get("setting")
		switch {
		case v <= last:
			r.fail(at, "list the tables by rising setting, each setting once", "setting %s is not above the one before", amount(v, chosen.Canonical))
		case v-last <= 2*b.Tolerance:
			r.fail(at, "make the tolerance of the band smaller", "a value between %s and %s would choose both tables", amount(last, chosen.Canonical), amount(v, chosen.Canonical))
		}
	}
}

// bites refuses a band that nothing can leave.
func (r *reader) bites(b *Band, tables *yaml.Node, rule *ParameterRule) {
	lo, hi := possible(rule)
	if math.IsInf(lo, 0) || math.IsInf(hi, 0) || len(b.Tables) == 0 {
		return
	}
	// One cell that can be left is enough: a band may be wide open at one end
	// of the table on purpose.
	for _, t := range b.Tables {
		for i := range t.Low {
			for j := range t.Low[i] {
				if t.Low[i][j] > lo || t.High[i][j] < hi {
					return
				}
			}
		}
	}
	r.fail(tables, reachOf(rule), "the check can never fail: every band covers all that is possible")
}
