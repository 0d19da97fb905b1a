package profile

import (
	"slices"
	"strconv"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/flightdata"
)

// sampling reads how the samples of a parameter lie in the file: under which
// names, several to a row, filled forward, as bits of a word.
func (r *reader) sampling(s section, key *yaml.Node, rule *ParameterRule, example string, engine int) {
	column, inRow := s.get("column"), s.get("in_row")
	switch {
	case column != nil && inRow != nil:
		r.fail(inRow, "column names alternatives, in_row the samples of one row; remove one", "%s has both column and in_row", key.Value)
	case inRow != nil:
		rule.InRow = true
		rule.Columns = r.columns(inRow, engine)
		if inRow.Kind != yaml.SequenceNode || len(inRow.Content) == 1 {
			r.fail(inRow, "list the columns in the order of time; for a single one write column", "in_row needs at least two columns")
		}
	default:
		rule.Columns = r.columns(s.need("column", "column: "+example), engine)
	}
	rule.Rate = r.rate(s.get("rate"))
	if n := s.get("filled"); n != nil {
		if rule.Filled = r.truth(n, "filled"); rule.Filled && s.get("rate") == nil {
			r.fail(n, "add rate, the samples per second of the recorder", "%s is filled, but without a rate nobody can tell its samples from repetitions", key.Value)
		}
		if rule.Filled && rule.InRow {
			r.fail(n, "remove it", "%s has several samples to a row, which are not filled", key.Value)
		}
	}
	rule.Bits = r.bits(s, key.Value)
	if n := s.get("agree_within"); n != nil && (rule.InRow || len(rule.Columns) < 2) {
		r.fail(n, "list several names under column, or remove it", "%s has one source, so nothing can disagree", key.Value)
	}
}

// checkBits demands that the texts of the states are values that the bits can
// have; others would never be met.
func (r *reader) checkBits(n *yaml.Node, rule *ParameterRule) {
	if !rule.Bits.Set || n == nil {
		return
	}
	most := rule.Bits.Of(1<<(highestBit+1) - 1)
	for _, s := range rule.States {
		for _, c := range s.Cells {
			if v, err := strconv.ParseUint(c, 10, 64); err != nil || v > most {
				r.fail(n, "write whole numbers from 0 to "+strconv.FormatUint(most, 10), "%q can never be the value of %s", c, rule.Bits)
			}
		}
	}
}

// sharedBits says whether two rules may read one column: as different bits of
// one word.
func sharedBits(a, b *ParameterRule) bool {
	return a.Bits.Set && b.Bits.Set && (a.Bits.To < b.Bits.From || b.Bits.To < a.Bits.From)
}

// agree reads the tolerance beyond which two sources disagree.
func (r *reader) agree(s section, rule *ParameterRule) {
	rule.AgreeWithin = r.positive(s.get("agree_within"), "agree_within", rule.Canonical, rule.AgreeWithin, 1e9, "leave it out when the sources are not to be compared")
}

// words are the keys of a parameter that belong to one kind only.
func kindKeys(kind flightdata.Kind) []string {
	keys := []string{"column", "in_row", "filled", "rate"}
	if kind == flightdata.Discrete {
		return append(keys, "states", "bit", "bits")
	}
	return slices.Concat(keys, []string{"unit", "range", "agree_within"})
}
