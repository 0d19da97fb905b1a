package table

import (
	"fmt"
	"slices"
)

// A Sift is how a reading passes over rows of which only a few columns are
// wanted. The wants that it names are decoded in every row, and all others
// only where the Gate is open.
type Sift struct {
	// Clock, State and Numbers are the wants that the Gate looks at: any kind of
	// time, a State and some of Number.
	Clock, State int
	Numbers      []int
	// Always are further wants to be decoded in every row.
	Always []int
	Gate   Gate
}

// A Gate says row by row, in the order of the rows, whether the columns beside
// its own are wanted. It is asked once for each row. Where it opens, the row
// that opened it is read whole, and where it closes, the row that closed it:
// so the answer depends on the rows alone and not on how they lie in the file.
type Gate interface {
	// Open takes the gate's own cells of a row.
	Open(r *GateRow) bool
	// Copy is the gate as it stands. The reader goes back to a copy when it
	// has to read rows again.
	Copy() Gate
}

// GateRow is what the columns of a Gate hold in one row.
type GateRow struct {
	Clock   int64  // nanoseconds on the file's clock, when Timed
	Word    string // of the state, when Told; "" for a bad cell
	Numbers []GateNumber
	Timed   bool
	Told    bool
}

// GateNumber is a number of a row, when it is there; NaN for a bad cell.
type GateNumber struct {
	Value float64
	There bool
}

// RowSpan is the data rows from From up to To, To not included.
type RowSpan struct{ From, To int64 }

// sifter runs a gate over the rows of one pass.
type sifter struct {
	gate         Gate
	always       []bool // of each want
	clock, state cursor
	numbers      []cursor
	open         bool // after the row before
	skipped      []RowSpan
	now          GateRow
}

// A cursor is the next sample of a column that was not looked at.
type cursor struct {
	c *column
	k int
	// no row before this one has that sample
	row int64
}

// at moves past the sample of a row, of n in the column, and says whether there
// is one. The rows come in order, and those of the samples as well.
func (c *cursor) at(row int64, n int) (k int, ok bool) {
	if row < c.row || c.k >= n {
		return 0, false
	}
	return c.look(row)
}

func (c *cursor) look(row int64) (k int, ok bool) {
	k = c.k
	c.row = int64(k)
	if rows := c.c.out.Rows; rows != nil {
		c.row = int64(rows[k])
	}
	if c.row != row {
		return 0, false
	}
	c.k++
	c.row++
	return k, true
}

// newSifter is nil when nothing may be passed over.
func newSifter(s *Sift, cols []*column) (*sifter, error) {
	if s == nil {
		return nil, nil
	}
	out := &sifter{gate: s.Gate, always: make([]bool, len(cols)), open: true}
	out.now.Numbers = make([]GateNumber, len(s.Numbers))
	for i, k := range slices.Concat([]int{s.Clock, s.State}, s.Numbers, s.Always) {
		if k < 0 || k >= len(cols) {
			return nil, fmt.Errorf("the gate looks at want %d of %d", k, len(cols))
		}
		as := cols[k].want.As
		if timed := as != Number && as != State && as != Whole; i == 0 && !timed || i == 1 && as != State || i >= 2 && i < 2+len(s.Numbers) && as != Number {
			return nil, fmt.Errorf("the gate cannot look at a column read as %s there", as)
		}
		out.always[k], cols[k].always = true, true
	}
	out.clock.c, out.state.c = cols[s.Clock], cols[s.State]
	for _, k := range s.Numbers {
		out.numbers = append(out.numbers, cursor{c: cols[k]})
	}
	return out, nil
}

// row asks the gate about a row whose own cells are decoded, and says whether
// the others are wanted.
func (s *sifter) row(row int64) bool {
	r := &s.now
	var k int
	clock := s.clock.c.out.Clock
	if k, r.Timed = s.clock.at(row, len(clock)); r.Timed {
		r.Clock = clock[k]
	}
	states := s.state.c.out.States
	if k, r.Told = s.state.at(row, len(states)); r.Told {
		if r.Word = ""; states[k] >= 0 {
			r.Word = s.state.c.out.Words[states[k]]
		}
	}
	for i := range s.numbers {
		n, c := &r.Numbers[i], &s.numbers[i]
		numbers := c.c.out.Numbers
		if k, n.There = c.at(row, len(numbers)); n.There {
			n.Value = numbers[k]
		}
	}
	was := s.open
	s.open = s.gate.Open(r)
	if was || s.open {
		return true
	}
	if n := len(s.skipped); n > 0 && s.skipped[n-1].To == row {
		s.skipped[n-1].To++
	} else {
		s.skipped = append(s.skipped, RowSpan{row, row + 1})
	}
	return false
}

// rows asks about the rows of a span, whose own cells are all decoded, and
// returns the stretches in which the others are wanted.
func (s *sifter) rows(from, to int64) []RowSpan {
	wanted := []RowSpan{} // not nil, which would stand for every row
	for row := from; row < to; row++ {
		if !s.row(row) {
			continue
		}
		if n := len(wanted); n > 0 && wanted[n-1].To == row {
			wanted[n-1].To++
		} else {
			wanted = append(wanted, RowSpan{row, row + 1})
		}
	}
	return wanted
}

// split tells the columns that are decoded in every row from the others.
func (s *sifter) split(cols []*column) (always, others []*column) {
	if s == nil {
		return cols, nil
	}
	for i, c := range cols {
		if s.always[i] {
			always = append(always, c)
		} else {
			others = append(others, c)
		}
	}
	return always, others
}

// A siftMark is where a sifter stood.
type siftMark struct {
	s    sifter
	last RowSpan
}

func (s *sifter) mark() (m siftMark) {
	if s == nil {
		return m
	}
	m.s = *s
	m.s.gate, m.s.numbers = s.gate.Copy(), slices.Clone(s.numbers)
	if n := len(s.skipped); n > 0 {
		m.last = s.skipped[n-1]
	}
	return m
}

// back forgets every row since the mark.
func (s *sifter) back(m siftMark) {
	if s == nil {
		return
	}
	*s = m.s
	if n := len(s.skipped); n > 0 {
		s.skipped[n-1] = m.last // the last one may have grown since
	}
}

// A siftScan reads blocks of plain rows, of most of which only the gate's
// columns are wanted.
type siftScan struct {
	all, gate, others *fastScan
	sift              *sifter
	delimiter         []byte
	delimiters        int // in each row
}

// newSiftScan is a plain scan when nothing may be passed over.
func newSiftScan(d Dialect, cols []*column, fields int, sift *sifter) *siftScan {
	s := &siftScan{all: newFastScan(d, cols, fields), sift: sift}
	if sift == nil {
		return s
	}
	always, others := sift.split(cols)
	s.gate, s.others = newFastScan(d, always, fields), newFastScan(d, others, fields)
	s.delimiter, s.delimiters = []byte{d.Delimiter}, fields-1
	return s
}
