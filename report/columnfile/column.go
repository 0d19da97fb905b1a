package columnfile

import (
	"cmp"
	"fmt"
	"math"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding"
	"github.com/parquet-go/parquet-go/encoding/plain"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// column is what the metadata tell about a column whose page is encoded.
type column struct {
	name     string
	typ      parquet.Type
	optional bool
	encoding encoding.Encoding
	// all are the encodings used, levels and dictionary included, rising.
	all []format.Encoding
	// values is how many there are, the rest of the rows being null, and min and
	// max their bounds, null without values.
	values   int
	min, max parquet.Value
	// words is the dictionary that the values index, nil for plain values.
	words []string
}

// Int64s writes a column that has a value in every row. It is packed by the
// differences, which is for values that rise evenly, such as times.
func (w *Writer) Int64s(name string, values []int64) (err error) {
	c := column{
		name: name, typ: parquet.Int64Type, encoding: &parquet.DeltaBinaryPacked,
		all: []format.Encoding{format.DeltaBinaryPacked}, values: len(values),
	}
	if len(values) > 0 {
		low, high := bounds(values)
		c.min, c.max = parquet.Int64Value(low), parquet.Int64Value(high)
	}
	if w.page, err = parquet.DeltaBinaryPacked.EncodeInt64(w.page[:0], values); err != nil {
		return fmt.Errorf("column %s: %w", name, err)
	}
	return w.column(&c)
}

// Doubles writes a column with the values of the rows that are Present. The
// bounds of the column pass over NaN, unless there is nothing else.
func (w *Writer) Doubles(name string, values []float64) error {
	c := optional(name, parquet.DoubleType, len(values))
	if len(values) > 0 {
		low, high := doubleBounds(values)
		c.min, c.max = parquet.DoubleValue(low), parquet.DoubleValue(high)
	}
	w.page = w.page[:0]
	for _, v := range values {
		w.page = plain.AppendDouble(w.page, v)
	}
	return w.column(&c)
}

// Int32s is Doubles for whole numbers.
func (w *Writer) Int32s(name string, values []int32) error {
	c := optional(name, parquet.Int32Type, len(values))
	if len(values) > 0 {
		low, high := bounds(values)
		c.min, c.max = parquet.Int32Value(low), parquet.Int32Value(high)
	}
	w.page = w.page[:0]
	for _, v := range values {
		w.page = plain.AppendInt32(w.page, v)
	}
	return w.column(&c)
}

// Words is Doubles for words, given as a dictionary and the index of each value
// in it. Each word of the dictionary is one that occurs.
func (w *Writer) Words(name string, indexes []int32, words []string) (err error) {
	c := optional(name, parquet.String().Type(), len(indexes))
	c.encoding, c.all, c.words = &parquet.RLEDictionary, []format.Encoding{format.Plain, format.RLE, format.RLEDictionary}, words
	if c.words == nil {
		c.words = []string{}
	}
	if len(words) > 0 {
		low, high := bounds(words)
		c.min, c.max = parquet.ByteArrayValue([]byte(low)), parquet.ByteArrayValue([]byte(high))
	}
	if w.page, err = parquet.RLEDictionary.EncodeInt32(w.page[:0], indexes); err != nil {
		return fmt.Errorf("column %s: %w", name, err)
	}
	return w.column(&c)
}

// optional is a column of plain values that may be null.
func optional(name string, t parquet.Type, values int) column {
	return column{name: name, typ: t, optional: true, encoding: &parquet.Plain, all: []format.Encoding{format.Plain, format.RLE}, values: values}
}

func bounds[T cmp.Ordered](values []T) (low, high T) {
	low, high = values[0], values[0]
	for _, v := range values[1:] {
		low, high = min(low, v), max(high, v)
	}
	return low, high
}

// doubleBounds leaves out NaN, so that engines can pass over what lies outside
// of the bounds. Of the two zeros, which are equal, the first is taken.
func doubleBounds(values []float64) (low, high float64) {
	low, high = values[0], values[0]
	for _, v := range values[1:] {
		switch {
		case math.IsNaN(v):
		case math.IsNaN(low):
			low, high = v, v
		default:
			if v < low {
				low = v
			}
			if v > high {
				high = v
			}
		}
	}
	return low, high
}

// column writes the column whose page is encoded: its dictionary, the page, and
// what the footer will tell of both.
func (w *Writer) column(c *column) error {
	w.add(c)
	if want := w.valuesOf(c); c.values != want {
		return fmt.Errorf("column %s: %d values for %d rows", c.name, c.values, want)
	}
	if w.rows == 0 {
		return nil // it has a name and a type; there is no row group to be in
	}
	if err := w.chunk(c); err != nil {
		return fmt.Errorf("column %s: %w", c.name, err)
	}
	return nil
}

// valuesOf is how many values a column must have.
func (w *Writer) valuesOf(c *column) int {
	if c.optional {
		return w.present
	}
	return w.rows
}

func (w *Writer) chunk(c *column) error {
	chunk := format.ColumnChunk{MetaData: format.ColumnMetaData{
		Type: format.Type(c.typ.Kind()), Encoding: c.all, PathInSchema: thrift.Slice[string]{c.name},
		Codec: w.compression.CompressionCodec(), NumValues: int64(w.rows), Statistics: w.statistics(c),
	}}
	m := &chunk.MetaData
	m.Statistics.Min, m.Statistics.Max = nil, nil // the older form stands at the page only
	if c.optional {
		m.SizeStatistics.DefinitionLevelHistogram = []int64{int64(w.rows - c.values), int64(c.values)}
	}
	if c.words != nil {
		m.DictionaryPageOffset = w.at
		if err := w.dictionary(c, m); err != nil {
			return err
		}
	}
	m.DataPageOffset = w.at
	if err := w.dataPage(c, m); err != nil {
		return err
	}
	w.chunks = append(w.chunks, chunk)
	w.offsets = append(w.offsets, format.OffsetIndex{PageLocations: []format.PageLocation{
		{Offset: m.DataPageOffset, CompressedPageSize: int32(w.at - m.DataPageOffset)},
	}})
	w.indexes = append(w.indexes, w.index(c, m.SizeStatistics.DefinitionLevelHistogram))
	return nil
}

// statistics are the bounds and nulls of the page, which is all of the column.
func (w *Writer) statistics(c *column) format.Statistics {
	low, high := c.min.Bytes(), c.max.Bytes()
	return format.Statistics{Min: low, Max: high, MinValue: low, MaxValue: high, NullCount: int64(w.rows - c.values)}
}
