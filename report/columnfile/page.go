package columnfile

import (
	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding/plain"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// dataPage writes the page of a column: header, levels, compressed values.
func (w *Writer) dataPage(c *column, m *format.ColumnMetaData) error {
	var levels []byte
	if c.optional {
		levels = w.levels
	}
	h := format.PageHeader{Type: format.DataPageV2}
	if err := w.compress(&h, levels); err != nil {
		return err
	}
	h.DataPageHeaderV2 = thrift.New(format.DataPageHeaderV2{
		NumValues: int32(w.rows), NumNulls: int32(w.rows - c.values), NumRows: int32(w.rows),
		Encoding: c.encoding.Encoding(), DefinitionLevelsByteLength: int32(len(levels)),
		IsCompressed: thrift.New(true), Statistics: w.statistics(c),
	})
	return w.putPage(&h, levels, c.encoding.Encoding(), m)
}

// dictionary writes the words of a column. The page of the column, which is
// encoded already, is kept.
func (w *Writer) dictionary(c *column, m *format.ColumnMetaData) error {
	values := w.page
	w.page, w.spare = w.spare[:0], nil
	defer func() { w.page, w.spare = values, w.page }()
	for _, word := range c.words {
		w.page = plain.AppendByteArrayString(w.page, word)
	}
	h := format.PageHeader{Type: format.DictionaryPage}
	if err := w.compress(&h, nil); err != nil {
		return err
	}
	h.DictionaryPageHeader = thrift.New(format.DictionaryPageHeader{NumValues: int32(len(c.words)), Encoding: format.Plain})
	return w.putPage(&h, nil, format.Plain, m)
}

// putPage writes a page and counts it in the metadata of its column.
func (w *Writer) putPage(h *format.PageHeader, levels []byte, e format.Encoding, m *format.ColumnMetaData) error {
	start := w.at
	if err := w.encode(h); err != nil {
		return err
	}
	head := w.at - start
	m.TotalUncompressedSize += head + int64(h.UncompressedPageSize)
	m.TotalCompressedSize += head + int64(h.CompressedPageSize)
	m.EncodingStats = append(m.EncodingStats, format.PageEncodingStats{PageType: h.Type, Encoding: e, Count: 1})
	if err := w.write(levels); err != nil {
		return err
	}
	return w.write(w.packed)
}

// index is the column index: the bounds and nulls of each page, here of one.
func (w *Writer) index(c *column, histogram []int64) format.ColumnIndex {
	indexer := c.typ.NewColumnIndexer(parquet.DefaultColumnIndexSizeLimit)
	indexer.IndexPage(int64(w.rows), int64(w.rows-c.values), c.min, c.max)
	index := indexer.ColumnIndex()
	index.DefinitionLevelHistogram = histogram
	return index
}
