package ingest

import (
	"fmt"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// Bounds of what is taken as disorder of rows and not of the recording.
const (
	// reach is how many rows, and reachTime how far in time, a row may stand
	// from where it belongs.
	reach     = 64
	reachTime = int64(time.Minute)
	// stray is how many rows in succession may have a time that fits nowhere.
	stray = 3
	// setBack is how far a clock may be set back on the ground.
	setBack = int64(time.Minute)
	// longGap is a time without rows that is worth a note.
	longGap = int64(time.Minute)
	// gapNotes bounds the notes on gaps.
	gapNotes = 5
	// groundBelow is the speed, kt, below which an aircraft is on the ground
	// when no discrete tells. No aircraft of the trade flies slower.
	groundBelow = 40
)

// order makes the times rise. Where a time is earlier than one before it, the
// first of these that explains it is taken:
//
//  1. some rows stand a little out of order: they fill holes in the times of
//     the rows around them;
//  2. a few rows have a time that fits nowhere: they are left out;
//  3. the clock was set back by less than a minute on the ground: what
//     follows is right, and what was before is that much earlier.
//
// Otherwise it is an error, since a stretch of time is there twice and nobody
// can tell which of the two happened.
func (l *timeline) order() error {
	l.smooth = l.risesUpTo()
	hi := l.smooth - 1 // the latest reading so far
	gaps := 0
	var steps []clockStep
	for i := l.smooth; i < len(l.at); i++ {
		if l.at[i] >= l.at[hi] {
			if l.at[i]-l.at[hi] >= longGap {
				if l.leapsAhead(i) {
					continue
				}
				if gaps++; gaps <= gapNotes {
					l.b.notes = append(l.b.notes, l.note(i, fmt.Sprintf("no rows for %v before this one: a gap", time.Duration(l.at[i]-l.at[hi]))))
				}
			}
			hi = i
			continue
		}
		if n := l.displaced(i, hi); n > 0 {
			if !l.swapped {
				l.b.notes = append(l.b.notes, l.note(i, "rows are not in the order of time, here first: they were sorted"))
			}
			l.swapped = true
			i += n - 1
			continue
		}
		if before := l.leapt(i); before >= 0 {
			l.leave(before+1, i)
			hi = i
			continue
		}
		if n := l.fitsNowhere(i, hi); n > 0 {
			l.leave(i, i+n)
			i += n - 1
			continue
		}
		back := l.at[hi] - l.at[i]
		if why := l.notSetBack(i, back); why != "" {
			return &Error{
				File: l.b.path, Place: l.place(i), Cause: fmt.Sprintf("time runs backwards by %v%s", time.Duration(back), why),
				Remedy: "export the recording with rising times, one recording a file",
			}
		}
		steps = append(steps, clockStep{i, back + l.typical()})
		l.b.notes = append(l.b.notes, l.note(i, fmt.Sprintf("the clock was set back by %v on the ground: it is taken as right from here on, and the rows before as that much earlier", time.Duration(back))))
		hi = i
	}
	if gaps > gapNotes {
		l.b.note(l.column, "%s more without rows", counted(gaps-gapNotes, "gap"))
	}
	l.shift(steps)
	return nil
}

// risesUpTo is how many readings from the first on rise without a gap: all, in
// nearly every recording.
func (l *timeline) risesUpTo() int {
	for i := 1; i < len(l.at); i++ {
		if t, before := l.at[i], l.at[i-1]; t <= before || t-before >= longGap {
			return i
		}
	}
	return len(l.at)
}

// A clockStep is where a clock was set back, and by how much what came before
// has to be moved.
type clockStep struct {
	at   int
	back int64
}

// shift moves what came before the steps.
func (l *timeline) shift(steps []clockStep) {
	if len(steps) == 0 {
		return
	}
	total := int64(0)
	for k := len(steps) - 1; k >= 0; k-- {
		total += steps[k].back
		from := 0
		if k > 0 {
			from = steps[k-1].at
		}
		for i := from; i < steps[k].at; i++ {
			l.at[i] -= total
		}
	}
}

func (l *timeline) note(i int, text string) flightdata.Note {
	return flightdata.Note{Place: l.place(i), Text: text}
}

// displaced says how many rows from i on stand out of order: until one is
// later than all before, each lies in a hole between its neighbours in time.
// Zero: they do not.
func (l *timeline) displaced(i, hi int) int {
	if l.at[hi]-l.at[i] > reachTime {
		return 0
	}
	end := i
	for end < len(l.at) && end-i < reach && l.at[end] <= l.at[hi] {
		end++
	}
	if end-i == reach || end == len(l.at) && end-i > stray {
		return 0 // the row ahead has no place near
	}
	from := max(0, i-reach)
	window := slices.Clone(l.at[from:min(end+1, len(l.at))])
	slices.Sort(window)
	hole := l.typical() / 2
	for _, t := range l.at[i:end] {
		if t < l.at[from] {
			return 0 // it belongs further back than is looked
		}
		k, _ := slices.BinarySearch(window, t)
		again := k+1 < len(window) && window[k+1] == t
		switch {
		case again && end-i == 1: // a row that was sent twice
		case k > 0 && t-window[k-1] < hole, k+1 < len(window) && window[k+1]-t < hole:
			return 0
		}
	}
	return end - i
}

// leapsAhead leaves rows out that leap ahead by a minute and more, when the
// time goes on after them from where it was. It says whether i was such a row.
func (l *timeline) leapsAhead(i int) bool {
	before := i - 1
	for before >= 0 && l.left != nil && l.left[before] {
		before--
	}
	for n := 1; n <= stray && i+n < len(l.at); n++ {
		if t := l.at[i+n]; t > l.at[before] && t-l.at[before] < longGap && l.at[i]-t >= reachTime {
			l.leave(i, i+n)
			return true
		}
	}
	return l.left != nil && l.left[i]
}

// leapt finds rows just before i that leap ahead, when row i goes on from
// before them. It returns the row before them, -1 for none.
func (l *timeline) leapt(i int) int {
	for n := 1; n <= stray && i-n >= 1; n++ {
		before := i - n - 1
		if l.left != nil && l.left[before] {
			return -1
		}
		near := 2 * int64(n+1) * l.typical()
		if d := l.at[i] - l.at[before]; d > 0 && d <= near && l.at[i-n]-l.at[before] > near {
			return before
		}
	}
	return -1
}

// fitsNowhere says how many rows from i on are behind, when the time goes on
// after them from where it was.
func (l *timeline) fitsNowhere(i, hi int) int {
	if l.left != nil && l.left[i] {
		return 1
	}
	for n := 1; n <= stray && i+n < len(l.at); n++ {
		on, back, near := l.at[i+n]-l.at[hi], l.at[hi]-l.at[i], 2*int64(n+1)*l.typical()
		if on > 0 && (on <= near && back > near || on < longGap && back >= setBack) {
			return n
		}
	}
	return 0
}

// leave leaves readings out, noted once for each stretch.
func (l *timeline) leave(from, to int) {
	if l.left == nil {
		l.left = make([]bool, len(l.at))
	}
	if !l.left[from] {
		l.b.notes = append(l.b.notes, l.note(from, fmt.Sprintf("a time that fits nowhere: %s left out", counted(to-from, "row"))))
	}
	for i := from; i < to; i++ {
		l.left[i] = true
	}
}

// notSetBack says why a step back cannot be a clock that was set, "" when it
// can.
func (l *timeline) notSetBack(i int, back int64) string {
	if back >= setBack {
		return ": a stretch of time is there twice, or a second recording begins here"
	}
	ground, told := l.b.onGround(l.row(i))
	switch {
	case !told:
		return ", and nothing tells that the aircraft is on the ground, where clocks are set"
	case !ground:
		return " while the aircraft is in flight or fast"
	}
	return ""
}

// typical is the time from row to row, the median over the rows in the order
// of time.
func (l *timeline) typical() int64 {
	if l.step > 0 {
		return l.step
	}
	at := slices.Clone(l.at)
	slices.Sort(at)
	var rise []int64
	for i := 1; i < len(at); i++ {
		if d := at[i] - at[i-1]; d > 0 {
			rise = append(rise, d)
		}
	}
	l.step = 1
	if len(rise) > 0 {
		slices.Sort(rise)
		l.step = rise[len(rise)/2]
	}
	return l.step
}

// onGround says whether the aircraft is on the ground at a row, by the latest
// sample of the air/ground discrete or else of a speed; told is false when
// neither has one.
func (b *builder) onGround(row int) (ground, told bool) {
	for _, want := range []flightdata.Parameter{flightdata.AirGround, flightdata.GroundSpeed, flightdata.Airspeed} {
		for i := range b.sources {
			src := &b.sources[i]
			if src.rule.Parameter != want || len(src.at) != 1 {
				continue
			}
			if ground, told = groundAt(src, &b.data.Columns[src.at[0]], row); told {
				return ground, true
			}
		}
	}
	return false, false
}

// groundAt asks one source.
func groundAt(src *source, c *table.ColumnData, row int) (ground, told bool) {
	k := row
	if c.Rows != nil {
		at, found := slices.BinarySearch(c.Rows, int32(row))
		if k = at; !found {
			k--
		}
	}
	if k < 0 || k >= c.Len() {
		return false, false
	}
	if src.rule.Kind == flightdata.Discrete {
		if c.States[k] < 0 {
			return false, false
		}
		s := stateOf(src.rule.States, c.Words[c.States[k]])
		return s >= 0 && src.rule.States[s].State == groundState, s >= 0
	}
	v := c.Numbers[k]
	conv, err := unit.Convert(src.unit, src.rule.Canonical)
	return conv.Apply(v) < groundBelow, err == nil && v == v
}

// groundState is the state of air_ground on the ground.
const groundState = "ground"

// startOf works out the UTC of the first row, the zero time when the day is
// not known.
func (b *builder) startOf() time.Time {
	form := b.prof.Time.Form
	if form.Dated() || b.dated {
		return time.Unix(0, b.origin).UTC()
	}
	if !form.OfDay() {
		return b.known.start
	}
	ofDay := time.Duration(b.origin)
	if !b.known.start.IsZero() {
		// The file name may say 23:59 and the clock 00:00:01: the nearer day.
		at := b.known.start.Truncate(24 * time.Hour).Add(ofDay)
		switch d := at.Sub(b.known.start); {
		case d > 12*time.Hour:
			return at.Add(-24 * time.Hour)
		case d < -12*time.Hour:
			return at.Add(24 * time.Hour)
		}
		return at
	}
	if date, err := time.Parse(time.DateOnly, b.known.Date); err == nil {
		return date.Add(ofDay)
	}
	return time.Time{}
}
