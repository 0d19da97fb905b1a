package table

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"io"
	"math/bits"
	"slices"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding"
	"github.com/parquet-go/parquet-go/format"
)

// chunk adds the samples of one column of one row group; base is the row with
// which the group starts.
func (p *parquetFile) chunk(cc parquet.ColumnChunk, c *column, base, rows int64) error {
	pages := cc.Pages()
	defer pages.Close()
	at := base
	list := p.leaves[c.want.Column].list
	if list {
		at-- // of the list that runs on
	}
	seekable := p.wanted != nil && !list && p.indexed(cc)
	for {
		if seekable {
			to := p.passOver(at-base, base, rows)
			if to == rows {
				at = base + rows
				break
			}
			if to != at-base {
				if err := pages.SeekToRow(to); err != nil {
					return err
				}
				at = base + to
			}
		}
		page, err := pages.ReadPage()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if list {
			at, err = p.listPage(page, c, at, base+rows)
		} else {
			at, err = p.page(page, c, at, base+rows)
		}
		parquet.Release(page)
		if err != nil {
			return err
		}
	}
	if list {
		c.endList()
		at++
	}
	if at != base+rows {
		return &fault{cause: fmt.Sprintf("the pages hold %d rows, the row group has %d", at-base, rows), remedy: transferAgain}
	}
	return nil
}

// indexed says whether the chunk has an offset index that agrees with the headers
// of its pages, which were walked before. The library seeks by the index; one that
// is damaged would give it another page's rows.
func (p *parquetFile) indexed(cc parquet.ColumnChunk) bool {
	index, err := cc.OffsetIndex()
	if err != nil || index == nil || index.NumPages() != len(p.heads) {
		return false // many writers write none
	}
	for i, h := range p.heads {
		if index.FirstRowIndex(i) != h.row || index.Offset(i) != h.offset {
			return false
		}
	}
	return true
}

// passOver is the row of the group from which on to read, given that a page
// starts at row at: behind the pages that hold no wanted row.
func (p *parquetFile) passOver(at, base, rows int64) int64 {
	i, found := slices.BinarySearchFunc(p.heads, at, func(h pageHead, row int64) int { return cmp.Compare(h.row, row) })
	if !found {
		return at
	}
	for ; i < len(p.heads); i++ {
		end := rows
		if i+1 < len(p.heads) {
			end = p.heads[i+1].row
		}
		if rowsBetween(p.wanted, base+p.heads[i].row, base+end) > 0 {
			return p.heads[i].row
		}
	}
	return rows
}

// page adds the samples of one page, which starts at row at, and returns the
// row behind it.
func (p *parquetFile) page(page parquet.Page, c *column, at, end int64) (int64, error) {
	l := &p.leaves[c.want.Column]
	n := page.NumValues()
	if n > end-at {
		return at, &fault{cause: "the pages hold more rows than the row group", remedy: transferAgain}
	}
	s, err := p.pageSamples(page, l, c)
	if err != nil {
		return at, err
	}
	present := int64(s.present)
	levels := page.DefinitionLevels()
	if len(levels) == 0 {
		if present < n {
			return at, &fault{cause: fmt.Sprintf("a page of %d values holds %d", n, present), remedy: transferAgain}
		}
	} else if int64(len(levels)) != n {
		return at, &fault{cause: fmt.Sprintf("a page of %d values has %d definition levels", n, len(levels)), remedy: transferAgain}
	}
	if n > 0 && c.pick == nil {
		// The other pages of the group will be about as full as this one. The
		// rows of the group were held against its page headers before.
		if present < n && !c.sparse {
			c.writeRows() // there will be blanks
		}
		rows := end - at
		if p.wanted != nil {
			rows = rowsBetween(p.wanted, at, end)
		}
		c.reserve(int(min(min(present, n)*rows/n, p.f.limits.Samples)))
	}
	if !s.addWanted(levels, at, n, p.wanted) {
		return at, &fault{cause: "a page has fewer values than its definition levels say", remedy: transferAgain}
	}
	return at + n, nil
}

// rowsBetween is how many rows of the stretches lie there.
func rowsBetween(stretches []RowSpan, from, to int64) (n int64) {
	for _, s := range stretches {
		n += max(min(s.To, to)-max(s.From, from), 0)
	}
	return n
}

// values are the values of a page or of a dictionary, in the one slice that
// fits them.
type values struct {
	n       int
	double  []float64
	single  []float32
	int32s  []int32
	int64s  []int64
	bits    []byte
	text    []byte
	offsets []uint32
}

// valuesOf looks at the kind before it takes the values, because the library
// panics when they are of another.
func valuesOf(d *encoding.Values, l *leaf) (v values, err error) {
	kinds := map[format.Type]encoding.Kind{
		format.Boolean: encoding.Boolean, format.Int32: encoding.Int32, format.Int64: encoding.Int64,
		format.Float: encoding.Float, format.Double: encoding.Double, format.ByteArray: encoding.ByteArray,
	}
	if d.Kind() != kinds[l.physical] {
		return v, &fault{cause: fmt.Sprintf("a page holds %s, the schema says %s", d.Kind(), l.physical), remedy: transferAgain}
	}
	switch d.Kind() {
	case encoding.Boolean:
		v.bits = d.Boolean()
		v.n = 8 * len(v.bits)
	case encoding.Int32:
		v.int32s = d.Int32()
		v.n = len(v.int32s)
	case encoding.Int64:
		v.int64s = d.Int64()
		v.n = len(v.int64s)
	case encoding.Float:
		v.single = d.Float()
		v.n = len(v.single)
	case encoding.Double:
		v.double = d.Double()
		v.n = len(v.double)
	case encoding.ByteArray:
		v.text, v.offsets = d.ByteArray()
		v.n = max(len(v.offsets)-1, 0)
	}
	return v, nil
}

// samples adds the values of one page to a column.
type samples struct {
	l       *leaf
	c       *column
	v       values
	ids     []int32 // dictionary words; nil when the values stand for themselves
	present int
	// Doubles that are wanted as numbers or as seconds, and none of them stands
	// for no sample.
	plain, timed bool
}

// addWanted adds the values of the n rows from at on that lie in a wanted
// stretch, all of them if wanted is nil. It is false when there are fewer
// values than the definition levels say.
func (s *samples) addWanted(levels []byte, at, n int64, wanted []RowSpan) bool {
	if wanted == nil {
		wanted = []RowSpan{{at, at + n}}
	}
	done, k := int64(0), 0 // rows seen, and the values in them
	for _, w := range wanted {
		from, to := max(w.From-at, 0), min(w.To-at, n)
		if from >= to {
			continue
		}
		if len(levels) == 0 {
			k = int(from)
		} else {
			k += int(from-done) - bytes.Count(levels[done:from], blankLevel)
		}
		var ok bool
		if k, ok = s.add(levels, at, from, to, k); !ok {
			return false
		}
		done = to
	}
	if len(levels) > 0 {
		k += int(n-done) - bytes.Count(levels[done:], blankLevel)
	}
	return k <= s.present
}

// blankLevel is the definition level of a row without a value.
var blankLevel = []byte{0}

// add walks over the definition levels of rows from to to of the page. Without
// levels every row has a value. It starts with value k and returns the next.
func (s *samples) add(levels []byte, at, from, to int64, k int) (int, bool) {
	if len(levels) == 0 {
		for r := from; r < to; r++ {
			s.one(at+r, k)
			k++
		}
		return k, true
	}
	for r := from; r < to; r += 8 {
		m := presentIn(levels[r:to])
		if k+bits.OnesCount64(m) > s.present {
			return k, false
		}
		switch {
		case m == 0: // most cells of a sparse recording are blank
		case s.plain && s.c.sparse:
			s.numbers(at+r, m, k)
			k += bits.OnesCount64(m)
		case s.timed:
			s.seconds(at+r, m, k)
			k += bits.OnesCount64(m)
		default:
			for ; m != 0; m &= m - 1 {
				s.one(at+r+int64(bits.TrailingZeros64(m)>>3), k)
				k++
			}
		}
	}
	return k, true
}

// presentIn has the high bit set in those of the first eight bytes that are not
// the level of a blank.
func presentIn(levels []byte) (m uint64) {
	if len(levels) >= 8 {
		return highs &^ zeroBytes(binary.LittleEndian.Uint64(levels))
	}
	for i, l := range levels {
		if l != 0 {
			m |= 0x80 << (8 * i)
		}
	}
	return m
}

// numbers is one for each bit of m in turn, the first of them in value k, where a
// finite double is a sample as it stands.
func (s *samples) numbers(row int64, m uint64, k int) {
	out := &s.c.out
	for ; m != 0; m &= m - 1 {
		r := row + int64(bits.TrailingZeros64(m)>>3)
		if x := s.double(k); x-x == 0 {
			out.Rows = append(out.Rows, int32(r))
			out.Numbers = append(out.Numbers, x)
		} else {
			s.one(r, k)
		}
		k++
	}
}

// seconds is the same for doubles that are seconds.
func (s *samples) seconds(row int64, m uint64, k int) {
	for ; m != 0; m &= m - 1 {
		r := row + int64(bits.TrailingZeros64(m)>>3)
		if ns, ok := nanoseconds(s.double(k)); ok {
			s.c.clock(r, ns)
		} else {
			s.one(r, k)
		}
		k++
	}
}

func (s *samples) double(k int) float64 {
	if s.ids != nil {
		k = int(s.ids[k])
	}
	return s.v.double[k]
}

// one adds the k-th value of the page.
func (s *samples) one(row int64, k int) {
	c := s.c
	if c.pick != nil {
		if c = c.pick(row); c == nil {
			return // nobody wants this row of a long file
		}
	}
	if s.ids != nil {
		k = int(s.ids[k])
	}
	v := &s.v
	switch {
	case v.double != nil:
		if x := v.double[k]; c.want.As == Number && x-x == 0 {
			c.number(row, x) // finite, which is nearly all there is
		} else {
			s.l.float(c, row, x)
		}
	case v.single != nil:
		s.l.float(c, row, float64(v.single[k]))
	case v.int32s != nil:
		x := int64(v.int32s[k])
		if s.l.unsigned {
			x = int64(uint32(x))
		}
		s.l.integer(c, row, x)
	case v.int64s != nil:
		s.l.integer(c, row, v.int64s[k])
	case v.bits != nil:
		s.l.boolean(c, row, v.bits[k>>3]>>(k&7)&1 == 1)
	default:
		// Fixed-width sources pad their words with spaces, so text is trimmed.
		c.text(row, v.text[v.offsets[k]:v.offsets[k+1]], false)
	}
}
