package table

import (
	"encoding/binary"
	"fmt"
	"io"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// headerBytes is how long the header of a page may be. Statistics in it can
// hold two texts; first a short piece is tried.
const (
	headerBytes      = 64 << 10
	shortHeaderBytes = 512
)

// checkPages walks over the headers of a column chunk before the library
// decodes its pages. The library asks the system for as much memory as a
// header says, so what it says must be possible first.
func (p *parquetFile) checkPages(group, column int, rows int64, expanded *int64) error {
	m := &p.pf.Metadata().RowGroups[group].Columns[column].MetaData
	pos := m.DataPageOffset
	if m.DictionaryPageOffset > 0 && m.DictionaryPageOffset < pos {
		pos = m.DictionaryPageOffset
	}
	end := pos + m.TotalCompressedSize
	if pos < 4 || m.TotalCompressedSize < 0 || end > p.f.size || end < pos {
		return &fault{cause: "the column lies outside the file", remedy: transferAgain}
	}
	var values int64
	// A list has more values than rows; the number of samples is limited.
	list := p.leaves[column].list
	most := rows
	if list {
		most = p.f.limits.Samples
	}
	p.heads = p.heads[:0]
	for pos < end {
		h, n, err := p.pageHeader(pos, end)
		if err != nil {
			return err
		}
		start := pos
		pos += n
		page := pageOf(h)
		switch {
		case page.compressed < 0 || pos+page.compressed > end,
			page.expanded < 0 || page.values < 0,
			page.levels < 0 || page.levels > page.compressed:
			return &fault{cause: fmt.Sprintf("the page before byte %d has impossible sizes", pos), remedy: transferAgain}
		case page.expanded > p.f.limits.PageBytes:
			return &fault{cause: fmt.Sprintf("a page expands to %d bytes, the limit is %d", page.expanded, p.f.limits.PageBytes), remedy: raiseLimit}
		case page.values > most:
			return &fault{cause: fmt.Sprintf("a page claims %d values, its row group has %d rows", page.values, rows), remedy: transferAgain}
		}
		if *expanded += page.expanded; *expanded > p.f.limits.Decompressed {
			return &fault{cause: fmt.Sprintf("the wanted columns expand to more than %d bytes", p.f.limits.Decompressed), remedy: raiseLimit}
		}
		if err := p.checkExpansion(m.Codec, page, pos); err != nil {
			return err
		}
		pos += page.compressed
		if h.Type != format.DictionaryPage {
			p.heads = append(p.heads, pageHead{values, start})
			values += page.values
		}
	}
	if values != rows && !list {
		return &fault{cause: fmt.Sprintf("the pages hold %d values, the row group has %d rows", values, rows), remedy: transferAgain}
	}
	return nil
}

// A pageSize is what the header of a page says of its sizes.
type pageSize struct {
	compressed, expanded, values int64
	levels                       int64 // bytes before the compressed part
	packed                       bool
}

func pageOf(h *format.PageHeader) pageSize {
	s := pageSize{compressed: int64(h.CompressedPageSize), expanded: int64(h.UncompressedPageSize), packed: true}
	switch h.Type {
	case format.DictionaryPage:
		// A dictionary has at most one word for each row.
		s.values = int64(h.DictionaryPageHeader.V.NumValues)
	case format.DataPage:
		s.values = int64(h.DataPageHeader.V.NumValues)
	case format.DataPageV2:
		v2 := &h.DataPageHeaderV2.V
		s.values = int64(v2.NumValues)
		if v2.DefinitionLevelsByteLength < 0 || v2.RepetitionLevelsByteLength < 0 {
			s.levels = -1
			break
		}
		s.levels = int64(v2.DefinitionLevelsByteLength) + int64(v2.RepetitionLevelsByteLength)
		s.packed = !v2.IsCompressed.Valid || v2.IsCompressed.V
	}
	return s
}

// pageHeader decodes the header at pos; n is how long it is.
func (p *parquetFile) pageHeader(pos, end int64) (h *format.PageHeader, n int64, err error) {
	for _, size := range []int64{shortHeaderBytes, headerBytes} {
		buf := make([]byte, min(size, end-pos))
		if _, err := p.f.file.ReadAt(buf, pos); err != nil {
			return nil, 0, err
		}
		// Over bytes the decoder refuses texts longer than what is there; over a
		// stream it would make room for them first.
		r := new(thrift.CompactProtocol).NewReaderFromBytes(buf)
		h = new(format.PageHeader)
		if err = thrift.NewDecoder(r).Decode(h); err == nil {
			return h, int64(r.BytesRead()), nil
		}
	}
	return nil, 0, fmt.Errorf("the page header at byte %d cannot be read: %w", pos, err)
}

// checkExpansion holds the size that the compressed bytes say, or turn out to
// have, against the one of the header; pos is where the page's bytes start.
func (p *parquetFile) checkExpansion(codec format.CompressionCodec, page pageSize, pos int64) error {
	if codec == format.Uncompressed || !page.packed || page.compressed == page.levels {
		return nil
	}
	want := page.expanded - page.levels
	section := io.NewSectionReader(p.f.file, pos+page.levels, page.compressed-page.levels)
	var got int64
	var err error
	switch codec {
	case format.Snappy:
		got, err = snappySize(section)
	case format.Zstd:
		got, err = zstdSize(section, want, &p.f.limits)
	case format.Gzip:
		// The format names no size that could be trusted: count.
		var z *gzip.Reader
		if z, err = gzip.NewReader(section); err == nil {
			got, err = io.Copy(io.Discard, io.LimitReader(z, want+1))
		}
	}
	if err != nil {
		return fmt.Errorf("the page at byte %d cannot be expanded: %w", pos, err)
	}
	if got != want {
		return &fault{cause: fmt.Sprintf("the page at byte %d expands to another size (%d) than its header says (%d)", pos, got, want), remedy: transferAgain}
	}
	return nil
}

// snappySize is the length that a snappy block starts with.
func snappySize(r io.ReaderAt) (int64, error) {
	var buf [binary.MaxVarintLen64]byte
	n, err := r.ReadAt(buf[:], 0)
	if n == 0 {
		return 0, err
	}
	size, k := binary.Uvarint(buf[:n])
	if k <= 0 || size > 1<<32 {
		return 0, fmt.Errorf("snappy: bad length")
	}
	return int64(size), nil
}

// zstdSize is the size that a zstd frame states; one that states none is
// expanded piece by piece to count it.
func zstdSize(r *io.SectionReader, want int64, l *Limits) (int64, error) {
	var h zstd.Header
	buf := make([]byte, min(zstd.HeaderMaxSize, r.Size()))
	if _, err := r.ReadAt(buf, 0); err != nil {
		return 0, err
	}
	if err := h.Decode(buf); err != nil {
		return 0, err
	}
	if h.HasFCS && !h.Skippable {
		return int64(min(h.FrameContentSize, 1<<62)), nil
	}
	z, done, err := decompress(r, zstdded, l)
	defer done()
	if err != nil {
		return 0, err
	}
	return io.Copy(io.Discard, io.LimitReader(z, want+1))
}
