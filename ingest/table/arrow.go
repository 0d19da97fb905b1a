package table

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"unsafe"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/ipc"
)

// arrowFile reads Arrow IPC, batch by batch. A file is a stream between a
// magic word and a footer, and is read as one: that needs no seeking, so it
// works inside gzip and zstd too. The library decodes whole batches; columns
// that are not wanted are let go with their batch.
type arrowFile struct {
	f      *File
	around compression
	isFile bool
	length int64 // of the messages of a plain file; 0 where that is not known
	cells  []cells
	wrong  []string // why a column cannot be read, "" when it can

	// The pass that is under way, as in csvFile.
	raw   *tally
	in    *messages
	r     *ipc.Reader
	close func()
	fresh bool
}

var (
	arrowMagic   = []byte("ARROW1")
	arrowMessage = []byte{0xff, 0xff, 0xff, 0xff}
)

// arrowStart is how long the magic word with its padding is.
const arrowStart = 8

func openArrow(f *File, around compression, isFile bool) (*arrowFile, error) {
	a := &arrowFile{f: f, around: around, isFile: isFile, close: func() {}}
	if isFile && around == plain {
		if err := a.findFooter(); err != nil {
			return nil, err
		}
	}
	if err := a.start(); err != nil {
		return nil, err
	}
	schema := a.r.Schema()
	if n := schema.NumFields(); n > f.limits.Columns {
		return nil, &Error{File: f.path, Cause: fmt.Sprintf("the file has %d columns, the limit is %d", n, f.limits.Columns), Remedy: raiseLimit}
	}
	f.meta = metaOf(schema.Metadata())
	for _, field := range schema.Fields() {
		meta := metaOf(field.Metadata)
		f.columns = append(f.columns, Column{Name: field.Name, Unit: meta["unit"], Meta: meta, Type: field.Type.String()})
		c, wrong := cellsOf(field.Type)
		a.cells, a.wrong = append(a.cells, c), append(a.wrong, wrong)
	}
	return a, nil
}

func metaOf(m arrow.Metadata) map[string]string {
	if m.Len() == 0 {
		return nil
	}
	return m.ToMap()
}

// findFooter checks the end of a plain file and finds where its messages end.
func (a *arrowFile) findFooter() error {
	var tail [10]byte
	if _, err := a.f.file.ReadAt(tail[:], max(a.f.size-int64(len(tail)), 0)); err != nil && err != io.EOF {
		return systemError(a.f.path, err)
	}
	footer := int64(int32(binary.LittleEndian.Uint32(tail[:])))
	a.length = a.f.size - int64(len(tail)) - footer - arrowStart
	if !bytes.Equal(tail[4:], arrowMagic) || footer <= 0 || a.length <= 0 {
		return &Error{File: a.f.path, Place: fmt.Sprintf("byte %d", a.f.size), Cause: "the Arrow file does not end as one: it is cut off", Remedy: transferAgain}
	}
	return nil
}

// start begins a pass and reads the schema.
func (a *arrowFile) start() error {
	a.stop()
	p, err := a.f.pass(a.around)
	if err != nil {
		return err
	}
	a.raw, a.close = p.raw, p.done
	src := p.r
	if a.isFile {
		if _, err := io.CopyN(io.Discard, src, arrowStart); err != nil {
			return p.fail(err)
		}
	}
	if a.length > 0 {
		src = io.LimitReader(src, a.length)
	}
	// A message lies in memory as a whole, as its buffers, and padded.
	mem := &boundedMemory{most: 4 * a.f.limits.PageBytes}
	a.in = &messages{src: src, limits: &a.f.limits, isFile: a.isFile, memory: mem}
	a.r, err = ipc.NewReader(a.in, ipc.WithAllocator(mem))
	if err != nil {
		return wrap(a.f.path, "schema", err, transferAgain)
	}
	a.fresh = true
	return nil
}

func (a *arrowFile) stop() {
	if a.r != nil {
		a.r.Release()
	}
	if a.in != nil && a.in.unpack != nil {
		a.in.unpack.Close()
	}
	a.close()
	a.r, a.in, a.close = nil, nil, func() {}
}

func (a *arrowFile) read(cols []*column, d *Data) error {
	for _, c := range cols {
		if wrong := a.wrong[c.want.Column]; wrong != "" {
			return wrap(a.f.path, "column "+c.name, &fault{cause: wrong, remedy: "export it as a flat column of numbers or text"}, "")
		}
		if err := a.cells[c.want.Column].givesTo(c); err != nil {
			return wrap(a.f.path, "column "+c.name, err, "")
		}
	}
	if !a.fresh {
		if err := a.start(); err != nil {
			return err
		}
	}
	a.fresh = false
	defer a.stop()
	for a.r.Next() {
		rec := a.r.Record()
		always, others := a.f.sift.split(cols)
		if err := a.batch(rec, always, d, nil); err != nil {
			return err
		}
		if a.f.sift != nil {
			wanted := a.f.sift.rows(d.Rows, d.Rows+rec.NumRows())
			if err := a.batch(rec, others, d, wanted); err != nil {
				return err
			}
		}
		d.Rows += rec.NumRows()
		if err := a.f.bounded(cols, d.Rows); err != nil {
			return err
		}
	}
	if err := a.r.Err(); err != nil {
		return a.fail(d, err)
	}
	// A file of known length ends at its footer, with or without an end mark.
	if !a.in.ended && a.length == 0 {
		d.Notes = append(d.Notes, Note{Text: "the stream has no end mark: it may be cut off between two batches"})
	}
	if _, err := io.Copy(struct{ io.Writer }{io.Discard}, a.raw); err == nil {
		a.f.digest, a.f.digestBytes = a.raw.digest()
		a.f.digested = true
	}
	return nil
}

// batch adds the cells of one batch: of the wanted rows, or of all if wanted is
// nil. A column of lists is read in full.
func (a *arrowFile) batch(rec arrow.Record, cols []*column, d *Data, wanted []RowSpan) error {
	for _, c := range cols {
		arr := rec.Column(c.want.Column)
		if int64(arr.Len()) != rec.NumRows() {
			return a.fail(d, &fault{cause: fmt.Sprintf("column %s has %d cells in a batch of %d rows", c.name, arr.Len(), rec.NumRows()), remedy: transferAgain})
		}
		k := &a.cells[c.want.Column]
		switch {
		case c.pick != nil:
			k.route(c, arr, d.Rows)
		case k.list:
			if err := k.addLists(c, arr, d.Rows); err != nil {
				return wrap(a.f.path, "column "+c.name, err, transferAgain)
			}
		case a.f.sift == nil || c.always:
			k.add(c, arr, d.Rows)
		default:
			for _, w := range wanted {
				part := array.NewSlice(arr, w.From-d.Rows, w.To-d.Rows)
				k.add(c, part, w.From)
				part.Release()
			}
		}
	}
	return nil
}

func (a *arrowFile) fail(d *Data, err error) error {
	return wrap(a.f.path, fmt.Sprintf("after row %d", d.Rows), err, transferAgain)
}

// cellsOf says how the cells of an Arrow type become samples.
func cellsOf(t arrow.DataType) (c cells, wrong string) {
	switch t := t.(type) {
	case *arrow.Float64Type, *arrow.Float32Type, *arrow.Float16Type:
		c.kind = floatCells
	case *arrow.Int8Type, *arrow.Int16Type, *arrow.Int32Type, *arrow.Int64Type,
		*arrow.Uint8Type, *arrow.Uint16Type, *arrow.Uint32Type:
		c.kind = intCells
	case *arrow.Uint64Type:
		c.kind, c.unsigned = intCells, true
	case *arrow.BooleanType:
		c.kind = boolCells
	case *arrow.StringType, *arrow.LargeStringType, *arrow.BinaryType, *arrow.LargeBinaryType, *arrow.NullType:
		c.kind = textCells
	case *arrow.Decimal128Type:
		c.kind, c.scale = decimalCells, int(t.Scale)
	case *arrow.TimestampType:
		c.kind, c.tick, c.zoneless = timeCells, int64(t.Unit.Multiplier()), t.TimeZone == ""
	case *arrow.Date32Type:
		c.kind, c.tick = dateCells, dayNanos
	case *arrow.Date64Type:
		c.kind, c.tick = dateCells, 1e6
	case *arrow.Time32Type:
		c.kind, c.tick = clockCells, int64(t.Unit.Multiplier())
	case *arrow.Time64Type:
		c.kind, c.tick = clockCells, int64(t.Unit.Multiplier())
	case *arrow.DictionaryType:
		// A dictionary of anything but text is of no use to an exporter.
		if c, wrong = cellsOf(t.ValueType); wrong == "" && c.kind != textCells {
			wrong = "its dictionary holds no text but " + t.ValueType.String()
		}
	case *arrow.ListType:
		return listOf(t.Elem())
	case *arrow.LargeListType:
		return listOf(t.Elem())
	case *arrow.FixedSizeListType:
		return listOf(t.Elem())
	default:
		wrong = "the type " + t.String() + " cannot be read"
	}
	return c, wrong
}

// add adds one column of a batch whose first row is base. Nothing of the
// array is kept.
func (k *cells) add(c *column, arr arrow.Array, base int64) {
	c.reserve(arr.Len() - arr.NullN())
	switch a := arr.(type) {
	case *array.Float64:
		each(arr, func(i int) { k.float(c, base+int64(i), a.Value(i)) })
	case *array.Float32:
		each(arr, func(i int) { k.float(c, base+int64(i), float64(a.Value(i))) })
	case *array.Float16:
		each(arr, func(i int) { k.float(c, base+int64(i), float64(a.Value(i).Float32())) })
	case *array.Int8:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Int16:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Int32:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Int64:
		each(arr, func(i int) { k.integer(c, base+int64(i), a.Value(i)) })
	case *array.Uint8:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Uint16:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Uint32:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Uint64:
		each(arr, func(i int) { k.integer(c, base+int64(i), int64(a.Value(i))) })
	case *array.Boolean:
		each(arr, func(i int) { k.boolean(c, base+int64(i), a.Value(i)) })
	case *array.Timestamp:
		each(arr, func(i int) { k.time(c, base+int64(i), int64(a.Value(i))) })
	case *array.Date32:
		each(arr, func(i int) { k.time(c, base+int64(i), int64(a.Value(i))) })
	case *array.Date64:
		each(arr, func(i int) { k.time(c, base+int64(i), int64(a.Value(i))) })
	case *array.Time32:
		each(arr, func(i int) { k.time(c, base+int64(i), int64(a.Value(i))) })
	case *array.Time64:
		each(arr, func(i int) { k.time(c, base+int64(i), int64(a.Value(i))) })
	case *array.Decimal128:
		each(arr, func(i int) { c.text(base+int64(i), []byte(a.Value(i).ToString(int32(k.scale))), false) })
	case *array.Dictionary:
		words := a.Dictionary()
		each(arr, func(i int) {
			if w := a.GetValueIndex(i); words.IsValid(w) {
				c.text(base+int64(i), wordAt(words, w), false)
			}
		})
	default:
		each(arr, func(i int) { c.text(base+int64(i), wordAt(arr, i), false) })
	}
}

// each calls f for the cells that hold something.
func each(arr arrow.Array, f func(i int)) {
	for i := range arr.Len() {
		if arr.IsValid(i) {
			f(i)
		}
	}
}

// wordAt is the text at i of an array of text; it panics on others, which
// cellsOf has kept away. The bytes are the array's own: they are only looked
// at, before the batch goes.
func wordAt(arr arrow.Array, i int) []byte {
	var word string
	switch a := arr.(type) {
	case *array.String:
		word = a.Value(i)
	case *array.LargeString:
		word = a.Value(i)
	case *array.LargeBinary:
		return a.Value(i)
	case *array.Null:
		return nil
	default:
		return arr.(*array.Binary).Value(i)
	}
	return unsafe.Slice(unsafe.StringData(word), len(word))
}
