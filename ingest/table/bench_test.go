package table_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// The benchmarks read 17 of 60 columns of two hours at 8 rows a second. Most
// columns are slower than the rows and blank between their samples.
const (
	benchRows    = 57_600
	benchColumns = 60
	benchWanted  = 17
	benchState   = 10 // a discrete
)

// benchCells calls cell for every cell that has a sample.
func benchCells(cell func(row, column int, value float64, decimals int)) {
	r := rand.New(rand.NewPCG(20, 24))
	periods := []int{1, 2, 4, 8, 8, 8, 8, 8, 16, 128}
	for row := range benchRows {
		cell(row, 0, float64(row)/8, 3)
		for c := 1; c < benchColumns; c++ {
			if p := periods[c%len(periods)]; (row+c)%p == 0 {
				v := float64(r.IntN(20_000)) / 100
				if c == benchState {
					v = float64(row / 5000 % 3)
				}
				cell(row, c, v, 2*min(1, max(c-benchState, benchState-c)))
			}
		}
	}
}

func benchCSV() []byte {
	var b bytes.Buffer
	for c := range benchColumns {
		fmt.Fprintf(&b, "%sc%02d", strings.Repeat(",", min(c, 1)), c)
	}
	at, column := -1, benchColumns-1
	pad := func(to int) {
		for ; column < to; column++ {
			b.WriteByte(',')
		}
	}
	benchCells(func(row, c int, v float64, decimals int) {
		if row != at {
			pad(benchColumns - 1)
			b.WriteByte('\n')
			at, column = row, 0
		}
		pad(c)
		b.Write(strconv.AppendFloat(nil, v, 'f', decimals, 64))
	})
	pad(benchColumns - 1)
	b.WriteByte('\n')
	return b.Bytes()
}

func benchParquet(b *testing.B, codec string) []byte {
	fields := make([]reflect.StructField, benchColumns)
	for c := range fields {
		fields[c] = reflect.StructField{
			Name: fmt.Sprintf("C%02d", c), Type: reflect.TypeFor[*float64](),
			Tag: reflect.StructTag(fmt.Sprintf(`parquet:"c%02d,optional,dict,%s"`, c, codec)),
		}
	}
	typ := reflect.StructOf(fields)
	rows := reflect.MakeSlice(reflect.SliceOf(typ), benchRows, benchRows)
	benchCells(func(row, c int, v float64, _ int) { rows.Index(row).Field(c).Set(reflect.ValueOf(&v)) })
	var out bytes.Buffer
	w := parquet.NewWriter(&out, parquet.SchemaOf(reflect.New(typ).Interface()))
	for i := range benchRows {
		if err := w.Write(rows.Index(i).Addr().Interface()); err != nil {
			b.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
	return out.Bytes()
}

// bench reads the file over and over; MB/s are of size bytes.
func bench(b *testing.B, file []byte, size int) {
	path := put(b, file)
	b.SetBytes(int64(size))
	b.ReportAllocs()
	for b.Loop() {
		f, err := table.Open(path, table.Options{})
		if err != nil {
			b.Fatal(err)
		}
		wants := make([]table.Want, benchWanted)
		for i := range wants {
			// Every third column and a bit, the time first.
			wants[i] = table.Want{Column: i * (benchColumns - 1) / benchWanted, As: table.Number}
		}
		wants[0].As, wants[3].As = table.Seconds, table.State
		d, err := f.Read(wants)
		if err != nil || d.Rows != benchRows {
			b.Fatal(err)
		}
		f.Close()
	}
}

func BenchmarkCSV(b *testing.B)     { text := benchCSV(); bench(b, text, len(text)) }
func BenchmarkCSVGzip(b *testing.B) { text := benchCSV(); bench(b, asGzip(b, text), len(text)) }
func BenchmarkCSVZstd(b *testing.B) { text := benchCSV(); bench(b, asZstd(b, text), len(text)) }

func BenchmarkParquetSnappy(b *testing.B) {
	file := benchParquet(b, "snappy")
	bench(b, file, len(file))
}

func BenchmarkParquetZstd(b *testing.B) {
	file := benchParquet(b, "zstd")
	bench(b, file, len(file))
}

func BenchmarkArrowStream(b *testing.B) {
	file := benchArrow(b)
	bench(b, file, len(file))
}

func benchArrow(b *testing.B) []byte {
	fields := make([]arrow.Field, benchColumns)
	for c := range fields {
		fields[c] = arrow.Field{Name: fmt.Sprintf("c%02d", c), Type: arrow.PrimitiveTypes.Float64, Nullable: true}
	}
	schema := arrow.NewSchema(fields, nil)
	cells := make([]map[int]float64, benchColumns)
	for c := range cells {
		cells[c] = map[int]float64{}
	}
	benchCells(func(row, c int, v float64, _ int) { cells[c][row] = v })
	builder := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	var batches []arrow.Record
	for from := 0; from < benchRows; from += 9600 {
		for c, column := range cells {
			f := builder.Field(c).(*array.Float64Builder)
			for row := from; row < from+9600; row++ {
				if v, ok := column[row]; ok {
					f.Append(v)
				} else {
					f.AppendNull()
				}
			}
		}
		batches = append(batches, builder.NewRecord())
	}
	return writeArrow(b, schema, batches, false)
}
