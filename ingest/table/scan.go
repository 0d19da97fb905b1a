package table

import (
	"bytes"
	"encoding/binary"
	"math/bits"
	"slices"
)

// A step is one wanted cell of a row.
type step struct {
	col    *column
	field  int  // which cell of the row
	skip   int  // how many delimiters lie between the previous step's cell and this one
	behind int  // how many follow it in the row
	again  bool // the same cell as the previous step's
	as     As
}

// plan puts the wanted columns in the order of the row.
func plan(cols []*column) []step {
	steps := make([]step, len(cols))
	for i, c := range cols {
		steps[i] = step{col: c, field: c.want.Column, as: c.want.As}
	}
	slices.SortStableFunc(steps, func(a, b step) int { return a.field - b.field })
	at := 0
	for i := range steps {
		s := &steps[i]
		s.skip, s.again = s.field-at, i > 0 && s.field == at
		at = s.field
	}
	return steps
}

// A fastScan reads blocks of plain rows: no quotes, no blank lines, every row
// with as many cells as the header. It does not find out what is wrong with a
// block, only that something is; the careful way then reads the block again.
type fastScan struct {
	steps  []step
	tail   int    // how many delimiters follow the last step's cell
	commas uint64 // the delimiter in every byte
	points uint64 // the decimal mark in every byte
	delim  byte
	comma  bool // the delimiter is a comma, for which there is a shorter test
}

func newFastScan(d Dialect, cols []*column, fields int) *fastScan {
	f := &fastScan{
		steps: plan(cols), tail: fields - 1, delim: d.Delimiter, comma: d.Delimiter == ',',
		commas: uint64(d.Delimiter) * ones, points: uint64(d.Decimal) * ones,
	}
	for i := range f.steps {
		f.steps[i].behind = fields - 1 - f.steps[i].field
	}
	if n := len(f.steps); n > 0 {
		f.tail -= f.steps[n-1].field
	}
	return f
}

// wanted are the steps; none of a nil scan.
func (s *siftScan) wanted() []step {
	if s == nil {
		return nil
	}
	return s.all.steps
}

// block reads the n bytes of whole lines at the start of b, which reaches
// slack bytes further. It returns how many rows they hold, or false when the
// block is not plain; then samples of it may have been added already.
func (s *siftScan) block(b []byte, n int, row int64) (rows int64, ok bool) {
	p := 0
	for p < n {
		if s.sift == nil {
			p = s.all.row(b, p, n, row+rows)
		} else {
			p = s.row(b, p, n, row+rows)
		}
		if p < 0 {
			return 0, false
		}
		rows++
	}
	// A row with too few cells runs on into the next line. Then there are
	// fewer rows than line ends, and no other way leads to that.
	return rows, p == n && rows == int64(bytes.Count(b[:n], newline))
}

// row reads the row at p and returns where the next one starts, -1 when it is
// not plain. Of a row that may be passed over the gate's cells are read; its
// delimiters are counted as those of any other.
func (s *siftScan) row(b []byte, p, n int, row int64) int {
	if s.sift.open {
		if p = s.all.row(b, p, n, row); p >= 0 {
			s.sift.row(row)
		}
		return p
	}
	size := bytes.IndexByte(b[p:n], '\n')
	if size < 0 || bytes.Count(b[p:p+size], s.delimiter) != s.delimiters || !s.gate.pick(b, p, p+size, row) {
		return -1
	}
	if s.sift.row(row) && s.others.row(b, p, n, row) < 0 {
		return -1
	}
	return p + size + 1
}

// pick reads the steps' cells of the row from p to end, which has as many cells
// as the header. It finds those near the end of the row from there.
func (f *fastScan) pick(b []byte, p, end int, row int64) bool {
	start := p
	for i := range f.steps {
		st := &f.steps[i]
		switch {
		case st.again:
			p = start
		case st.behind < st.skip && end >= 8*(st.behind+1):
			p = f.skipBack(b, end, st.behind)
		case st.skip > 0:
			p = f.skip(b, p, st.skip)
		}
		if p < 0 {
			return false
		}
		start = p
		if c := b[p]; c == f.delim || c == '\n' {
			continue
		}
		if h := &st.col.held; binary.LittleEndian.Uint64(b[p:])&h.mask == h.text {
			p += h.size
			st.col.again(row)
			continue
		}
		if p = f.cell(st, b, p, row); p < 0 {
			return false
		}
	}
	return true
}

// skipBack returns where the cell before the k-th comma before end starts; -1
// when that lies before b.
func (f *fastScan) skipBack(b []byte, end, k int) int {
	k++ // the comma before the cell itself
	for p := end - 8; p >= 0; p -= 8 {
		m := zeroBytes(binary.LittleEndian.Uint64(b[p:]) ^ f.commas)
		if n := bits.OnesCount64(m); n < k {
			k -= n
			continue
		}
		for ; k > 1; k-- {
			m &^= 1 << (63 - bits.LeadingZeros64(m))
		}
		return p + (63-bits.LeadingZeros64(m))>>3 + 1
	}
	return -1
}

// row reads the steps' cells of the row at p and returns where the next row
// starts, -1 when this one is not plain.
func (f *fastScan) row(b []byte, p, n int, row int64) int {
	start := p
	for i := range f.steps {
		st := &f.steps[i]
		switch {
		case st.again:
			p = start
		case st.skip == 1 && i > 0:
			// The cell before ended here, at the delimiter or at the line end.
			if b[p] != f.delim {
				return -1
			}
			p++
		case st.skip > 0:
			if p = f.skip(b, p, st.skip); p < 0 {
				return -1
			}
		}
		start = p
		// Most cells of a sparse recording are blank, and those of a filled one are
		// what they were in the row before.
		if c := b[p]; c == f.delim || c == '\n' {
			continue
		}
		if h := &st.col.held; binary.LittleEndian.Uint64(b[p:])&h.mask == h.text {
			p += h.size
			st.col.again(row)
			continue
		}
		if p = f.cell(st, b, p, row); p < 0 {
			return -1
		}
	}
	return f.lineEnd(b, p, n)
}

var newline = []byte{'\n'}

// skip returns where the cell behind the k-th comma from p starts, -1 when the
// bytes do not reach that far.
func (f *fastScan) skip(b []byte, p, k int) int {
	for p+8 <= len(b) {
		m := zeroBytes(binary.LittleEndian.Uint64(b[p:]) ^ f.commas)
		if n := bits.OnesCount64(m); n < k {
			k -= n
			p += 8
			continue
		}
		for ; k > 1; k-- {
			m &= m - 1
		}
		p += bits.TrailingZeros64(m)>>3 + 1
		// The caller looks at eight bytes and the one behind them.
		if p+9 >= len(b) {
			return -1
		}
		return p
	}
	return -1
}

// lineEnd returns where the next row starts, given that p is where the last
// step's cell ends; -1 unless exactly the commas of the tail lie before it.
func (f *fastScan) lineEnd(b []byte, p, n int) int {
	if f.tail > 0 {
		if p = f.skip(b, p, f.tail); p < 0 {
			return -1
		}
	}
	for ; p < n; p++ {
		switch b[p] {
		case '\n':
			return p + 1
		case f.delim:
			return -1
		}
	}
	return -1
}

// cell reads the cell at p and returns where it ends: at a delimiter or at the
// line end.
func (f *fastScan) cell(st *step, b []byte, p int, row int64) int {
	switch st.as {
	case Number:
		if mant, decimals, neg, end := f.shortDecimal(b, p); end >= 0 {
			v := float64(mant) / pow10[decimals&15]
			if neg {
				v = -v
			}
			if b[end] != '\r' { // which ends a cell only before a line end
				st.col.hold(binary.LittleEndian.Uint64(b[p:]), end-p, v)
			}
			st.col.number(row, v)
			return end
		}
	case Seconds:
		if mant, decimals, neg, end := f.shortDecimal(b, p); end >= 0 {
			ns := int64(mant * intPow10[9-decimals])
			if neg {
				ns = -ns
			}
			st.col.seconds(row, ns)
			return end
		}
	}
	end := p
	for end < len(b) && b[end] != f.delim && b[end] != '\n' {
		end++
	}
	if end == len(b) {
		return -1
	}
	text := b[p:end]
	if b[end] == '\n' && end > p && text[len(text)-1] == '\r' {
		text = text[:len(text)-1]
	}
	st.col.text(row, text, false)
	if st.as == State {
		st.col.hold(binary.LittleEndian.Uint64(b[p:]), end-p, 0)
	}
	return end
}
