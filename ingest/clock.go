package ingest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// clockAs is how the cells of the time column are to be understood.
func clockAs(form profile.TimeForm) table.As {
	switch form {
	case profile.TimeRFC3339:
		return table.Timestamp
	case profile.TimeISO8601:
		return table.DateTime
	case profile.TimeClock:
		return table.ClockTime
	case profile.TimeMilliseconds:
		return table.Millis
	case profile.TimeFrames:
		return table.Whole
	}
	return table.Seconds
}

// A timeline is the clock readings of the rows that have one, while they are
// turned into times that only go up.
type timeline struct {
	b       *builder
	column  string
	rows    []int32 // data row of each reading; nil when every row has one
	at      []int64 // nanoseconds on the file's own clock
	left    []bool  // readings left out with their rows; nil when none is
	swapped bool    // some rows are not in the order of time
	smooth  int     // so many readings from the first on rise without a gap
	step    int64   // typical time from row to row; 0 until it is asked for
}

// clock turns the time column into instants since the first sample. Rows
// without a time are left out and noted; rows of one time are merged when the
// series are built.
func (b *builder) clock(column string) error {
	c := &b.data.Columns[0]
	if b.prof.Time.Form == profile.TimeFrames {
		c.Clock, c.Rows = counts(c, b.prof.Time.Step)
	}
	if c.Len() == 0 || len(c.Clock) == 0 {
		return b.timeless(c, column)
	}
	l := &timeline{b: b, column: column, rows: c.Rows, at: c.Clock}
	b.usable(c, column)
	rule := b.prof.Time
	switch {
	case rule.Form.OfDay():
		l.unroll(day)
		if b.dates >= 0 {
			if err := l.dated(&b.data.Columns[b.dates]); err != nil {
				return err
			}
		}
	case rule.WrapsAt > 0:
		l.unroll(rule.WrapsAt * int64(rule.Step))
	}
	if rule.Rows > 1 {
		l.spread(int64(rule.Step), rule.Rows)
	}
	if err := l.order(); err != nil {
		return err
	}
	l.settle()
	return nil
}

// counts turns the counts of a frame counter into nanoseconds. A cell that is
// no count gives no time.
func counts(c *table.ColumnData, step time.Duration) (clock []int64, rows []int32) {
	limit := float64(math.MaxInt64) / 4 / float64(step)
	for i, v := range c.Numbers {
		if v != v || math.Abs(v) > limit {
			if rows == nil {
				rows = make([]int32, 0, len(c.Numbers))
				for k := range i {
					rows = append(rows, int32(c.Row(k)))
				}
			}
			continue
		}
		clock = append(clock, int64(v)*int64(step))
		if rows != nil {
			rows = append(rows, int32(c.Row(i)))
		}
	}
	if rows == nil {
		rows = c.Rows
	}
	return clock, rows
}

const day = int64(24 * time.Hour)

// row is the data row of reading i.
func (l *timeline) row(i int) int {
	if l.rows == nil {
		return i
	}
	return int(l.rows[i])
}

// place is where reading i stands, as a person counts.
func (l *timeline) place(i int) string {
	return place(l.column, l.b.data.Line(int64(l.row(i))))
}

// unroll undoes a clock that starts again after a period: of two readings in
// successive rows the second is taken where it is nearest to the first. So a
// step back of some seconds is no roll-over, and rows that are swapped at
// midnight find both of their days.
func (l *timeline) unroll(period int64) {
	turns := int64(0)
	before := l.at[0]
	for i, t := range l.at {
		switch d := t - before; {
		case d < -period/2:
			turns++
		case d > period/2:
			turns--
		}
		before = t
		l.at[i] = t + turns*period
	}
}

// lateDate is how long after midnight the date may still be that of the day
// before: it is a word of its own, recorded once in some seconds.
const lateDate = int64(10 * time.Second)

// A dateRun is a stretch of readings over which the date and the unrolled time
// of day are apart by the same number of days.
type dateRun struct {
	from, to int
	days     int64
}

// dated adds the days. The time of day is believed where the two disagree for
// some seconds; a date that stays ahead is a gap of days.
func (l *timeline) dated(dates *table.ColumnData) error {
	if dates.Len() == 0 {
		l.b.note(l.b.prof.Time.DateColumn, "no row has a date: the day is not known%s", firstBad(dates))
		return nil
	}
	l.b.dated = true
	runs := l.dateRuns(dates)
	long := func(r dateRun) bool { return r.to == len(l.at) || l.at[r.to-1]-l.at[r.from] > lateDate }
	days := runs[0].days
	for _, r := range runs {
		if long(r) {
			days = r.days // a late date at the very start is not believed
			break
		}
	}
	late := 0
	for i, r := range runs {
		if long(r) && (r.to < len(l.at) || l.at[r.to-1]-l.at[r.from] > lateDate || i == 0) {
			days = r.days
		}
		if r.days != days {
			if late == 0 {
				l.b.notes = append(l.b.notes, l.note(r.from, "the date and the time of day change at different rows: the time of day is believed"))
			}
			late++
		}
		for k := r.from; k < r.to; k++ {
			l.at[k] += days * day
		}
	}
	return nil
}

// dateRuns finds the stretches. A row without a date has that of the row
// before, and the rows before the first date have its.
func (l *timeline) dateRuns(dates *table.ColumnData) []dateRun {
	var runs []dateRun
	k := 0
	for i := range l.at {
		for k+1 < dates.Len() && dates.Row(k+1) <= l.row(i) {
			k++
		}
		d := floorDays(dates.Clock[k]) - floorDays(l.at[i])
		if n := len(runs); n == 0 || runs[n-1].days != d {
			runs = append(runs, dateRun{from: i, days: d})
		}
		runs[len(runs)-1].to = i + 1
	}
	return runs
}

func floorDays(ns int64) int64 {
	d := ns / day
	if ns%day < 0 {
		d--
	}
	return d
}

// spread gives the rows that share one written time their places in its step.
// The recording may start within a step, so the first rows lie at its end.
func (l *timeline) spread(step int64, rows int) {
	short, crowded := 0, 0
	for from := 0; from < len(l.at); {
		to := from
		for to < len(l.at) && l.at[to] == l.at[from] {
			to++
		}
		n := to - from
		first := 0
		if from == 0 && n < rows {
			first = rows - n
		} else if n < rows && to < len(l.at) {
			short++
		}
		if n > rows {
			crowded++
		}
		written := l.at[from]
		for k := from; k < to; k++ {
			l.at[k] = written + step*int64(min(first+k-from, rows-1))/int64(rows)
		}
		from = to
	}
	if short > 0 {
		l.b.note(l.column, "%s with fewer than %d rows: they were taken as the first of it", counted(short, "written time"), rows)
	}
	if crowded > 0 {
		l.b.note(l.column, "%s with more than %d rows: the last ones share an instant", counted(crowded, "written time"), rows)
	}
}

// settle hands the readings to the builder, with the first as its origin.
func (l *timeline) settle() {
	b := l.b
	first, last := l.ends()
	b.origin, b.end = first, span.Instant(last-first)
	b.readings = l.at
	if l.rows != nil {
		b.readings = make([]int64, b.data.Rows)
		for i, t := range l.at {
			b.readings[l.row(i)] = t
		}
	}
	for i, left := range l.left {
		if left {
			b.drop(l.row(i))
		}
	}
	b.swapped = b.swapped || l.swapped
	l.repeats()
}

// ends are the first and the last time. Where nothing was odd the readings rise.
func (l *timeline) ends() (first, last int64) {
	if l.left == nil && !l.swapped {
		return l.at[0], l.at[len(l.at)-1]
	}
	first, last = math.MaxInt64, math.MinInt64
	for i, t := range l.at {
		if l.left == nil || !l.left[i] {
			first, last = min(first, t), max(last, t)
		}
	}
	return first, last
}

// repeats notes the rows that share a time with another. Their samples are
// merged in the series.
func (l *timeline) repeats() {
	at := l.at
	if l.smooth == len(at) {
		return
	}
	if l.swapped || l.left != nil {
		at = slices.Clone(at)
		if l.left != nil {
			kept := at[:0]
			for i, t := range at {
				if !l.left[i] {
					kept = append(kept, t)
				}
			}
			at = kept
		}
		slices.Sort(at)
	}
	n := 0
	for i := 1; i < len(at); i++ {
		if at[i] == at[i-1] {
			n++
		}
	}
	if n == 0 {
		return
	}
	l.b.repeated = true
	hint := ""
	if 2*n > len(at) {
		hint = "; if several rows share one written time, say so with rows and step under time in the profile"
	}
	l.b.note(l.column, "%s with the time of the row before merged into it%s", counted(n, "row"), hint)
}

// timeless is the error for a file of which no row has a time.
func (b *builder) timeless(c *table.ColumnData, column string) error {
	e := &Error{File: b.path, Place: "column " + column}
	e.Remedy = fmt.Sprintf("change time.form in %s", b.prof.Path)
	wanted := map[profile.TimeForm]string{
		profile.TimeRFC3339:      "date and time with its offset, such as 2031-03-07T04:12:00Z",
		profile.TimeISO8601:      "date and time, such as 2031-03-07T04:12:00",
		profile.TimeClock:        "time of day, such as 04:12:00",
		profile.TimeMilliseconds: "number of milliseconds",
		profile.TimeFrames:       "whole number of frames",
	}
	switch {
	case b.data.Rows == 0:
		e.Place, e.Cause, e.Remedy = "", "the file has a header and no data under it", "export the recording again"
	case c.Bad == 0:
		e.Cause, e.Remedy = "every cell is blank", fmt.Sprintf("name the column that holds the times under time in %s", b.prof.Path)
	case b.prof.Time.Form == profile.TimeRFC3339:
		e.Cause = "no cell is a date and time with its offset, such as 2031-03-07T04:12:00Z" + firstBad(c)
		e.Remedy = fmt.Sprintf("export the times so, or change time.form in %s", b.prof.Path)
	default:
		e.Cause = "no cell is a " + cmp.Or(wanted[b.prof.Time.Form], "number of seconds") + firstBad(c)
	}
	return e
}

// usable marks the rows that have a time.
func (b *builder) usable(c *table.ColumnData, column string) {
	if c.Rows == nil {
		return
	}
	b.keep = make([]bool, b.data.Rows)
	for _, row := range c.Rows {
		b.keep[row] = true
	}
	if missing := int(b.data.Rows) - len(c.Clock); missing > 0 {
		b.note(column, "%s without a time left out%s", counted(missing, "row"), firstBad(c))
	}
}

func (b *builder) drop(row int) {
	if b.keep == nil {
		b.keep = make([]bool, b.data.Rows)
		for i := range b.keep {
			b.keep[i] = true
		}
	}
	b.keep[row] = false
}
