package table

import "sort"

// As says how the cells of a wanted column are to be understood.
type As uint8

// The ways to understand a cell.
const (
	Number    As = iota // a decimal number, to float64
	State               // a word of a discrete
	Seconds             // seconds of any origin, to integer nanoseconds
	Timestamp           // RFC 3339: date and time of day with offset, to ns since 1970-01-01T00:00:00Z
	DateTime            // ISO 8601: the same, but the offset may be missing, which is taken as UTC
	ClockTime           // a time of day as HH:MM:SS, to ns since midnight
	Date                // a date, to ns since 1970 at its midnight
	Millis              // milliseconds of any origin, to ns
	Whole               // a whole number, decimal or hexadecimal as 0x1F, to float64
	ways
)

// String names it as messages do.
func (a As) String() string {
	names := [...]string{"number", "state", "seconds", "timestamp", "date and time", "time of day", "date", "milliseconds", "whole number"}
	if int(a) < len(names) {
		return names[a]
	}
	return "unknown"
}

// Want asks for one column, by its place in File.Columns. The same column may
// be wanted more than once.
type Want struct {
	Column int
	As     As
}

// Data is what Read decoded.
type Data struct {
	Rows    int64        // data rows of the file
	Columns []ColumnData // in the order of the wants
	Notes   []Note       // what was odd about the file, in the order it was met
	// Skipped are the rows, in rising order, of which only the columns that a
	// Sift names were decoded; nil when none was passed over.
	Skipped []RowSpan

	// lines holds the rows at which the distance between row and line changes.
	lines []lineShift
}

// lineShift says that from row on, the line of a row is row + shift.
type lineShift struct {
	row, shift int64
}

// Line is the number of a data row as a person counts: in CSV the line on
// which the row starts, elsewhere the row counted from 1.
func (d *Data) Line(row int64) int64 {
	i := sort.Search(len(d.lines), func(i int) bool { return d.lines[i].row > row })
	if i == 0 {
		return row + 1
	}
	return row + d.lines[i-1].shift
}

// ColumnData is the samples of one wanted column. The slice that belongs to
// its As is set, the others are nil.
type ColumnData struct {
	// Rows is the data row of each sample, from 0, in rising order; nil when
	// every row of the file has one sample. A column without any sample in a file
	// with rows has an empty slice that is not nil.
	Rows []int32
	// Numbers of a column wanted as Number or Whole. NaN stands for a bad cell and for
	// nothing else. A timestamp column gives seconds since 1970.
	Numbers []float64
	// States of a column wanted as State: indices into Words, -1 for a bad cell
	// (a text longer than Limits.CellBytes, or one word more than Limits.Words).
	States []int32
	// Words are the different states in the order in which they were first met.
	// A plain number is written in one way only, so that 1, 1.0 and 1.00 are the
	// same state "1" in every container; a number with an exponent or a leading
	// zero ("007") stays as it is, being a code. A boolean is "1" or "0", a
	// timestamp its nanoseconds.
	Words []string
	// Clock of a column wanted as any kind of time or date, in nanoseconds. Decimal
	// text is converted exactly and, past the ninth decimal, rounded to the
	// nearest; floats are rounded to the nearest. A bad cell gives no sample.
	Clock []int64
	// Slots says, for cells that are lists, which of the samples in its row each
	// sample is; nil when a cell holds one. Rows is set then, and repeats.
	Slots []Slot
	// Bad counts the cells that hold text that is not what was wanted.
	Bad int
	// BadFirst are the first few of them.
	BadFirst []BadCell
}

// A Slot is the place of a sample in the list of its cell: the Index-th, from
// 0, Of so many. An element without a sample has its place too.
type Slot struct{ Index, Of uint16 }

// Len is the number of samples.
func (c *ColumnData) Len() int { return max(len(c.Numbers), len(c.States), len(c.Clock)) }

// Row is the data row of sample i.
func (c *ColumnData) Row(i int) int {
	if c.Rows == nil {
		return i
	}
	return int(c.Rows[i])
}

// BadCell is one cell that could not be understood. Row counts as a person
// does. Text is cut to 60 bytes.
type BadCell struct {
	Row  int64
	Text string
}

// Note is something odd that did not keep the file from being read. Row
// counts as a person does, 0 when the note is about the whole file; Column is
// empty when it is not about one column.
type Note struct {
	Row    int64
	Column string
	Text   string
}
