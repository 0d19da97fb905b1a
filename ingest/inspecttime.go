package ingest

import (
	"math/bits"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/guess"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// timeForms are the ways in which a column may hold the time, in the order in
// which they are tried.
var timeForms = []profile.TimeForm{profile.TimeSeconds, profile.TimeSecondsOfDay, profile.TimeRFC3339, profile.TimeISO8601, profile.TimeClock, profile.TimeMilliseconds, profile.TimeFrames}

// guessedFrame is how long a frame is taken to last until somebody says so.
const guessedFrame = time.Second

// formsOf are the forms to try for a column of that name. Frames are not
// seconds, however well they rise.
func formsOf(name string) []profile.TimeForm {
	switch {
	case guess.NamesFrames(name):
		return []profile.TimeForm{profile.TimeFrames}
	case guess.NamesMilliseconds(name):
		return append([]profile.TimeForm{profile.TimeMilliseconds}, timeForms...)
	}
	return timeForms
}

// clock finds the time column: the profile's, else one that is named like a
// time, else a frame counter, else one of the leading ones, provided that it
// rises from row to row. It gives the time of each row since the first.
func (ins *Inspection) clock(f *table.File, names map[string]flightdata.Parameter) []span.Instant {
	var mapped, named, frames, leading []int
	for i, c := range f.Columns() {
		switch {
		case names[c.Name] == "time":
			mapped = append(mapped, i)
		case guess.NamesFrames(c.Name):
			frames = append(frames, i)
		case guess.NamesTime(c.Name):
			named = append(named, i)
		case i < 5:
			leading = append(leading, i)
		}
	}
	for _, i := range slices.Concat(mapped, named, frames, leading) {
		for _, form := range formsOf(f.Columns()[i].Name) {
			data, err := f.Read([]table.Want{{Column: i, As: clockAs(form)}})
			if err != nil {
				// A binary column of another type is no clock. A file that is
				// damaged says so again when all its columns are read.
				continue
			}
			ins.Rows = data.Rows
			rule := profile.TimeRule{Columns: []string{f.Columns()[i].Name}, Form: form}
			if at := timesOf(&data.Columns[0], data.Rows, &rule); at != nil {
				rule.DateColumn = ins.dates(f, form)
				ins.take(rule, at)
				return at
			}
		}
	}
	return nil
}

// take keeps which column holds the time and how it is written.
func (ins *Inspection) take(rule profile.TimeRule, at []span.Instant) {
	ins.TimeColumn, ins.Time = rule.Columns[0], rule
	ins.Assumed = rule.Form == profile.TimeFrames
	ins.Duration = slices.Max(at).Sub(at[0])
}

// timesOf turns a column into the times of the rows since the first, and finds
// how many rows share a written time and where a counter starts again. nil when
// it is no clock: rows without a time, or times that fall.
func timesOf(c *table.ColumnData, rows int64, rule *profile.TimeRule) []span.Instant {
	if rule.Form == profile.TimeFrames {
		for _, v := range c.Numbers {
			if v != v || v < 0 {
				return nil
			}
		}
		rule.Step = guessedFrame
		c.Clock, _ = counts(c, guessedFrame)
	}
	if int64(c.Len()) != rows || c.Len() < 2 || int64(len(c.Clock)) != rows {
		return nil
	}
	if rule.Form == profile.TimeFrames && !counting(c.Numbers) {
		return nil
	}
	l := &timeline{b: &builder{}, at: slices.Clone(c.Clock)}
	switch {
	case rule.Form.OfDay() && slices.Max(l.at) < day:
		l.unroll(day)
	case rule.Form == profile.TimeFrames && !slices.IsSorted(l.at):
		rule.WrapsAt = 1 << bits.Len64(uint64(slices.Max(l.at)/int64(guessedFrame)))
		l.unroll(rule.WrapsAt * int64(guessedFrame))
	}
	if !rising(l.at) {
		return nil
	}
	if plainNumber := rule.Form == profile.TimeSeconds || rule.Form == profile.TimeSecondsOfDay; plainNumber && slowerThanAny(l.at) {
		return nil // milliseconds, if anything
	}
	smooth(l.at)
	if shared, step := sharing(l.at); shared > 1 {
		rule.Rows = shared
		if rule.Step == 0 {
			rule.Step = step
		}
		l.spread(int64(step), shared)
	}
	at := make([]span.Instant, len(l.at))
	for i, t := range l.at {
		at[i] = span.Instant(t - l.at[0])
	}
	return at
}

// rising says whether the clock goes up, repeats and one row in a hundred
// allowed: rows that stand out of order are sorted when they are read in
// earnest, and make no other column the clock.
func rising(clock []int64) bool {
	falls, span := 0, slices.Max(clock)-slices.Min(clock)
	for i := 1; i < len(clock); i++ {
		if clock[i] >= clock[i-1] {
			continue
		}
		spike := i > 1 && clock[i] >= clock[i-2]
		if falls++; !spike && clock[i-1]-clock[i] > span/10 {
			return false // it starts again
		}
	}
	return clock[len(clock)-1] > clock[0] && 100*falls <= len(clock)
}

// slowestRows is how far the rows of a recording may be apart: the slowest
// recorded parameter comes each 4 s, and an export may be thinned out.
const slowestRows = 20 * time.Second

// slowerThanAny says whether numbers that were taken for seconds would make the
// rows of the recording farther apart than any recorder's.
func slowerThanAny(clock []int64) bool {
	steps := make([]int64, 0, len(clock))
	for i := 1; i < len(clock); i++ {
		if d := clock[i] - clock[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	slices.Sort(steps)
	return len(steps) > 3 && time.Duration(steps[len(steps)/2]) > slowestRows
}

// counting says whether numbers are counts of frames: whole, and one more than
// the number before, or the same, but where they start again at 0.
func counting(v []float64) bool {
	for i := 1; i < len(v); i++ {
		if d := v[i] - v[i-1]; d != 0 && d != 1 && v[i] != 0 {
			return false
		}
	}
	return true
}

// smooth takes a row that stands too late as coming with the row before it, and
// one that jumps ahead as coming with the row after it, so that rates can be
// measured.
func smooth(clock []int64) {
	for i := len(clock) - 2; i >= 0; i-- {
		clock[i] = min(clock[i], clock[i+1])
	}
}

// mostShared is how many rows a written time may stand for; the language allows
// no more.
const mostShared = 1024

// sharing says how many rows share a written time, where nine in ten of the
// times have that many, and how far the times are apart. The first and last may
// be cut. 1 when every row has its own.
func sharing(at []int64) (rows int, step time.Duration) {
	var runs []int
	var steps []int64
	from := 0
	for i := 1; i <= len(at); i++ {
		if i < len(at) && at[i] == at[from] {
			continue
		}
		runs = append(runs, i-from)
		if i < len(at) {
			steps = append(steps, at[i]-at[from])
		}
		from = i
	}
	if len(runs) < 4 {
		return 1, 0
	}
	inner := slices.Clone(runs[1 : len(runs)-1])
	slices.Sort(inner)
	slices.Sort(steps)
	usual := inner[len(inner)/2]
	same := 0
	for _, n := range inner {
		if n == usual {
			same++
		}
	}
	step = time.Duration(steps[len(steps)/2])
	// Times that are not written in whole seconds are shared by rows that hold
	// different columns of one instant, and lie where they say.
	if at[0]%int64(time.Second) != 0 || step%time.Second != 0 {
		return 1, 0
	}
	if usual > mostShared || 10*same < 9*len(inner) || step > time.Minute {
		return 1, 0
	}
	return usual, step
}

// dates finds the column of the date that goes with a time of day, by its name
// and cells; "" when there is none.
func (ins *Inspection) dates(f *table.File, form profile.TimeForm) string {
	if !form.OfDay() {
		return ""
	}
	for i, c := range f.Columns() {
		if !guess.NamesDate(c.Name) {
			continue
		}
		data, err := f.Read([]table.Want{{Column: i, As: table.Date}})
		if err == nil && data.Columns[0].Bad == 0 && data.Columns[0].Len() > 0 {
			return c.Name
		}
	}
	return ""
}
