package ingest

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/table"
)

// empties notes what looks like a text for "no sample" in a column of numbers:
// a word that is all that is wrong with it, or nines at the end of its range.
func (ins *Inspection) empties(numbers samples) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range numbers.Numbers {
		if v == v {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	if lo >= hi {
		return
	}
	if ins.odd == nil {
		ins.odd = map[string]int{}
	}
	for _, v := range []float64{lo, hi} {
		if text := strconv.FormatFloat(v, 'f', -1, 64); nines(text) {
			ins.odd[text]++
		}
	}
	bad := numbers.BadFirst
	if len(bad) > 0 && !slices.ContainsFunc(bad, func(c table.BadCell) bool { return c.Text != bad[0].Text }) {
		ins.odd[bad[0].Text]++
	}
}

// nines says whether a number is written with nines only, three or more.
func nines(text string) bool {
	digits := strings.Trim(text, "-")
	return len(digits) >= 3 && strings.Trim(digits, "9.") == ""
}

// fewOdd is in how many columns a text must be found to be believed.
const fewOdd = 2

// looksEmpty lists the texts that stand for no sample in several columns, in
// their order; nil when there are none.
func (ins *Inspection) looksEmpty() []string {
	var out []string
	for _, text := range slices.Sorted(maps.Keys(ins.odd)) {
		if ins.odd[text] >= fewOdd && sayable(text) {
			out = append(out, text)
		}
	}
	return out
}

// sayable says whether a profile can hold the text.
func sayable(text string) bool {
	return len(text) <= 20 && text == strings.TrimSpace(text) && !strings.ContainsFunc(text, func(r rune) bool { return !strconv.IsPrint(r) })
}

// fewChanges is how often a column must change for its rhythm to be believed.
const fewChanges = 10

// repeats is in rows of how many a column changes that has a cell in every row,
// because the exporter filled it forward; 1 when it may change in any, or when
// it changes too seldom to tell.
func repeats(numbers, states samples) int {
	n := states.Len()
	if n == 0 || states.Slots != nil || states.Row(n-1)-states.Row(0) != n-1 {
		return 1 // not in every row from its first on
	}
	differ := func(i int) bool { return states.States[i] != states.States[i-1] }
	if numbers.Len() == states.Len() && numbers.Bad == 0 {
		differ = func(i int) bool { return numbers.Numbers[i] != numbers.Numbers[i-1] }
	}
	first, rhythm, changes := -1, 0, 0
	for i := 1; i < states.Len(); i++ {
		if !differ(i) {
			continue
		}
		if changes++; first < 0 {
			first = i
			continue
		}
		for a, b := rhythm, i-first; ; a, b = b, a%b {
			if b == 0 {
				rhythm = a
				break
			}
		}
	}
	if changes < fewChanges {
		return 1
	}
	return max(rhythm, 1)
}
