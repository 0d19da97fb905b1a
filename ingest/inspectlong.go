package ingest

import (
	"cmp"
	"slices"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/guess"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// longForms are the forms of time that a row by itself can have.
var longForms = []profile.TimeForm{profile.TimeSeconds, profile.TimeRFC3339, profile.TimeISO8601}

// mostOfLong is how many columns a file with a row for each sample has at most.
const mostOfLong = 8

// longShape says whether the columns of a file are those of one in which each
// row is a sample: a few, of which one is named for names and one for values.
// nil when they are not.
func longShape(f *table.File) *profile.LongRule {
	if len(f.Columns()) < 3 || len(f.Columns()) > mostOfLong {
		return nil
	}
	l := &profile.LongRule{}
	for _, c := range f.Columns() {
		if guess.NamesParameter(c.Name) {
			return nil // its names stand in the header
		}
		to := map[guess.Role]*string{guess.NameRole: &l.Parameter, guess.ValueRole: &l.Value, guess.UnitRole: &l.Unit}[guess.RoleOf(c.Name)]
		if to != nil && *to == "" {
			*to = c.Name
		}
	}
	if l.Parameter == "" || l.Value == "" {
		return nil
	}
	return l
}

// readLong reports each recorded name in the cells as a column of its own, a
// few of them at a time.
func (ins *Inspection) readLong(f *table.File, prof *profile.Profile, names map[string]flightdata.Parameter) error {
	at := func(name string) int {
		return slices.IndexFunc(f.Columns(), func(c table.Column) bool { return c.Name == name })
	}
	data, err := f.Read([]table.Want{{Column: at(ins.Long.Parameter), As: table.State}})
	if err != nil {
		return err
	}
	ins.Rows = data.Rows
	ins.note(data)
	want := table.LongWant{Name: at(ins.Long.Parameter), Value: at(ins.Long.Value), Unit: -1, Time: ins.longTime(f, prof)}
	if ins.Long.Unit != "" {
		want.Unit = at(ins.Long.Unit)
	}
	if want.Time < 0 {
		ins.Notes = append(ins.Notes, "each row is one sample, but no column holds a time for each: seconds, milliseconds, RFC 3339 or ISO 8601 are needed")
		return ins.readWide(f, nil)
	}
	want.TimeAs = clockAs(ins.Time.Form)
	all := data.Columns[0].Words
	for from := 0; from < len(all); from += chunk {
		if err := ins.readNames(f, want, all[from:min(from+chunk, len(all))], names); err != nil {
			return err
		}
	}
	return nil
}

// longTime finds the column of the times and keeps the span that they cover;
// -1 when there is none.
func (ins *Inspection) longTime(f *table.File, prof *profile.Profile) int {
	for i, c := range f.Columns() {
		mapped := prof != nil && slices.Contains(prof.Time.Columns, c.Name)
		if !mapped && !guess.NamesTime(c.Name) && !guess.NamesMilliseconds(c.Name) {
			continue
		}
		forms := longForms
		if guess.NamesMilliseconds(c.Name) {
			forms = append([]profile.TimeForm{profile.TimeMilliseconds}, forms...)
		}
		for _, form := range forms {
			data, err := f.Read([]table.Want{{Column: i, As: clockAs(form)}})
			// A row or two without a time is damage; most without is another form.
			if err != nil || int64(len(data.Columns[0].Clock)) < (data.Rows+1)/2 || data.Rows == 0 {
				continue
			}
			clock := data.Columns[0].Clock
			first := slices.Min(clock)
			ins.take(profile.TimeRule{Columns: []string{c.Name}, Form: form}, []span.Instant{0, span.Instant(slices.Max(clock) - first)})
			ins.origin = first
			return i
		}
	}
	return -1
}

// readNames reads the samples of some names twice, as numbers and as states.
func (ins *Inspection) readNames(f *table.File, want table.LongWant, some []string, names map[string]flightdata.Parameter) error {
	read := func(as table.As) (*table.Data, error) {
		want.Names = nil
		for _, n := range some {
			want.Names = append(want.Names, table.LongName{Name: n, As: as})
		}
		return f.ReadLong(want)
	}
	numbers, err := read(table.Number)
	if err != nil {
		return err
	}
	states, err := read(table.State)
	if err != nil {
		return err
	}
	for i, n := range some {
		unit := ""
		if w := states.Columns[3*i+2].Words; len(w) == 1 {
			unit = w[0]
		}
		ins.add(n, unit, names[n], ins.ordered(numbers, i), ins.ordered(states, i))
	}
	return nil
}

// ordered is the samples of the i-th name in the order of their times; the rows
// of a long file may come in any.
func (ins *Inspection) ordered(d *table.Data, i int) samples {
	c, clock := join(&d.Columns[3*i], &d.Columns[3*i+1])
	order := make([]int, len(clock))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(clock[a], clock[b]) })
	out := samples{ColumnData: &table.ColumnData{Words: c.Words, Bad: c.Bad, BadFirst: c.BadFirst}}
	for _, k := range order {
		out.at = append(out.at, span.Instant(clock[k]-ins.origin))
		if c.Numbers != nil {
			out.Numbers = append(out.Numbers, c.Numbers[k])
		} else {
			out.States = append(out.States, c.States[k])
		}
	}
	return out
}
