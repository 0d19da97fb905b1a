package table

import (
	"bytes"
	"math"
	"slices"
	"strings"
)

// A column gathers the samples of one want. All containers hand their cells
// to it, so that a cell means the same wherever it comes from.
type column struct {
	want   Want
	name   string
	none   *noSample
	limits *Limits
	out    ColumnData
	// sparse says that out.Rows is kept. It starts false: as long as every row
	// so far gave a sample, the rows need not be written down.
	sparse bool

	ids      map[string]int32 // state of each text met, as it was written
	wordIDs  map[string]int32 // state of each word
	last     []byte           // the latest text and its state: discretes repeat
	lastID   int32
	held     held
	byBits   map[uint64]int32 // the same for numbers of binary containers
	lastBits uint64
	leap     int64 // row of the first leap second, -1 for none
	comma    bool  // the decimal mark of text is a comma
	latin1   bool  // text is ISO 8859-1
	pointed  []byte

	// pick finds the column that gets the cell of a row, of a long file; nil
	// when this column keeps its cells itself.
	pick func(row int64) *column

	always   bool // decoded in every row, though others may not be
	list     bool // the cells are lists
	listFrom int  // the first slot of the latest list
	elements int  // so many it has, as yet
	zoneless bool // timestamps without a zone were met
}

func newColumn(w Want, name string, none *noSample, limits *Limits) *column {
	c := &column{want: w, name: name, none: none, limits: limits, leap: -1, lastID: noState, held: notHeld}
	switch w.As {
	case Number, Whole:
		c.out.Numbers = doubleRoom.take()
	case State:
		c.ids, c.wordIDs = map[string]int32{}, map[string]int32{}
		c.out.States = indexRoom.take()
	default:
		c.out.Clock = clockRoom.take()
	}
	return c
}

// held is the latest short cell of plain text as its bytes up to the delimiter or
// line end behind it, and what it stands for. A filled recording repeats each
// sample until the next, and a discrete does so anyway.
type held struct {
	text, mask uint64 // eight bytes are the cell again if text is what mask leaves of them
	size       int    // of the cell
	value      float64
	id         int32
}

// notHeld is like no bytes.
var notHeld = held{text: 1}

// hold remembers a cell that was taken, of size bytes at the start of w; value is
// that of a Number.
func (c *column) hold(w uint64, size int, value float64) {
	if size > 7 || c.want.As == State && (c.lastID == badState || c.last == nil) {
		return // the one before is as good as none
	}
	mask := ^uint64(0) >> (56 - 8*size)
	c.held = held{text: w & mask, mask: mask, size: size, value: value, id: c.lastID}
}

// again takes the cell that is held once more.
func (c *column) again(row int64) {
	if c.want.As == State {
		c.state(row, c.held.id)
		return
	}
	c.number(row, c.held.value)
}

// noState is the state of a cell that is no sample, badState that of a bad
// one.
const (
	badState = -1
	noState  = -2
)

// at notes that the next sample belongs to row. It comes before the value is
// appended.
func (c *column) at(row int64) {
	if !c.sparse {
		if int64(c.out.Len()) == row {
			return
		}
		c.writeRows()
	}
	c.out.Rows = append(c.out.Rows, int32(row))
	if c.list {
		c.out.Slots = append(c.out.Slots, Slot{Index: uint16(c.elements - 1)})
	}
}

// writeRows gives every sample so far its row: until now all rows had one.
func (c *column) writeRows() {
	n := c.out.Len()
	if c.out.Rows = indexRoom.take(); cap(c.out.Rows) < n || c.out.Rows == nil {
		c.out.Rows = make([]int32, n, max(2*n, 64))
	}
	c.out.Rows = c.out.Rows[:n]
	for i := range c.out.Rows {
		c.out.Rows[i] = int32(i)
	}
	c.sparse = true
}

func (c *column) number(row int64, v float64) {
	if len(c.none.values) > 0 && c.none.hasValue(v) {
		return
	}
	c.at(row)
	c.out.Numbers = append(c.out.Numbers, v)
}

func (c *column) clock(row, ns int64) {
	c.at(row)
	c.out.Clock = append(c.out.Clock, ns)
}

func (c *column) state(row int64, id int32) {
	if id == noState {
		return
	}
	c.at(row)
	c.out.States = append(c.out.States, id)
}

// bad counts a cell that could not be understood. A number keeps its row as
// NaN and a state as -1: the recorder delivered something there. A clock
// reading that cannot be read is of no use to anyone.
func (c *column) bad(row int64, text []byte) {
	c.countBad(row, text)
	switch c.want.As {
	case Number, Whole:
		c.at(row)
		c.out.Numbers = append(c.out.Numbers, math.NaN())
	case State:
		c.state(row, badState)
	}
}

func (c *column) countBad(row int64, text []byte) {
	c.out.Bad++
	if len(c.out.BadFirst) < c.limits.BadCells {
		// The row becomes a line number in finish.
		c.out.BadFirst = append(c.out.BadFirst, BadCell{Row: row, Text: clip(text)})
	}
}

// clip is the text as a message can carry it.
func clip(text []byte) string {
	const most = 60
	if len(text) > most {
		return strings.ToValidUTF8(string(text[:most]), "") + "…"
	}
	return strings.ToValidUTF8(string(text), "\uFFFD")
}

// text takes one cell of text. Spaces around a cell belong to the exporter's
// layout unless the cell was quoted.
func (c *column) text(row int64, cell []byte, quoted bool) {
	if !quoted {
		cell = trim(cell)
	}
	if c.want.As == State {
		// Told apart before the test for "no sample", so that the text that
		// repeats costs one comparison.
		c.stateText(row, cell)
		return
	}
	if c.none.hasText(cell) {
		return
	}
	written := cell
	if c.comma {
		cell = c.withPoint(cell)
	}
	switch c.want.As {
	case Number:
		if v, ok := parseNumber(cell); ok {
			c.number(row, v)
			return
		}
	case Seconds:
		if ns, ok := parseSeconds(cell); ok {
			c.seconds(row, ns)
			return
		}
	case Timestamp:
		if ns, leap, ok := parseTimestamp(cell); ok {
			c.leaping(row, leap)
			c.clock(row, ns)
			return
		}
	default:
		if c.otherText(row, cell) {
			return
		}
	}
	c.bad(row, written)
}

// otherText takes what is not met in every recording; false is a bad cell.
func (c *column) otherText(row int64, cell []byte) bool {
	var ns int64
	var ok bool
	switch c.want.As {
	case DateTime:
		var leap, zoned bool
		ns, leap, zoned, ok = parseDateTime(cell)
		if ok {
			c.leaping(row, leap)
			c.zoneless = c.zoneless || !zoned
		}
	case ClockTime:
		ns, ok = parseClock(cell)
	case Date:
		ns, ok = parseDate(cell)
	case Millis:
		if ns, ok = parseScaled(cell, 6); ok {
			c.seconds(row, ns)
			return true
		}
	case Whole:
		v, ok := parseWhole(cell)
		if ok {
			c.number(row, v)
		}
		return ok
	}
	if ok {
		c.clock(row, ns)
	}
	return ok
}

// leaping remembers the row of the first leap second.
func (c *column) leaping(row int64, leap bool) {
	if leap && c.leap < 0 {
		c.leap = row
	}
}

// withPoint writes the decimal comma of a number as a point. A number that
// has points is no number here, since they may stand between the thousands; a
// comma behind it says so. Words keep their commas.
func (c *column) withPoint(cell []byte) []byte {
	switch c.want.As {
	case Number, Seconds, Millis, State:
	default:
		return cell
	}
	i := bytes.IndexByte(cell, ',')
	if bytes.IndexByte(cell, '.') >= 0 {
		if c.want.As == State {
			return cell
		}
		return append(append(c.pointed[:0], cell...), ',')
	}
	if i < 0 {
		return cell
	}
	c.pointed = append(c.pointed[:0], cell...)
	c.pointed[i] = '.'
	if _, ok := scanDecimal(c.pointed); c.want.As == State && !ok {
		return cell
	}
	return c.pointed
}

func (c *column) seconds(row, ns int64) {
	if len(c.none.values) > 0 && c.none.hasValue(float64(ns)/1e9) {
		return
	}
	c.clock(row, ns)
}

func (c *column) stateText(row int64, cell []byte) {
	if !bytes.Equal(cell, c.last) || c.last == nil {
		c.lastID = c.stateOf(cell)
		c.last = append(c.last[:0], cell...)
	}
	if c.lastID == badState {
		c.countBad(row, cell)
	}
	c.state(row, c.lastID)
}

// stateOf is the state that a text stands for. Texts are remembered as they
// were written, so that each is looked at once only.
func (c *column) stateOf(cell []byte) int32 {
	if id, ok := c.ids[string(cell)]; ok {
		return id
	}
	if c.none.hasText(cell) {
		return noState
	}
	if len(cell) > c.limits.CellBytes {
		return badState
	}
	w := cell
	if c.comma {
		w = c.withPoint(w)
	}
	if c.latin1 {
		w = fromLatin1(w)
	}
	id := c.word(string(canonicalNumber(w)))
	// Many spellings of few words must not fill the memory either.
	if len(c.ids) < 4*c.limits.Words {
		c.ids[string(cell)] = id
	}
	return id
}

// word is the state of a word, a new one if it was not met before.
func (c *column) word(w string) int32 {
	if len(c.none.values) > 0 && c.none.hasWord(w) {
		return noState
	}
	w = strings.ToValidUTF8(w, "\uFFFD")
	id, ok := c.wordIDs[w]
	if ok {
		return id
	}
	if len(c.out.Words) >= c.limits.Words {
		return badState
	}
	id = int32(len(c.out.Words))
	c.out.Words = append(c.out.Words, w)
	c.wordIDs[w] = id
	return id
}

// A mark is how far a column had come, to go back to.
type mark struct {
	rows, samples, words, bad, badFirst int
	sparse                              bool
	leap                                int64
}

func (c *column) mark() mark {
	return mark{
		rows: len(c.out.Rows), samples: c.out.Len(), words: len(c.out.Words),
		bad: c.out.Bad, badFirst: len(c.out.BadFirst), sparse: c.sparse, leap: c.leap,
	}
}

// back forgets everything since m.
func (c *column) back(m mark) {
	c.out.Rows = c.out.Rows[:m.rows]
	if c.sparse = m.sparse; !c.sparse {
		c.out.Rows = nil
	}
	c.out.Numbers = c.out.Numbers[:min(m.samples, len(c.out.Numbers))]
	c.out.States = c.out.States[:min(m.samples, len(c.out.States))]
	c.out.Clock = c.out.Clock[:min(m.samples, len(c.out.Clock))]
	c.out.Bad, c.leap = m.bad, m.leap
	c.out.BadFirst = c.out.BadFirst[:m.badFirst]
	if len(c.out.Words) == m.words {
		return
	}
	c.out.Words = c.out.Words[:m.words]
	gone := func(_ string, id int32) bool { return int(id) >= m.words }
	deleteFrom(c.ids, gone)
	deleteFrom(c.wordIDs, gone)
	c.last, c.held = nil, notHeld
}

func deleteFrom(m map[string]int32, gone func(string, int32) bool) {
	for k, id := range m {
		if gone(k, id) {
			delete(m, k)
		}
	}
}

// reserve makes room for so many more samples.
func (c *column) reserve(more int) {
	switch c.want.As {
	case Number, Whole:
		c.out.Numbers = slices.Grow(c.out.Numbers, more)
	case State:
		c.out.States = slices.Grow(c.out.States, more)
	default:
		c.out.Clock = slices.Grow(c.out.Clock, more)
	}
	if c.sparse {
		c.out.Rows = slices.Grow(c.out.Rows, more)
	}
}

// finish hands the samples to d, whose rows are all read.
func (c *column) finish(d *Data) {
	if !c.sparse && int64(c.out.Len()) < d.Rows {
		c.writeRows()
	}
	c.endList()
	for i := range c.out.BadFirst {
		c.out.BadFirst[i].Row = d.Line(c.out.BadFirst[i].Row)
	}
	if c.leap >= 0 {
		d.Notes = append(d.Notes, Note{
			Row: d.Line(c.leap), Column: c.name,
			Text: "a leap second (second 60) counts as the first second of the next day",
		})
	}
	if c.zoneless {
		d.Notes = append(d.Notes, Note{Column: c.name, Text: "the timestamps name no time zone; they were taken as UTC"})
	}
	if n := c.out.Numbers; n != nil && cap(n) <= largeRoom {
		c.out.Numbers = make([]float64, len(n))
		copy(c.out.Numbers, n)
		doubleRoom.keep(n)
	}
	d.Columns = append(d.Columns, c.out)
}
