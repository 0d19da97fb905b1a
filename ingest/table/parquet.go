package table

import (
	"fmt"
	"io"
	"strings"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/format"
)

// parquetFile reads the typed pages of single columns. The library's reader of
// whole rows is some thirty times slower and panics where this returns errors.
type parquetFile struct {
	f      *File
	pf     *parquet.File
	leaves []leaf
	wanted []RowSpan // of the columns being decoded; nil for every row
	heads  []pageHead
}

// pageHead is where a data page of the column chunk that was checked last starts:
// its first row in the row group, and its first byte in the file.
type pageHead struct{ row, offset int64 }

// A leaf is one column as the schema describes it.
type leaf struct {
	cells
	physical format.Type
	optional bool
	// maxDef is the definition level of a value that is there, and
	// optionalElement 1 when an element of a list may be null.
	maxDef, optionalElement byte
	// problem says why the column cannot be read, "" when it can. A column that
	// nobody wants may have one.
	problem string
}

var parquetMagic = []byte("PAR1")

func openParquet(f *File) (*parquetFile, error) {
	if err := checkFooter(f); err != nil {
		return nil, err
	}
	// The page index and the Bloom filters of all columns would be decoded for
	// nothing, and the former makes the library panic on damaged files.
	pf, err := parquet.OpenFile(f.file, f.size,
		parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true), parquet.ReadBufferSize(128<<10))
	if err != nil {
		return nil, wrap(f.path, "footer", err, transferAgain)
	}
	p := &parquetFile{f: f, pf: pf}
	meta := pf.Metadata()
	for _, kv := range meta.KeyValueMetadata {
		if f.meta == nil {
			f.meta = map[string]string{}
		}
		f.meta[kv.Key] = kv.Value
	}
	elements := meta.Schema
	if len(elements) == 0 {
		return nil, &Error{File: f.path, Place: "footer", Cause: "the file has no schema", Remedy: transferAgain}
	}
	for rest, root := elements[1:], int(elements[0].NumChildren.V); root > 0 && len(rest) > 0; root-- {
		rest = p.walk(rest, nil, nest{single: true})
	}
	if len(p.leaves) > f.limits.Columns {
		return nil, &Error{File: f.path, Place: "footer", Cause: fmt.Sprintf("the file has %d columns, the limit is %d", len(p.leaves), f.limits.Columns), Remedy: raiseLimit}
	}
	return p, nil
}

// A nest is what lies around a field of the schema.
type nest struct {
	depth    int  // groups around it
	single   bool // none of them has another field
	optional int  // so many of them, with itself, may be missing
	repeated int  // and so many repeat
}

// walk takes one field of the schema, with all below it, off the front of the
// elements, which lie in depth-first order, and returns the others. The
// leaves come in the order of the column chunks.
func (p *parquetFile) walk(elements []format.SchemaElement, path []string, in nest) []format.SchemaElement {
	e := elements[0]
	rest := elements[1:]
	path = append(path[:len(path):len(path)], e.Name)
	optional := e.RepetitionType.Valid && e.RepetitionType.V == format.Optional
	if optional {
		in.optional++
	}
	if e.RepetitionType.Valid && e.RepetitionType.V == format.Repeated {
		in.repeated++
	}
	if children := int(e.NumChildren.V); children > 0 {
		in.depth++
		in.single = in.single && children == 1
		for ; children > 0 && len(rest) > 0; children-- {
			rest = p.walk(rest, path, in)
		}
		return rest
	}
	l := describe(&e)
	l.optional = optional
	name := strings.Join(path, ".")
	switch {
	case in.repeated == 1 && in.single && (l.kind == floatCells || l.kind == intCells || l.kind == boolCells || l.kind == textCells):
		// A list, in any of the ways in which it is written: the samples of a row.
		l.list, name = true, path[0]
		l.maxDef = byte(in.optional + in.repeated)
		if optional {
			l.optionalElement = 1
		}
	case in.repeated > 0 || in.depth > 0:
		l.problem = "its cells are lists or records of several values, which cannot be read"
	}
	p.leaves = append(p.leaves, l)
	p.f.columns = append(p.f.columns, Column{Name: name, Type: typeName(&e)})
	return rest
}

// typeName is the logical type where there is one, the physical elsewhere.
func typeName(e *format.SchemaElement) string {
	if e.LogicalType.Value != nil {
		return e.Type.V.String() + " " + e.LogicalType.String()
	}
	return e.Type.V.String()
}

// describe says how the cells of a column are to be converted.
func describe(e *format.SchemaElement) leaf {
	l := leaf{physical: e.Type.V}
	switch e.Type.V {
	case format.Boolean:
		l.kind = boolCells
	case format.Int32, format.Int64:
		l.kind = intCells
	case format.Float, format.Double:
		l.kind = floatCells
	case format.ByteArray:
		l.kind = textCells
	default:
		l.problem = "the type " + typeName(e) + " cannot be read"
	}
	switch t := e.LogicalType.Value.(type) {
	case *format.TimestampType:
		l.kind, l.zoneless = timeCells, !t.IsAdjustedToUTC
		if t.Unit.Value != nil {
			l.tick = int64(t.Unit.Value.Duration())
		}
	case *format.DateType:
		l.kind, l.tick = dateCells, dayNanos
	case *format.TimeType:
		l.kind = clockCells
		if t.Unit.Value != nil {
			l.tick = int64(t.Unit.Value.Duration())
		}
	case *format.DecimalType:
		l.decimal(t.Scale)
	case *format.IntType:
		l.unsigned = !t.IsSigned
	case nil:
		l.converted(e)
	}
	switch {
	case l.kind == timeCells && (l.tick <= 0 || e.Type.V != format.Int64):
		l.problem = "its timestamps have no unit"
	case (l.kind == dateCells || l.kind == clockCells) && (l.tick <= 0 || e.Type.V != format.Int64 && e.Type.V != format.Int32):
		l.problem = "its dates or times have no unit"
	}
	return l
}

// converted looks at what older writers set in place of a logical type.
func (l *leaf) converted(e *format.SchemaElement) {
	if !e.ConvertedType.Valid {
		return
	}
	switch e.ConvertedType.V {
	case deprecated.TimestampMillis:
		l.kind, l.tick = timeCells, 1e6
	case deprecated.TimestampMicros:
		l.kind, l.tick = timeCells, 1e3
	case deprecated.Date:
		l.kind, l.tick = dateCells, dayNanos
	case deprecated.TimeMillis:
		l.kind, l.tick = clockCells, 1e6
	case deprecated.TimeMicros:
		l.kind, l.tick = clockCells, 1e3
	case deprecated.Decimal:
		l.decimal(e.Scale.V)
	case deprecated.Uint8, deprecated.Uint16, deprecated.Uint32, deprecated.Uint64:
		l.unsigned = true
	}
}

func (l *leaf) decimal(scale int32) {
	if l.kind != intCells || scale < 0 || scale > maxDigits-1 {
		l.problem = "decimals of more than 18 digits cannot be read"
		return
	}
	l.kind, l.scale = decimalCells, int(scale)
}

func (p *parquetFile) stop() {}

func (p *parquetFile) read(cols []*column, d *Data) error {
	for _, c := range cols {
		if err := p.readable(c); err != nil {
			return err
		}
	}
	p.f.hashBeside()
	var expanded int64
	for i, rg := range p.pf.RowGroups() {
		chunks := rg.ColumnChunks()
		rows := rg.NumRows()
		if rows < 0 || d.Rows+rows > p.f.limits.Rows {
			return &Error{File: p.f.path, Cause: fmt.Sprintf("more than %d rows", p.f.limits.Rows), Remedy: raiseLimit}
		}
		always, others := p.f.sift.split(cols)
		if err := p.group(i, chunks, always, d.Rows, rows, &expanded); err != nil {
			return err
		}
		if p.f.sift != nil {
			p.wanted = p.f.sift.rows(d.Rows, d.Rows+rows)
			err := p.group(i, chunks, others, d.Rows, rows, &expanded)
			if p.wanted = nil; err != nil {
				return err
			}
		}
		d.Rows += rows
		if err := p.f.bounded(cols, d.Rows); err != nil {
			return err
		}
	}
	if n := p.pf.NumRows(); n != d.Rows {
		return &Error{File: p.f.path, Place: "footer", Cause: fmt.Sprintf("the footer says %d rows, the row groups have %d", n, d.Rows), Remedy: transferAgain}
	}
	return nil
}

// group decodes columns of one row group, which starts with row base.
func (p *parquetFile) group(i int, chunks []parquet.ColumnChunk, cols []*column, base, rows int64, expanded *int64) error {
	for _, c := range cols {
		if c.want.Column >= len(chunks) {
			return p.fail(c, &fault{cause: fmt.Sprintf("row group %d has no such column", i+1), remedy: transferAgain})
		}
		err := p.checkPages(i, c.want.Column, rows, expanded)
		if err == nil {
			err = p.chunk(chunks[c.want.Column], c, base, rows)
		}
		if err != nil {
			return p.fail(c, err)
		}
	}
	return nil
}

// readable refuses columns that cannot give what is wanted.
func (p *parquetFile) readable(c *column) error {
	l := &p.leaves[c.want.Column]
	if l.problem != "" {
		return p.fail(c, &fault{cause: l.problem, remedy: "export it as a flat column of numbers or text"})
	}
	if err := l.givesTo(c); err != nil {
		return p.fail(c, err)
	}
	for _, rg := range p.pf.Metadata().RowGroups {
		if c.want.Column >= len(rg.Columns) {
			continue
		}
		switch codec := rg.Columns[c.want.Column].MetaData.Codec; codec {
		case format.Uncompressed, format.Snappy, format.Zstd, format.Gzip:
		case format.Lz4Raw:
			// The library's decoder can hand back another file's values.
			return p.fail(c, &fault{cause: "the column is compressed with LZ4_RAW, which cannot be read safely", remedy: writeSnappy})
		default:
			// What brotli or LZO expand to cannot be bounded before they do.
			return p.fail(c, &fault{cause: fmt.Sprintf("the column is compressed with %s, which cannot be read", codec), remedy: writeSnappy})
		}
	}
	return nil
}

const (
	writeSnappy = "write the file again with snappy, zstd or gzip"
	raiseLimit  = "raise the limit if the file is what it should be"
)

func (p *parquetFile) fail(c *column, err error) error {
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return wrap(p.f.path, "column "+c.name, err, transferAgain)
}
