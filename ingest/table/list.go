package table

import (
	"fmt"
	"math"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding"
)

// Cells that are lists hold several samples of one row, in the order of time.
// A column takes them element by element; how many a list has is known at its
// end only, since a list may run over pages.

// startList begins the list of another row.
func (c *column) startList() {
	c.endList()
	c.listFrom, c.elements = len(c.out.Slots), 0
}

// endList writes down how many elements the latest list has.
func (c *column) endList() {
	for i := c.listFrom; i < len(c.out.Slots); i++ {
		c.out.Slots[i].Of = uint16(c.elements)
	}
	c.listFrom = len(c.out.Slots)
}

// element begins the next element of the list, with or without a sample.
func (c *column) element() error {
	if c.elements++; c.elements > math.MaxUint16 {
		return &fault{cause: fmt.Sprintf("a cell is a list of more than %d samples", math.MaxUint16), remedy: transferAgain}
	}
	return nil
}

// listed says that the cells of the column are lists.
func (c *column) listed() {
	if !c.list {
		c.list, c.sparse = true, true
		c.out.Rows, c.out.Slots = []int32{}, []Slot{}
	}
}

// addLists adds one column of lists of a batch whose first row is base.
func (k *cells) addLists(c *column, arr arrow.Array, base int64) error {
	c.listed()
	lists, ok := arr.(array.ListLike)
	if !ok {
		return &fault{cause: "the column holds no lists", remedy: transferAgain}
	}
	values := lists.ListValues()
	for i := range arr.Len() {
		if !arr.IsValid(i) {
			continue
		}
		c.startList()
		from, to := lists.ValueOffsets(i)
		for j := from; j < to; j++ {
			if err := c.element(); err != nil {
				return err
			}
			if values.IsValid(int(j)) {
				k.one(c, values, int(j), base+int64(i))
			}
		}
	}
	c.endList()
	return nil
}

// route adds the cells of a batch of a long file to the columns of their rows.
func (k *cells) route(c *column, arr arrow.Array, base int64) {
	each(arr, func(i int) {
		if to := c.pick(base + int64(i)); to != nil {
			k.one(to, arr, i, base+int64(i))
		}
	})
}

// one adds the cell at j, where cells go to different columns or places.
func (k *cells) one(c *column, values arrow.Array, j int, row int64) {
	switch a := values.(type) {
	case *array.Float64:
		k.float(c, row, a.Value(j))
	case *array.Float32:
		k.float(c, row, float64(a.Value(j)))
	case *array.Int8:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Int16:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Int32:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Int64:
		k.integer(c, row, a.Value(j))
	case *array.Uint8:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Uint16:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Uint32:
		k.integer(c, row, int64(a.Value(j)))
	case *array.Boolean:
		k.boolean(c, row, a.Value(j))
	case *array.Timestamp:
		k.time(c, row, int64(a.Value(j)))
	case *array.Dictionary:
		if w := a.GetValueIndex(j); a.Dictionary().IsValid(w) {
			c.text(row, wordAt(a.Dictionary(), w), false)
		}
	case *array.Float16, *array.Uint64, *array.Decimal128, *array.Date32, *array.Date64, *array.Time32, *array.Time64:
		// Seldom met where it would matter how fast they are.
		one := array.NewSlice(values, int64(j), int64(j)+1)
		defer one.Release()
		k.add(c, one, row)
	default:
		c.text(row, wordAt(values, j), false)
	}
}

// listOf says how lists of a type become samples.
func listOf(elem arrow.DataType) (c cells, wrong string) {
	switch elem.(type) {
	case *arrow.Float64Type, *arrow.Float32Type, *arrow.Int8Type, *arrow.Int16Type, *arrow.Int32Type, *arrow.Int64Type,
		*arrow.Uint8Type, *arrow.Uint16Type, *arrow.Uint32Type, *arrow.BooleanType,
		*arrow.StringType, *arrow.LargeStringType, *arrow.BinaryType, *arrow.LargeBinaryType:
		c, wrong = cellsOf(elem)
		c.list = true
		return c, wrong
	}
	return c, "its cells are lists of " + elem.String()
}

// listPage adds the samples of one page of lists. at is the row of the list
// that may run on from the page before, base-1 when there is none; it returns
// the row of the last list.
func (p *parquetFile) listPage(page parquet.Page, c *column, at, end int64) (int64, error) {
	l := &p.leaves[c.want.Column]
	c.listed()
	def, rep := page.DefinitionLevels(), page.RepetitionLevels()
	if int64(len(def)) != page.NumValues() || len(rep) != len(def) {
		return at, &fault{cause: "a page of lists lacks its levels", remedy: transferAgain}
	}
	s, err := p.pageSamples(page, l, c)
	if err != nil {
		return at, err
	}
	k := 0
	for i, d := range def {
		if rep[i] == 0 {
			if at++; at >= end {
				return at, &fault{cause: "the pages hold more rows than the row group", remedy: transferAgain}
			}
			c.startList()
		}
		if d < l.maxDef-l.optionalElement {
			continue // no list, or an empty one
		}
		if err := c.element(); err != nil {
			return at, err
		}
		if d != l.maxDef {
			continue
		}
		if k >= s.present {
			return at, &fault{cause: "a page has fewer values than its definition levels say", remedy: transferAgain}
		}
		s.one(at, k)
		k++
	}
	return at, nil
}

// pageSamples takes the values out of a page.
func (p *parquetFile) pageSamples(page parquet.Page, l *leaf, c *column) (samples, error) {
	var ids []int32
	data := page.Data()
	dict := page.Dictionary()
	if dict != nil {
		if data.Kind() != encoding.Int32 {
			return samples{}, &fault{cause: "a page with a dictionary holds no words of it", remedy: transferAgain}
		}
		ids = data.Int32()
		data = dict.Page().Data()
	}
	values, err := valuesOf(&data, l)
	if err != nil {
		return samples{}, err
	}
	present := values.n
	if dict != nil {
		present = len(ids)
		for _, id := range ids {
			if id < 0 || int(id) >= values.n {
				return samples{}, &fault{cause: fmt.Sprintf("a cell points at word %d of a dictionary of %d", id, values.n), remedy: transferAgain}
			}
		}
	}
	bare := values.double != nil && c.pick == nil && !c.list && len(c.none.values) == 0
	return samples{
		l: l, c: c, v: values, ids: ids, present: present,
		plain: bare && c.want.As == Number, timed: bare && c.want.As == Seconds,
	}, nil
}
