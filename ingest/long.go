package ingest

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// buildLong makes the recording of a file in which each row is one sample. The
// rows may come in any order; each has a time that stands alone.
func (b *builder) buildLong() (*flightdata.Recording, error) {
	names := map[string]int{}
	want := b.longWant(names)
	data, err := b.file.ReadLong(want)
	if err != nil {
		return nil, err
	}
	b.take(data)
	if err := b.longSources(names); err != nil {
		return nil, err
	}
	// What was decoded are the columns of the file, not those of Data.
	b.wants = []table.Want{{Column: want.Time}, {Column: want.Name}, {Column: want.Value}}
	if want.Unit >= 0 {
		b.wants = append(b.wants, table.Want{Column: want.Unit})
	}
	return b.finish()
}

// longWant asks for every recorded name of every rule; names gets their places.
func (b *builder) longWant(names map[string]int) table.LongWant {
	at := func(column string) int {
		return slices.IndexFunc(b.file.Columns(), func(c table.Column) bool { return c.Name == column })
	}
	l := b.prof.Long
	w := table.LongWant{Time: -1, TimeAs: clockAs(b.prof.Time.Form), Name: at(l.Parameter), Value: at(l.Value), Unit: -1}
	for _, c := range b.prof.Time.Columns {
		if w.Time < 0 {
			w.Time = at(c)
		}
	}
	if l.Unit != "" {
		if w.Unit = at(l.Unit); w.Unit < 0 {
			b.note("", "the unit column %s is not in the file: the units are those of the profile", l.Unit)
		}
	}
	for i := range b.prof.Parameters {
		rule := &b.prof.Parameters[i]
		for _, c := range rule.Columns {
			if _, twice := names[c]; twice {
				continue // bits of one word
			}
			names[c] = len(w.Names)
			as := cellAs(rule.Kind)
			if rule.Bits.Set {
				as = table.Whole
			}
			w.Names = append(w.Names, table.LongName{Name: c, As: as})
		}
	}
	return w
}

// longSources turns what was read into one source for each name, with the
// times of its samples.
func (b *builder) longSources(names map[string]int) error {
	first, last, timeless, bad := int64(math.MaxInt64), int64(math.MinInt64), 0, ""
	found := map[string]bool{}
	for i := range b.prof.Parameters {
		rule := &b.prof.Parameters[i]
		for _, c := range rule.Columns {
			k := 3 * names[c]
			values, times := b.data.Columns[k], &b.data.Columns[k+1]
			if rule.Bits.Set {
				values = bitsOf(&values, rule.Bits)
			}
			joined, clock := join(&values, times)
			if lost := values.Len() - len(clock); lost > 0 {
				timeless += lost
				bad = firstBad(times)
			}
			if len(clock) == 0 {
				continue
			}
			found[c] = true
			u, err := b.longUnit(rule, c, &b.data.Columns[k+2])
			if err != nil {
				return err
			}
			b.data.Columns = append(b.data.Columns, joined)
			src := source{rule: rule, column: c, at: []int{len(b.data.Columns) - 1}, unit: u, times: make([]span.Instant, len(clock))}
			for j, t := range clock {
				first, last = min(first, t), max(last, t)
				src.times[j] = span.Instant(t)
			}
			b.sources = append(b.sources, src)
		}
	}
	if timeless > 0 {
		b.note("", "%s without a time left out%s", counted(timeless, "row"), bad)
	}
	if len(b.sources) == 0 {
		return b.nothingLong(timeless)
	}
	for i := range b.sources {
		for j := range b.sources[i].times {
			b.sources[i].times[j] -= span.Instant(first)
		}
	}
	b.origin, b.end = first, span.Instant(last-first)
	return b.longLacks(found)
}

// join keeps the samples whose row has a time.
func join(values, times *table.ColumnData) (table.ColumnData, []int64) {
	out := table.ColumnData{Words: values.Words, Bad: values.Bad, BadFirst: values.BadFirst}
	clock := make([]int64, 0, values.Len())
	k := 0
	for i := range values.Len() {
		for k < times.Len() && times.Row(k) < values.Row(i) {
			k++
		}
		if k == times.Len() || times.Row(k) != values.Row(i) {
			continue
		}
		clock = append(clock, times.Clock[k])
		if values.Numbers != nil {
			out.Numbers = append(out.Numbers, values.Numbers[i])
		} else {
			out.States = append(out.States, values.States[i])
		}
	}
	return out, clock
}

// longUnit is the unit of a name by the unit column. One that changes within
// the recording is an error: which samples are in which is not kept.
func (b *builder) longUnit(rule *profile.ParameterRule, name string, units *table.ColumnData) (unit.Unit, error) {
	switch len(units.Words) {
	case 0:
		return b.unitOf(rule, name, "")
	case 1:
		return b.unitOf(rule, name, units.Words[0])
	}
	if rule.Kind == flightdata.Discrete {
		return rule.Unit, nil
	}
	return rule.Unit, &Error{
		File: b.path, Place: "parameter " + name, Cause: fmt.Sprintf("the unit changes within the file: %s", quoted(units.Words)),
		Remedy: "export each parameter in one unit",
	}
}

// nothingLong is the error for a file without one sample that is wanted.
func (b *builder) nothingLong(timeless int) error {
	l := b.prof.Long
	e := &Error{File: b.path, Place: "column " + l.Parameter, Cause: "no row names a parameter of profile " + b.prof.Name}
	e.Remedy = fmt.Sprintf("compare the names in the column with those under parameters in %s", b.prof.Path)
	switch {
	case b.data.Rows == 0:
		e.Place, e.Cause, e.Remedy = "", "the file has a header and no data under it", "export the recording again"
	case timeless > 0:
		e.Place, e.Cause = "", fmt.Sprintf("no row has a time in %s", b.prof.Time.Form)
		e.Remedy = fmt.Sprintf("change time.form in %s", b.prof.Path)
	}
	return e
}

// longLacks refuses a recording without what no attempt can be found without,
// as Choose does for a wide one.
func (b *builder) longLacks(found map[string]bool) error {
	wide := *b.prof
	wide.Long = nil
	for _, c := range b.prof.Time.Columns {
		found[c] = true
	}
	if f := fitOf(&wide, found); f.lacks != "" {
		return &Error{
			File: b.path, Cause: fmt.Sprintf("profile %s does not read this file: %s", b.prof.Name, f.lacks),
			Remedy: fmt.Sprintf("compare the names in the column %s with those under parameters in %s", b.prof.Long.Parameter, b.prof.Path),
		}
	}
	return nil
}
