package table_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/decimal128"
	"github.com/apache/arrow/go/v15/arrow/float16"
	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/google/go-cmp/cmp"

	"rollonset/ingest/table"
)

// asArrow writes the rows in batches of 300.
func asArrow(t testing.TB, rows []cellRow, file bool, opt ...ipc.Option) []byte {
	t.Helper()
	word := &arrow.DictionaryType{IndexType: arrow.PrimitiveTypes.Int8, ValueType: arrow.BinaryTypes.String}
	types := []arrow.DataType{
		arrow.PrimitiveTypes.Float64, &arrow.TimestampType{Unit: arrow.Microsecond, TimeZone: "UTC"},
		arrow.PrimitiveTypes.Float64, arrow.PrimitiveTypes.Float32, arrow.PrimitiveTypes.Int32, arrow.PrimitiveTypes.Int64,
		arrow.FixedWidthTypes.Boolean, arrow.BinaryTypes.String, word, &arrow.Decimal128Type{Precision: 12, Scale: 2},
	}
	fields := make([]arrow.Field, len(types))
	for i := range fields {
		fields[i] = arrow.Field{Name: rowNames[i], Type: types[i], Nullable: true}
	}
	fields[2].Metadata = arrow.NewMetadata([]string{"unit", "source"}, []string{"kt", "a"})
	meta := arrow.NewMetadata([]string{"tail"}, []string{"XX-TST"})
	schema := arrow.NewSchema(fields, &meta)
	var batches []arrow.Record
	for len(rows) > 0 {
		n := min(300, len(rows))
		batches = append(batches, batchOf(schema, rows[:n]))
		rows = rows[n:]
	}
	return writeArrow(t, schema, batches, file, opt...)
}

func batchOf(schema *arrow.Schema, rows []cellRow) arrow.Record {
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	defer b.Release()
	for _, r := range rows {
		b.Field(0).(*array.Float64Builder).Append(r.Time)
		b.Field(1).(*array.TimestampBuilder).Append(arrow.Timestamp(r.Micros))
		orNull(b.Field(2), r.Speed, b.Field(2).(*array.Float64Builder).Append)
		orNull(b.Field(3), r.Narrow, b.Field(3).(*array.Float32Builder).Append)
		orNull(b.Field(4), r.Flap, b.Field(4).(*array.Int32Builder).Append)
		orNull(b.Field(5), r.Weight, b.Field(5).(*array.Int64Builder).Append)
		orNull(b.Field(6), r.Ground, b.Field(6).(*array.BooleanBuilder).Append)
		orNull(b.Field(7), r.Lever, b.Field(7).(*array.StringBuilder).Append)
		if err := b.Field(8).(*array.BinaryDictionaryBuilder).AppendString(r.Detent); err != nil {
			panic(err)
		}
		b.Field(9).(*array.Decimal128Builder).Append(decimal128.FromI64(r.Trim))
	}
	return b.NewRecord()
}

func orNull[T any](b array.Builder, v *T, add func(T)) {
	if v == nil {
		b.AppendNull()
		return
	}
	add(*v)
}

// writeArrow writes batches as a file or as a stream.
func writeArrow(t testing.TB, schema *arrow.Schema, batches []arrow.Record, file bool, opt ...ipc.Option) []byte {
	t.Helper()
	out, err := os.Create(filepath.Join(t.TempDir(), "arrow"))
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	var w interface {
		Write(arrow.Record) error
		io.Closer
	} = ipc.NewWriter(out, append(opt, ipc.WithSchema(schema))...)
	if file {
		if w, err = ipc.NewFileWriter(out, append(opt, ipc.WithSchema(schema))...); err != nil {
			t.Fatal(err)
		}
	}
	for _, b := range batches {
		if err := w.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(out.Name())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Units and other metadata come with the columns.
func TestArrowMetadata(t *testing.T) {
	for _, file := range []bool{false, true} {
		f, err := table.Open(put(t, asArrow(t, sampleRows(3), file)), table.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		want := table.Column{Name: "speed", Unit: "kt", Meta: map[string]string{"unit": "kt", "source": "a"}, Type: "float64"}
		if diff := cmp.Diff(want, f.Columns()[2]); diff != "" {
			t.Errorf("column (-want +got):\n%s", diff)
		}
		if diff := cmp.Diff(map[string]string{"tail": "XX-TST"}, f.Metadata()); diff != "" {
			t.Errorf("metadata (-want +got):\n%s", diff)
		}
	}
}

// Every numeric type gives its numbers, and its states as they are written.
func TestArrowTypes(t *testing.T) {
	p := arrow.PrimitiveTypes
	types := []arrow.DataType{
		p.Int8, p.Int16, p.Int32, p.Int64, p.Uint8, p.Uint16, p.Uint32, p.Uint64, p.Float32, p.Float64,
		arrow.FixedWidthTypes.Float16, arrow.BinaryTypes.String, arrow.BinaryTypes.LargeString, arrow.BinaryTypes.Binary, arrow.Null,
	}
	fields := make([]arrow.Field, len(types))
	for i, typ := range types {
		fields[i] = arrow.Field{Name: typ.String(), Type: typ, Nullable: true}
	}
	schema := arrow.NewSchema(fields, nil)
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	for _, s := range []string{"7", "", "100", "NaN"} {
		for i, f := range b.Fields() {
			switch {
			case s == "" || types[i] == arrow.Null:
				f.AppendNull()
			case s == "NaN" && i < 8:
				f.AppendNull()
			case i == 10:
				v := map[string]float32{"7": 7, "100": 100}[s]
				if s == "NaN" {
					f.AppendNull()
					continue
				}
				f.(*array.Float16Builder).Append(float16.New(v))
			case i == 13:
				f.(*array.BinaryBuilder).AppendString(s)
			default:
				if err := f.AppendValueFromString(s); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	path := put(t, writeArrow(t, schema, []arrow.Record{b.NewRecord()}, false))
	want := strings.Repeat("7||100|\n", len(types)-1) + "|||\n"
	for _, as := range []table.As{table.Number, table.State} {
		d, err := read(t, path, table.Options{}, as)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, show(d)); diff != "" {
			t.Errorf("as %s (-want +got):\n%s", as, diff)
		}
	}
	if _, err := read(t, path, table.Options{}, table.Timestamp); err == nil ||
		!strings.Contains(err.Error(), ": column int8: the column holds plain numbers, but dates with times of day are wanted; read its times as seconds") {
		t.Errorf("numbers as timestamps: %v", err)
	}
}

// A stream that lacks its end mark is read, and noted.
func TestArrowWithoutEnd(t *testing.T) {
	b := asArrow(t, sampleRows(10), false)
	d, _, err := readRows(t, put(t, bytes.TrimSuffix(b, []byte{0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0})))
	if err != nil {
		t.Fatal(err)
	}
	want := []table.Note{{Text: "the stream has no end mark: it may be cut off between two batches"}}
	if diff := cmp.Diff(want, d.Notes); diff != "" {
		t.Errorf("notes (-want +got):\n%s", diff)
	}
}
