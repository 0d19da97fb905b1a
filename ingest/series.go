package ingest

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/quality"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

func (b *builder) note(column, format string, args ...any) {
	b.notes = append(b.notes, flightdata.Note{Place: place(column, 0), Text: fmt.Sprintf(format, args...)})
}

// counted is a number with its noun: "1 row", "2 rows".
func counted(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

func firstBad(c *table.ColumnData) string {
	if len(c.BadFirst) == 0 {
		return ""
	}
	return fmt.Sprintf(" (row %d holds %q)", c.BadFirst[0].Row, c.BadFirst[0].Text)
}

// allSeries builds a series per parameter, masked, from its recorded names in
// the profile's order of preference.
func (b *builder) allSeries() map[flightdata.Parameter]*flightdata.Series {
	out := map[flightdata.Parameter]*flightdata.Series{}
	for i := range b.sources {
		src := &b.sources[i]
		s := b.series(src)
		quality.Mask(s, src.rule)
		if first := out[src.rule.Parameter]; first != nil {
			if within := src.rule.AgreeWithin; within == within {
				b.disagree(first, s, within)
			}
			s = b.fallBack(first, s)
		}
		out[src.rule.Parameter] = s
	}
	if b.crowded > 0 {
		b.note("", "%s left out, because another row has a different one at the same time", counted(b.crowded, "sample"))
	}
	for i := range b.prof.Parameters {
		if rule := &b.prof.Parameters[i]; out[rule.Parameter] == nil {
			b.note("", "%s is not in the file (%s)", rule.Parameter, strings.Join(rule.Columns, ", "))
		}
	}
	return out
}

// series turns the cells of a source into samples in the canonical unit.
func (b *builder) series(src *source) *flightdata.Series {
	s := &flightdata.Series{
		Parameter: src.rule.Parameter, Kind: src.rule.Kind, Unit: src.rule.Canonical,
		Origin: flightdata.Origin{Names: []string{src.column}, Unit: src.unit.Symbol},
		Unread: b.unreadOf(src.rule.Parameter),
	}
	if def, ok := flightdata.Define(s.Parameter); ok {
		s.Circular = def.Circular
	}
	c := &b.data.Columns[src.at[0]]
	if b.severalToARow(src) {
		c = b.placed(src)
	}
	if s.Kind == flightdata.Discrete {
		b.states(s, src, c)
	} else {
		b.numbers(s, src, c)
	}
	if b.swapped || b.repeated || src.times != nil {
		b.crowded += tidy(s, !b.swapped && src.times == nil)
	}
	if src.rule.Filled {
		thin(s, src.rule.Rate)
	}
	s.Period = b.period(s)
	if c.Bad > 0 {
		b.odd = true
		b.note(src.column, "%s not a number%s: masked", counted(c.Bad, "cell"), firstBad(c))
	}
	return s
}

func (b *builder) numbers(s *flightdata.Series, src *source, c *table.ColumnData) {
	conv, err := unit.Convert(src.unit, src.rule.Canonical)
	if err != nil {
		// The profile parser converts nothing across dimensions, nor does unitOf.
		panic(fmt.Sprintf("profile %s: %v", b.prof.Name, err))
	}
	b.instants(s, src, c)
	s.Values = b.kept(c.Numbers, src, c)
	if !conv.Identity() {
		for i, v := range s.Values {
			s.Values[i] = conv.Apply(v)
		}
	}
	if c.Bad > 0 {
		s.Masks = make([]flightdata.Mask, len(s.Values))
		for i, v := range s.Values {
			if v != v { // NaN stands for a bad cell and for nothing else
				s.Masks[i], s.Values[i] = flightdata.NotANumber, 0
			}
		}
	}
}

// instants sets the sample times; a column with a sample in every row shares
// the time column.
func (b *builder) instants(s *flightdata.Series, src *source, c *table.ColumnData) {
	if src.times != nil {
		s.Times = src.times
		return
	}
	switch {
	case b.keep != nil:
		s.Times = make([]span.Instant, 0, c.Len())
		for i := range c.Len() {
			if row := c.Row(i); b.keep[row] {
				s.Times = append(s.Times, b.time(row))
			}
		}
	case c.Rows == nil:
		s.Times = b.allTimes()
	default:
		s.Times = make([]span.Instant, len(c.Rows))
		for i, row := range c.Rows {
			s.Times[i] = b.time(int(row))
		}
	}
}

// time is the instant of a data row.
func (b *builder) time(row int) span.Instant { return span.Instant(b.readings[row] - b.origin) }

// allTimes are the instants of all rows, for all series that have a sample in
// every row. In a recording that is read in part there are none such.
func (b *builder) allTimes() []span.Instant {
	if b.times == nil {
		b.times = make([]span.Instant, len(b.readings))
		for row := range b.times {
			b.times[row] = b.time(row)
		}
	}
	return b.times
}

// kept drops the values of rows that have no usable time.
func (b *builder) kept(v []float64, src *source, c *table.ColumnData) []float64 {
	if b.keep == nil || src.times != nil {
		return v
	}
	out := v[:0]
	for i, x := range v {
		if b.keep[c.Row(i)] {
			out = append(out, x)
		}
	}
	return out
}

// states maps the words of a discrete to the parameter's states. A word that
// the profile does not know is masked and noted: it must not read as any.
func (b *builder) states(s *flightdata.Series, src *source, c *table.ColumnData) {
	index := make([]int, len(c.Words))
	var unknown []string
	for i, w := range c.Words {
		index[i] = stateOf(src.rule.States, w)
		if index[i] < 0 {
			unknown = append(unknown, w)
		}
	}
	for _, r := range src.rule.States {
		s.States = append(s.States, r.State)
	}
	values := make([]float64, c.Len())
	known := func(w int32) bool { return w >= 0 && index[w] >= 0 }
	for i, w := range c.States {
		if known(w) {
			values[i] = float64(index[w])
		}
	}
	b.instants(s, src, c)
	if c.Bad > 0 || len(unknown) > 0 {
		for i, w := range c.States {
			if b.keep != nil && src.times == nil && !b.keep[c.Row(i)] {
				continue
			}
			m := flightdata.Good
			if !known(w) {
				m = flightdata.NotANumber
			}
			s.Masks = append(s.Masks, m)
		}
	}
	s.Values = b.kept(values, src, c)
	if len(unknown) > 0 {
		b.odd = true
		b.note(src.column, "%s: the profile gives no meaning to %s: masked", src.rule.Parameter, quoted(unknown))
	}
}

func quoted(words []string) string {
	const most = 5
	out := make([]string, 0, most+1)
	for _, w := range words[:min(len(words), most)] {
		out = append(out, strconv.Quote(w))
	}
	if len(words) > most {
		out = append(out, fmt.Sprintf("and %d more", len(words)-most))
	}
	return strings.Join(out, ", ")
}

// stateOf finds the state whose cells hold the word: the same text, in any
// case, or the same number. -1 for none.
func stateOf(states []profile.StateRule, word string) int {
	n, isNumber := plainNumber(word)
	for i, r := range states {
		for _, cell := range r.Cells {
			if strings.EqualFold(cell, strings.TrimSpace(word)) {
				return i
			}
			if v, ok := plainNumber(cell); ok && isNumber && v == n {
				return i
			}
		}
	}
	return -1
}

// plainNumber reads a decimal number. The library also takes what only a
// programming language writes, such as 0x1p0 and 1_0, and inf and nan; none of
// them stands for a state.
func plainNumber(word string) (float64, bool) {
	if strings.Trim(word, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(word, 64)
	return v, err == nil
}

// fallBack fills the first choice with samples of the next where it has none
// good near enough, so that one dead source does not blind the parameter. A
// source that lives has a sample within three quarters of its period before
// any instant, or else within a quarter after it.
func (b *builder) fallBack(first, next *flightdata.Series) *flightdata.Series {
	var extra []flightdata.Point
	for p := range next.Good(next.Whole()) {
		q, ok := first.Last(p.At)
		if ok && p.At.Sub(q.At) < first.Period*3/4 {
			continue
		}
		if ok && first.Unseen(q.At, p.At) > 0 && first.Lapse(q.At, p.At) < 2*first.Period {
			continue // what is missing of the first was not looked at
		}
		if q, ok := first.Next(p.At); ok && q.At.Sub(p.At) <= first.Period/2 {
			continue
		}
		extra = append(extra, p)
	}
	if len(extra) == 0 {
		return first
	}
	b.odd = true
	b.note(next.Origin.Names[0], "stands in for %s on %s", strings.Join(first.Origin.Names, ", "), counted(len(extra), "sample"))
	return merged(first, next, extra)
}

// merged is first with the extra samples sorted in.
func merged(first, next *flightdata.Series, extra []flightdata.Point) *flightdata.Series {
	type sample struct {
		flightdata.Point
		mask flightdata.Mask
	}
	all := make([]sample, 0, first.Len()+len(extra))
	for i, t := range first.Times {
		m := flightdata.Good
		if first.Masks != nil {
			m = first.Masks[i]
		}
		all = append(all, sample{flightdata.Point{At: t, Value: first.Values[i]}, m})
	}
	for _, p := range extra {
		all = append(all, sample{p, flightdata.Good})
	}
	slices.SortStableFunc(all, func(a, b sample) int { return cmp.Compare(a.At, b.At) })
	out := *first
	out.Times, out.Values, out.Masks = nil, nil, nil
	out.Origin.Names = append(slices.Clone(first.Origin.Names), next.Origin.Names...)
	for i, s := range all {
		if i > 0 && s.At == all[i-1].At { // a masked sample and its stand-in
			if s.mask == flightdata.Good {
				out.Values[len(out.Values)-1], out.Masks[len(out.Masks)-1] = s.Value, s.mask
			}
			continue
		}
		out.Times, out.Values, out.Masks = append(out.Times, s.At), append(out.Values, s.Value), append(out.Masks, s.mask)
	}
	if out.Period == 0 {
		out.Period = next.Period
	}
	return &out
}
