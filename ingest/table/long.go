package table

import (
	"fmt"
	"slices"
)

// A LongWant asks for the samples of a long file, in which each row is one
// sample of one parameter. Columns are given by their place in File.Columns.
type LongWant struct {
	Time   int
	TimeAs As
	Name   int // the column of the recorded names
	Value  int
	Unit   int // -1 when there is none
	// Names are those whose samples are kept, each once.
	Names []LongName
}

// LongName is one recorded name and how its values are to be understood.
type LongName struct {
	Name string
	As   As
}

// A router hands the cells of a row to the columns of the name in that row.
// What has no such name is let go, so memory grows with what is wanted only.
type router struct {
	want  LongWant
	index map[string]int32 // place in want.Names
	// outs are three columns for each name: values, times, units.
	outs  []*column
	names *column // the names of the current batch of a binary container

	ids  []int32 // of the rows of the batch: place in want.Names, -1 for none
	base int64   // the first row of the batch
	of   []int32 // the place of each word of names; -1 for none
}

// ReadLong decodes a long file in one pass. Data.Columns has three columns for
// each wanted name: its values, their times, and their units as states, each
// with the rows that they come from. A row without a value has no time either.
func (f *File) ReadLong(w LongWant) (d *Data, err error) {
	defer func() {
		f.route = nil
		if err != nil {
			d = nil
		}
	}()
	defer guard(f.path, &d, &err)
	for _, c := range []int{w.Time, w.Name, w.Value, max(w.Unit, 0)} {
		if c < 0 || c >= len(f.columns) {
			return nil, fmt.Errorf("%s: column %d is wanted, the file has %d", f.path, c, len(f.columns))
		}
	}
	r := newRouter(f, w)
	f.route = r
	d = &Data{}
	if err := f.body.read(r.columns(f), d); err != nil {
		f.body.stop()
		return nil, err
	}
	for _, c := range r.outs {
		c.finish(d)
	}
	unique := d.Notes[:0]
	for _, n := range d.Notes {
		if !slices.Contains(unique, n) {
			unique = append(unique, n)
		}
	}
	d.Notes = unique
	return d, nil
}

func newRouter(f *File, w LongWant) *router {
	r := &router{want: w, index: map[string]int32{}}
	column := func(at int, as As) {
		name := ""
		if at >= 0 {
			name = f.columns[at].Name
		}
		r.outs = append(r.outs, newColumn(Want{Column: at, As: as}, name, f.none, &f.limits))
	}
	for i, n := range w.Names {
		r.index[n.Name] = int32(i)
		column(w.Value, n.As)
		column(w.Time, w.TimeAs)
		column(w.Unit, State)
	}
	// A file may have as many names as another has columns.
	limits := f.limits
	limits.Words = limits.Columns
	r.names = newColumn(Want{Column: w.Name, As: State}, f.columns[w.Name].Name, f.none, &limits)
	return r
}

// columns are what the bodies of binary containers read: the names first,
// then what is routed by them.
func (r *router) columns(f *File) []*column {
	cols := []*column{r.names}
	for k, at := range []int{r.want.Value, r.want.Time, r.want.Unit} {
		if at < 0 {
			continue
		}
		as := State
		if k == 1 {
			as = r.want.TimeAs
		}
		c := newColumn(Want{Column: at, As: as}, f.columns[at].Name, f.none, &f.limits)
		c.pick = func(row int64) *column { return r.pick(row, k) }
		cols = append(cols, c)
	}
	return cols
}

// pick is the column that gets part k of a row; nil when nobody wants it.
func (r *router) pick(row int64, k int) *column {
	if len(r.ids) == 0 {
		r.identify()
	}
	i := row - r.base
	if i < 0 || i >= int64(len(r.ids)) || r.ids[i] < 0 {
		return nil
	}
	out := r.outs[3*r.ids[i]:]
	if k > 0 && !hasRow(out[0], row) {
		return nil
	}
	return out[k]
}

// hasRow says whether a value of that row came in; the values come before
// times and units, each in the order of the rows.
func hasRow(c *column, row int64) bool {
	if !c.sparse {
		return row < int64(c.out.Len())
	}
	_, found := slices.BinarySearch(c.out.Rows, int32(row))
	return found
}

// identify turns the names of a batch into places.
func (r *router) identify() {
	c := &r.names.out
	for len(r.of) < len(c.Words) {
		id, ok := r.index[c.Words[len(r.of)]]
		if !ok {
			id = -1
		}
		r.of = append(r.of, id)
	}
	for i, w := range c.States {
		at := int64(c.Row(i)) - r.base
		for int64(len(r.ids)) < at {
			r.ids = append(r.ids, -1)
		}
		id := int32(-1)
		if w >= 0 {
			id = r.of[w]
		}
		r.ids = append(r.ids, id)
	}
}

// flush ends a batch; rows is how many rows came before the next one.
func (r *router) flush(rows int64) error {
	c := r.names
	if c.out.Bad > 0 {
		return &fault{cause: fmt.Sprintf("the column %s holds more than %d different names, or one that is too long", c.name, c.limits.Words), remedy: raiseLimit}
	}
	c.out.States = c.out.States[:0]
	c.out.Rows, c.sparse = c.out.Rows[:0], true
	if c.out.Rows == nil {
		c.out.Rows = []int32{}
	}
	r.ids, r.base = r.ids[:0], rows
	return nil
}

// cells takes one record of CSV text.
func (r *router) cells(row int64, s *splitter, d *Dialect) {
	name := s.cells[r.want.Name]
	if !s.quoted[r.want.Name] {
		name = trim(name)
	}
	if d.Latin1 {
		name = fromLatin1(name)
	}
	i, ok := r.index[string(name)]
	if !ok {
		return
	}
	out := r.outs[3*i : 3*i+3]
	before := out[0].out.Len()
	out[0].text(row, s.cells[r.want.Value], s.quoted[r.want.Value])
	if out[0].out.Len() == before {
		return
	}
	out[1].text(row, s.cells[r.want.Time], s.quoted[r.want.Time])
	if u := r.want.Unit; u >= 0 {
		out[2].text(row, s.cells[u], s.quoted[u])
	}
}
