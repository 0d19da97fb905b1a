// Package columnfile writes columns of one length as a Parquet file of one row
// group, a page to each column. It is for small tables that are made whole in
// memory, column by column, such as the clip of a flight.
//
// The recipe:
//
//  1. Start begins a file of so many rows. A Writer can be started again, and
//     then uses its room again.
//  2. Int64s, Doubles, Int32s and Words write a column each, in their order in
//     the file. Present says in which rows the columns that follow have values.
//  3. Close writes the indexes and the footer.
//
// The bytes are those that the writer of the Parquet library gives for the same
// columns; a test holds the two together. That one takes a tagged value for
// each cell, null or not, which for a clip costs several times what encoding
// and compression do. Encodings, compression and the structures of the format
// (Apache Parquet format 2.12) are those of the library.
package columnfile

import (
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress"
	"github.com/parquet-go/parquet-go/encoding/rle"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

const magic = "PAR1"

// Writer writes one file at a time. The zero value is ready for Start.
type Writer struct {
	out         io.Writer
	at          int64 // bytes written
	rows        int
	compression compress.Codec

	// The rows with values in optional columns: how many, and encoded.
	present int
	levels  []byte

	page, packed []byte // of the column being written: encoded, and compressed
	spare        []byte // room for the page of a dictionary
	head         bytes.Buffer
	protocol     thrift.CompactProtocol
	encoder      thrift.Encoder

	schema  []format.SchemaElement // the root first
	orders  []format.ColumnOrder
	chunks  []format.ColumnChunk
	indexes []format.ColumnIndex
	offsets []format.OffsetIndex
}

// Start begins a file of so many rows, whose schema has a name.
func (w *Writer) Start(out io.Writer, name string, rows int, c compress.Codec) error {
	w.out, w.at, w.rows, w.present, w.levels, w.compression = out, 0, rows, 0, w.levels[:0], c
	w.schema = append(w.schema[:0], format.SchemaElement{Name: name})
	w.orders, w.chunks, w.indexes, w.offsets = w.orders[:0], w.chunks[:0], w.indexes[:0], w.offsets[:0]
	w.encoder.Reset(w.protocol.NewWriter(&w.head))
	return w.write([]byte(magic))
}

// levelEncoding is that of the levels of a column that is optional and not
// nested: one bit a row.
var levelEncoding = rle.Encoding{BitWidth: 1}

// Present says which rows have a value in the optional columns that follow: a
// byte for each row, 1 for a value and 0 for null.
func (w *Writer) Present(rows []byte) (err error) {
	w.present = bytes.Count(rows, []byte{1})
	w.levels, err = levelEncoding.EncodeLevels(w.levels, rows)
	return err
}

// Close writes what stands behind the columns: the indexes of all columns, and
// the footer with the metadata of one key.
func (w *Writer) Close(createdBy, key, value string) error {
	for i := range w.chunks {
		c := &w.chunks[i]
		c.ColumnIndexOffset = w.at
		if err := w.encode(&w.indexes[i]); err != nil {
			return err
		}
		c.ColumnIndexLength = int32(w.at - c.ColumnIndexOffset)
	}
	for i := range w.chunks {
		c := &w.chunks[i]
		c.OffsetIndexOffset = w.at
		if err := w.encode(&w.offsets[i]); err != nil {
			return err
		}
		c.OffsetIndexLength = int32(w.at - c.OffsetIndexOffset)
	}
	w.schema[0].NumChildren = thrift.New(int32(len(w.schema) - 1))
	start := w.at
	err := w.encode(&format.FileMetaData{
		Version: 2, Schema: w.schema, NumRows: int64(w.rows), RowGroups: w.groups(),
		KeyValueMetadata: []format.KeyValue{{Key: key, Value: value}}, CreatedBy: createdBy, ColumnOrders: w.orders,
	})
	if err != nil {
		return err
	}
	length := uint32(w.at - start)
	defer w.forget()
	return w.write(append([]byte{byte(length), byte(length >> 8), byte(length >> 16), byte(length >> 24)}, magic...))
}

// forget lets go of the file and of all that its columns held.
func (w *Writer) forget() {
	w.out = nil
	clear(w.schema)
	clear(w.chunks)
	clear(w.indexes)
	clear(w.offsets)
}

// groups is the one row group; a file without rows has none.
func (w *Writer) groups() []format.RowGroup {
	if w.rows == 0 {
		return nil
	}
	g := format.RowGroup{
		Columns: w.chunks, NumRows: int64(w.rows), FileOffset: int64(len(magic)),
		SortingColumns: []format.SortingColumn{}, // sorted by nothing, rather than not told
	}
	for i := range w.chunks {
		g.TotalByteSize += w.chunks[i].MetaData.TotalUncompressedSize
		g.TotalCompressedSize += w.chunks[i].MetaData.TotalCompressedSize
	}
	return []format.RowGroup{g}
}

func (w *Writer) write(b []byte) error {
	n, err := w.out.Write(b)
	w.at += int64(n)
	return err
}

// encode writes a structure of the format.
func (w *Writer) encode(v any) error {
	w.head.Reset()
	if err := w.encoder.Encode(v); err != nil {
		return err
	}
	return w.write(w.head.Bytes())
}

// errTooLarge: the format counts the bytes of a page in 32 bits.
var errTooLarge = errors.New("it has more than 2 GiB, which a page cannot hold")

// compress packs the page and fills what its header says of it: the sizes, with
// the levels that are written in front of it uncompressed, and the checksum.
func (w *Writer) compress(h *format.PageHeader, levels []byte) (err error) {
	if len(levels)+len(w.page) > math.MaxInt32 {
		return errTooLarge
	}
	if w.packed, err = w.compression.Encode(w.packed[:0], w.page); err != nil {
		return fmt.Errorf("compressing: %w", err)
	}
	h.UncompressedPageSize = int32(len(levels) + len(w.page))
	h.CompressedPageSize = int32(len(levels) + len(w.packed))
	h.CRC = int32(crc32.Update(crc32.ChecksumIEEE(levels), crc32.IEEETable, w.packed))
	return nil
}

// add enters a column into the schema.
func (w *Writer) add(c *column) {
	elem := format.SchemaElement{Name: c.name, Type: thrift.New(format.Type(c.typ.Kind())), RepetitionType: thrift.New(format.Required)}
	if c.optional {
		elem.RepetitionType = thrift.New(format.Optional)
	}
	if n := c.typ.Length(); n > 0 { // in bits
		elem.TypeLength = thrift.New(int32(n))
	}
	if c.typ.Kind() == parquet.ByteArray { // words, not bytes
		elem.LogicalType, elem.ConvertedType = *c.typ.LogicalType(), thrift.New(*c.typ.ConvertedType())
	}
	w.schema = append(w.schema, elem)
	w.orders = append(w.orders, *c.typ.ColumnOrder())
}
