package columnfile

import (
	"bytes"
	"io"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/format"
	"pgregory.net/rapid"
)

// drawn is a column of a table: the rows that have a value, and the values of
// one of the four kinds.
type drawn struct {
	name    string
	present []byte // nil for the int64s
	ints    []int64
	doubles []float64
	small   []int32
	indexes []int32
	words   []string
}

// write writes a table with the writer under test.
func write(w *Writer, out io.Writer, rows int, columns []drawn) error {
	if err := w.Start(out, "table", rows, &parquet.Zstd); err != nil {
		return err
	}
	for _, c := range columns {
		if err := w.Present(c.present); err != nil {
			return err
		}
		var err error
		switch {
		case c.present == nil:
			err = w.Int64s(c.name, c.ints)
		case c.doubles != nil:
			err = w.Doubles(c.name, c.doubles)
		case c.small != nil:
			err = w.Int32s(c.name, c.small)
		default:
			err = w.Words(c.name, c.indexes, c.words)
		}
		if err != nil {
			return err
		}
	}
	return w.Close("rollonset version 1(build archive)", "key", "value")
}

// ordered, and bare below, keep the library from adding what a file of columns
// does not have: an order by name, and a logical type of plain numbers.
type ordered struct {
	parquet.Group
	fields []parquet.Field
}

func (o ordered) Fields() []parquet.Field { return o.fields }

type bare struct{ parquet.Type }

func (bare) LogicalType() *format.LogicalType         { return nil }
func (bare) ConvertedType() *deprecated.ConvertedType { return nil }

func (c *drawn) node() parquet.Node {
	switch {
	case c.present == nil:
		return parquet.Encoded(parquet.Leaf(bare{parquet.Int64Type}), &parquet.DeltaBinaryPacked)
	case c.doubles != nil:
		return parquet.Optional(parquet.Leaf(parquet.DoubleType))
	case c.small != nil:
		return parquet.Optional(parquet.Leaf(bare{parquet.Int32Type}))
	}
	return parquet.Optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary))
}

// cells are the values of a column as the library takes them.
func (c *drawn) cells(column, rows int) []parquet.Value {
	out := make([]parquet.Value, rows)
	next := 0
	for i := range out {
		switch {
		case c.present == nil:
			out[i] = parquet.Int64Value(c.ints[i]).Level(0, 0, column)
			continue
		case c.present[i] == 0:
			out[i] = parquet.NullValue().Level(0, 0, column)
			continue
		case c.doubles != nil:
			out[i] = parquet.DoubleValue(c.doubles[next])
		case c.small != nil:
			out[i] = parquet.Int32Value(c.small[next])
		default:
			out[i] = parquet.ByteArrayValue([]byte(c.words[c.indexes[next]]))
		}
		out[i] = out[i].Level(0, 1, column)
		next++
	}
	return out
}

// library writes a table with the writer of the library.
func library(out io.Writer, rows int, columns []drawn) error {
	o := ordered{Group: parquet.Group{}}
	for _, c := range columns {
		o.Group[c.name] = c.node()
	}
	byName := map[string]parquet.Field{}
	for _, f := range o.Group.Fields() {
		byName[f.Name()] = f
	}
	for _, c := range columns {
		o.fields = append(o.fields, byName[c.name])
	}
	w := parquet.NewGenericWriter[any](out, parquet.NewSchema("table", o), parquet.CreatedBy("rollonset", "1", "archive"),
		parquet.Compression(&parquet.Zstd), parquet.KeyValueMetadata("key", "value"))
	for i, cw := range w.ColumnWriters() {
		if _, err := cw.WriteRowValues(columns[i].cells(i, rows)); err != nil {
			return err
		}
	}
	return w.Close()
}

// drawTable draws columns of all kinds and lengths, with and without nulls.
func drawTable(t *rapid.T) (rows int, columns []drawn) {
	rows = rapid.OneOf(rapid.IntRange(0, 40), rapid.IntRange(0, 3000)).Draw(t, "rows")
	columns = []drawn{{name: "time", ints: rapid.SliceOfN(rapid.Int64(), rows, rows).Draw(t, "times")}}
	for i := range rapid.IntRange(0, 5).Draw(t, "columns") {
		c := drawn{name: string(rune('f'-i)) + "ä", present: make([]byte, rows)}
		share := rapid.SampledFrom([]int{0, 1, 2, 7, 1000}).Draw(t, "a value every")
		n := 0
		for row := range rows {
			if share > 0 && row%share == 0 {
				c.present[row] = 1
				n++
			}
		}
		drawValues(t, &c, n)
		columns = append(columns, c)
	}
	return rows, columns
}

func drawValues(t *rapid.T, c *drawn, n int) {
	odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(-1), math.Copysign(0, -1), 0, 0.1})
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		c.doubles = rapid.SliceOfN(odd, n, n).Draw(t, "odd doubles")
	case 1:
		c.doubles = rapid.SliceOfN(rapid.Float64(), n, n).Draw(t, "doubles")
	case 2:
		c.small = rapid.SliceOfN(rapid.Int32(), n, n).Draw(t, "small")
	default:
		all := rapid.SliceOfN(rapid.SampledFrom([]string{"", "set", "released", "a word longer than sixteen bytes", "ÿÿÿÿÿÿÿÿÿÿ"}), n, n).Draw(t, "words")
		c.indexes = []int32{}
		for _, word := range all {
			if !slices.Contains(c.words, word) {
				c.words = append(c.words, word)
			}
			c.indexes = append(c.indexes, int32(slices.Index(c.words, word)))
		}
	}
}

// TestBytesAreThoseOfTheLibrary: one writer, used again, writes what the
// library writes, to the byte.
func TestBytesAreThoseOfTheLibrary(t *testing.T) {
	var w Writer
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := drawTable(t)
		var got, want bytes.Buffer
		if err := write(&w, &got, rows, columns); err != nil {
			t.Fatal(err)
		}
		if err := library(&want, rows, columns); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got.Bytes(), want.Bytes()) {
			t.Fatalf("%d rows of %d columns have other bytes than the library gives them (-library +here):\n%s", rows, len(columns), cmp.Diff(metadata(t, want.Bytes()), metadata(t, got.Bytes())))
		}
	})
}

func metadata(t *rapid.T, text []byte) *format.FileMetaData {
	f, err := parquet.OpenFile(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	return f.Metadata()
}

// TestWrongCountIsRefused: a column that does not fit the rows would be read as
// other rows than were meant.
func TestWrongCountIsRefused(t *testing.T) {
	var w Writer
	err := write(&w, io.Discard, 3, []drawn{{name: "flap", present: []byte{1, 0, 1}, doubles: []float64{5}}})
	if err == nil || err.Error() != "column flap: 1 values for 2 rows" {
		t.Errorf("got %v", err)
	}
	if err := write(&w, io.Discard, 3, []drawn{{name: "time", ints: []int64{1}}}); err == nil {
		t.Error("a column of one time passed for one of three")
	}
}
