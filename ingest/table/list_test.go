package table_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// showLists writes the samples of lists: row, place in the list, value.
func showLists(c *table.ColumnData) string {
	var parts []string
	for i := range c.Len() {
		v := ""
		switch {
		case c.Numbers != nil:
			v = trimFloat(c.Numbers[i])
		case c.States[i] < 0:
			v = "!"
		default:
			v = c.Words[c.States[i]]
		}
		parts = append(parts, fmt.Sprintf("%d.%d/%d:%s", c.Row(i), c.Slots[i].Index, c.Slots[i].Of, v))
	}
	return strings.Join(parts, " ")
}

const (
	wantLists = "0.0/2:1 0.1/2:2 2.0/4:3 2.2/4:5 2.3/4:6 3.0/1:7"
	wantWords = "0.0/2:UP 0.1/2:DN 2.0/1:UP"
)

type listRow struct {
	Time  float64    `parquet:"time"`
	A     []*float64 `parquet:"a,list"`
	B     []float64  `parquet:"b"`
	C     []int32    `parquet:"c,list"`
	Words []string   `parquet:"words,list"`
}

// Lists of Parquet, in each way in which they are written, over pages and row
// groups of any size.
func TestParquetLists(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	rows := []listRow{
		{0, []*float64{f(1), f(2)}, []float64{1, 2}, []int32{1, 2}, []string{"UP", "DN"}},
		{1, nil, nil, nil, nil},
		{2, []*float64{f(3), nil, f(5), f(6)}, []float64{3, 4, 5, 6}, []int32{3, 4, 5, 6}, []string{"UP"}},
		{3, []*float64{f(7)}, []float64{7}, []int32{7}, []string{}},
	}
	full := strings.Replace(wantLists, "2.2/4", "2.1/4:4 2.2/4", 1)
	for name, opt := range map[string][]parquet.WriterOption{
		"one page": nil, "small pages": {parquet.PageBufferSize(8)}, "old pages": {parquet.DataPageVersion(1)},
		"row groups": {parquet.MaxRowsPerRowGroup(1)}, "snappy": {parquet.Compression(&parquet.Snappy)},
	} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			if err := parquet.Write(&out, rows, opt...); err != nil {
				t.Fatal(err)
			}
			file, err := table.Open(put(t, out.Bytes()), table.Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			wants, at := []table.Want{}, map[string]int{}
			for i, c := range file.Columns() {
				at[c.Name] = i
				as := table.Number
				if c.Name == "words" {
					as = table.State
				}
				wants = append(wants, table.Want{Column: i, As: as})
			}
			d, err := file.Read(wants)
			if err != nil {
				t.Fatal(err)
			}
			for column, want := range map[string]string{"a": wantLists, "b": full, "c": full, "words": wantWords} {
				if got := showLists(&d.Columns[at[column]]); got != want {
					t.Errorf("%s:\n got %s\nwant %s", column, got, want)
				}
			}
			if c := d.Columns[at["time"]]; c.Slots != nil || c.Rows != nil || d.Rows != 4 {
				t.Errorf("times have slots %v and rows %v; %d rows", c.Slots, c.Rows, d.Rows)
			}
			if _, err := file.Read([]table.Want{{Column: at["a"], As: table.Seconds}}); err == nil || !strings.Contains(err.Error(), "the cells are lists, and a list cannot be read as seconds") {
				t.Errorf("lists as seconds: %v", err)
			}
		})
	}
}

// Lists of Arrow, of every kind and of every element.
func TestArrowLists(t *testing.T) {
	p := arrow.PrimitiveTypes
	for _, elem := range []arrow.DataType{p.Float64, p.Float32, p.Int8, p.Int16, p.Int32, p.Int64, p.Uint8, p.Uint16, p.Uint32} {
		for name, typ := range map[string]arrow.DataType{"list": arrow.ListOf(elem), "large": arrow.LargeListOf(elem), "fixed": arrow.FixedSizeListOf(2, elem)} {
			schema := arrow.NewSchema([]arrow.Field{{Name: "a", Type: typ, Nullable: true}}, nil)
			b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
			lists := b.Field(0).(array.ListLikeBuilder)
			for _, row := range [][]string{{"1", "2"}, nil, {"3", ""}} {
				if row == nil {
					lists.AppendNull()
					continue
				}
				lists.Append(true)
				for _, v := range row {
					if v == "" {
						lists.ValueBuilder().AppendNull()
					} else if err := lists.ValueBuilder().AppendValueFromString(v); err != nil {
						t.Fatal(err)
					}
				}
			}
			rec := b.NewRecord()
			// Two batches: the second goes on with the rows of the first.
			d, err := read(t, put(t, writeArrow(t, schema, []arrow.Record{rec, rec}, false)), table.Options{}, table.Number)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := showLists(&d.Columns[0]), "0.0/2:1 0.1/2:2 2.0/2:3 3.0/2:1 3.1/2:2 5.0/2:3"; got != want {
				t.Errorf("%s of %s:\n got %s\nwant %s", name, elem, got, want)
			}
		}
	}
	schema := arrow.NewSchema([]arrow.Field{{Name: "a", Type: arrow.ListOf(arrow.ListOf(p.Float64))}}, nil)
	rec := array.NewRecordBuilder(memory.NewGoAllocator(), schema).NewRecord()
	refused(t, put(t, writeArrow(t, schema, []arrow.Record{rec}, false)), ": column a: its cells are lists of list")
}
