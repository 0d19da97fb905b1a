package ingest_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go"
)

// A sheet is a table that any container can be written from. A cell is nil,
// a float64, an int64, a string or a list of them; kind says which container
// type the column gets: "number", "int", "text", "list", or one of the kinds
// of time, whose cells are int64.
type sheet struct {
	columns []sheetColumn
}

type sheetColumn struct {
	name, unit, kind string
	cells            []any
}

func (s *sheet) column(name string) *sheetColumn {
	i := slices.IndexFunc(s.columns, func(c sheetColumn) bool { return c.name == name })
	return &s.columns[i]
}

func (s *sheet) rows() int { return len(s.columns[0].cells) }

// dialect is how a sheet is written as CSV.
type dialect struct {
	delimiter, decimal, end string
	quote                   bool
	blank                   string // what stands for no sample
	before                  string // lines before the header
	units                   bool   // a row of units below it
	last                    bool   // leave the last line end out
}

var plainCSV = dialect{delimiter: ",", decimal: ".", end: "\n"}

func (s *sheet) csv(d dialect) []byte {
	var b bytes.Buffer
	b.WriteString(d.before)
	line := func(cell func(c *sheetColumn) string) {
		for i := range s.columns {
			if i > 0 {
				b.WriteString(d.delimiter)
			}
			text := cell(&s.columns[i])
			if d.quote || strings.Contains(text, d.delimiter) {
				text = `"` + text + `"`
			}
			b.WriteString(text)
		}
		b.WriteString(d.end)
	}
	line(func(c *sheetColumn) string { return c.name })
	if d.units {
		line(func(c *sheetColumn) string { return c.unit })
	}
	for row := range s.rows() {
		line(func(c *sheetColumn) string {
			switch v := c.cells[row].(type) {
			case nil:
				return d.blank
			case float64:
				return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", d.decimal, 1)
			default:
				return fmt.Sprint(v)
			}
		})
	}
	if d.last {
		b.Truncate(b.Len() - len(d.end))
	}
	return b.Bytes()
}

// parquet writes the sheet with the names as they are, in any order.
func (s *sheet) parquet(t testing.TB, opt ...parquet.WriterOption) []byte {
	types := map[string]struct {
		typ reflect.Type
		tag string
	}{
		"number": {reflect.TypeFor[*float64](), ",optional"}, "int": {reflect.TypeFor[*int64](), ",optional"},
		"text": {reflect.TypeFor[*string](), ",optional,dict"}, "list": {reflect.TypeFor[[]*float64](), ",list"},
		"ms": {reflect.TypeFor[*int64](), ",optional,timestamp(millisecond)"}, "us": {reflect.TypeFor[*int64](), ",optional,timestamp(microsecond)"},
		"ns": {reflect.TypeFor[*int64](), ",optional,timestamp(nanosecond)"},
	}
	var fields []reflect.StructField
	for i, c := range s.columns {
		k := types[c.kind]
		fields = append(fields, reflect.StructField{Name: fmt.Sprintf("C%02d", i), Type: k.typ, Tag: reflect.StructTag(`parquet:"` + c.name + k.tag + `"`)})
	}
	typ := reflect.StructOf(fields)
	var out bytes.Buffer
	w := parquet.NewWriter(&out, append(opt, parquet.SchemaOf(reflect.New(typ).Interface()))...)
	// Written value by value with their levels: the library's way from Go values
	// has no lists with blanks in a type that is made at run time.
	for row := range s.rows() {
		var r parquet.Row
		for i, c := range s.columns {
			if list, ok := c.cells[row].([]any); ok {
				for k, e := range list {
					r = append(r, leafValue(e, min(k, 1), 2, i))
				}
				continue
			}
			r = append(r, leafValue(c.cells[row], 0, 1, i))
		}
		if _, err := w.WriteRows([]parquet.Row{r}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// leafValue is a value of an optional leaf, or the lack of one.
func leafValue(cell any, repetition, definition, column int) parquet.Value {
	var v parquet.Value
	switch x := cell.(type) {
	case nil:
		definition--
	case float64:
		v = parquet.DoubleValue(x)
	case int64:
		v = parquet.Int64Value(x)
	case string:
		v = parquet.ByteArrayValue([]byte(x))
	}
	return v.Level(repetition, definition, column)
}

// arrow writes the sheet in batches of 500 rows, as a file or as a stream.
func (s *sheet) arrow(t testing.TB, file bool, opt ...ipc.Option) []byte {
	types := map[string]arrow.DataType{
		"number": arrow.PrimitiveTypes.Float64, "int": arrow.PrimitiveTypes.Int64, "text": arrow.BinaryTypes.String,
		"list": arrow.ListOf(arrow.PrimitiveTypes.Float64),
		"ms":   &arrow.TimestampType{Unit: arrow.Millisecond, TimeZone: "UTC"}, "us": &arrow.TimestampType{Unit: arrow.Microsecond},
		"ns": &arrow.TimestampType{Unit: arrow.Nanosecond, TimeZone: "+09:00"}, "clock": arrow.FixedWidthTypes.Time64us, "date": arrow.FixedWidthTypes.Date32,
	}
	var fields []arrow.Field
	for _, c := range s.columns {
		f := arrow.Field{Name: c.name, Type: types[c.kind], Nullable: true}
		if c.unit != "" {
			f.Metadata = arrow.NewMetadata([]string{"unit"}, []string{c.unit})
		}
		fields = append(fields, f)
	}
	schema := arrow.NewSchema(fields, nil)
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	var batches []arrow.Record
	for row := range s.rows() {
		for i, c := range s.columns {
			appendCell(t, b.Field(i), c.cells[row])
		}
		if row%500 == 499 || row == s.rows()-1 {
			batches = append(batches, b.NewRecord())
		}
	}
	out, err := os.CreateTemp(t.TempDir(), "arrow")
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	var w interface {
		Write(arrow.Record) error
		Close() error
	} = ipc.NewWriter(out, append(opt, ipc.WithSchema(schema))...)
	if file {
		if w, err = ipc.NewFileWriter(out, append(opt, ipc.WithSchema(schema))...); err != nil {
			t.Fatal(err)
		}
	}
	for _, rec := range batches {
		if err := w.Write(rec); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(out.Name())
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func appendCell(t testing.TB, b array.Builder, cell any) {
	switch v := cell.(type) {
	case nil:
		b.AppendNull()
	case float64:
		b.(*array.Float64Builder).Append(v)
	case string:
		b.(*array.StringBuilder).Append(v)
	case []any:
		b.(*array.ListBuilder).Append(true)
		for _, e := range v {
			appendCell(t, b.(*array.ListBuilder).ValueBuilder(), e)
		}
	case int64:
		switch b := b.(type) {
		case *array.Int64Builder:
			b.Append(v)
		case *array.TimestampBuilder:
			b.Append(arrow.Timestamp(v))
		case *array.Time64Builder:
			b.Append(arrow.Time64(v))
		case *array.Date32Builder:
			b.Append(arrow.Date32(v))
		default:
			t.Fatalf("no place for a whole number in %T", b)
		}
	}
}

func asUTF16(data []byte, order binary.AppendByteOrder) []byte {
	out := order.AppendUint16(nil, 0xfeff)
	for _, c := range utf16.Encode([]rune(string(data))) {
		out = order.AppendUint16(out, c)
	}
	return out
}

func asLatin1(data []byte) []byte {
	var out []byte
	for _, r := range string(data) {
		out = append(out, byte(r))
	}
	return out
}

func asZstd(t testing.TB, data []byte) []byte {
	w, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	return w.EncodeAll(data, nil)
}

// clockCells writes the times of the rows in some way.
func clockCells(times []time.Time, write func(t time.Time) any) []any {
	out := make([]any, len(times))
	for i, t := range times {
		out[i] = write(t)
	}
	return out
}
