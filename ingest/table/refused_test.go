package table_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// refused opens and reads every column as numbers, which must fail as said.
func refused(t *testing.T, path, want string) {
	t.Helper()
	_, err := read(t, path, table.Options{}, table.Number)
	var e *table.Error
	if !errors.As(err, &e) || !strings.HasPrefix(err.Error(), path+want) {
		t.Errorf("error is\n%v, want\n%s", err, path+want)
	}
}

// What is no readable file says so.
func TestNoFile(t *testing.T) {
	dir := t.TempDir()
	refused(t, dir, ": this is a folder; name a file in it")
	missing := filepath.Join(dir, "missing.csv")
	refused(t, missing, ": there is no such file; check the path")
	if _, err := table.Open(missing, table.Options{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v does not unwrap to fs.ErrNotExist", err)
	}
	if _, _, err := table.Digest(missing); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("digest: %v does not unwrap to fs.ErrNotExist", err)
	}
	closed := write(t, "closed.csv", "a\n1\n")
	if err := os.Chmod(closed, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := os.ReadFile(closed); err == nil {
		return // the superuser may read everything
	}
	refused(t, closed, ": reading it is not permitted; ask for the right to read it")
}

// Parquet that cannot be read safely is refused by column, with a remedy.
func TestParquetRefused(t *testing.T) {
	rows := sampleRows(10)
	whole := asParquet(t, rows)
	longFooter := bytes.Clone(whole)
	binary.LittleEndian.PutUint32(longFooter[len(longFooter)-8:], 0xfffffff0)
	var lists, records bytes.Buffer
	type list struct {
		A []struct {
			B, C float64
		} `parquet:"a"`
	}
	type record struct {
		A struct {
			B float64 `parquet:"b"`
		} `parquet:"a"`
	}
	if err := errors.Join(parquet.Write(&lists, []list{{}}), parquet.Write(&records, []record{{}})); err != nil {
		t.Fatal(err)
	}
	tests := map[string]struct {
		file []byte
		want string
	}{
		"cut off":       {whole[:len(whole)-5], ": byte "},
		"too short":     {[]byte("PAR1PAR1"), ": the Parquet file is shorter than an empty one; "},
		"footer length": {longFooter, ": byte "},
		"LZ4_RAW":       {asParquet(t, rows, parquet.Compression(&parquet.Lz4Raw)), ": column "},
		"brotli":        {asParquet(t, rows, parquet.Compression(&parquet.Brotli)), ": column "},
		"lists":         {lists.Bytes(), ": column a.B: its cells are lists or records of several values, which cannot be read; "},
		"records":       {records.Bytes(), ": column a.b: its cells are lists or records of several values, which cannot be read; "},
		"inside gzip":   {asGzip(t, whole), ": a Parquet file inside gzip, which has to be read from its end; unpack it first"},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) { refused(t, put(t, tc.file), tc.want) })
	}
	_, err := read(t, put(t, tests["LZ4_RAW"].file), table.Options{}, table.State)
	if err == nil || !strings.Contains(err.Error(), "LZ4_RAW, which cannot be read safely; write the file again with snappy, zstd or gzip") {
		t.Errorf("LZ4_RAW: %v", err)
	}
}

// Footers that would make the library ask for terabytes or call itself without
// end are refused before it sees them.
func TestHostileFooters(t *testing.T) {
	file := func(footer []byte) []byte {
		b := append([]byte("PAR1"), footer...)
		b = binary.LittleEndian.AppendUint32(b, uint32(len(footer)))
		return append(b, "PAR1"...)
	}
	// An entry of the schema: its name "a", and that it holds one other.
	entry := []byte{0x48, 1, 'a', 0x15, 2, 0}
	deep := append([]byte{0x15, 2, 0x19, 0xfc, 0xa0, 0x1f}, bytes.Repeat(entry, 4000)...)
	tests := map[string]struct {
		footer []byte
		want   string
	}{
		"long list":    {[]byte{0x15, 2, 0x19, 0xfc, 0xff, 0xff, 0xff, 0xff, 0x07}, ": footer: the footer claims more than it holds; "},
		"long text":    {[]byte{0x18, 0xff, 0xff, 0xff, 0xff, 0x07}, ": footer: the footer claims more than it holds; "},
		"unknown deep": {bytes.Repeat([]byte{0x1c}, 100_000), ": footer: the footer is nested too deep"},
		"many entries": {append([]byte{0x19, 0xf3, 0x80, 0x80, 0x80, 0x01}, make([]byte, 1<<21)...), ": footer: the footer is nested too deep or has too many entries"},
		"schema deep":  {append(deep, 0), ": footer: the footer is nested too deep"},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) { refused(t, put(t, file(tc.footer)), tc.want) })
	}
}

// A small file that expands without end is stopped at the limit.
func TestExpansionBounded(t *testing.T) {
	bomb := []byte("a,b\n" + strings.Repeat("1,2\n", 1<<20))
	for name, file := range map[string][]byte{"gzip": asGzip(t, bomb), "zstd": asZstd(t, bomb)} {
		path := put(t, file)
		_, err := read(t, path, table.Options{Limits: table.Limits{Decompressed: 1 << 20}}, table.Number)
		if err == nil || !strings.Contains(err.Error(), "expands to more than the limit; raise the limit") {
			t.Errorf("%s: %v", name, err)
		}
	}
	path := put(t, asParquet(t, sampleRows(1000)))
	if _, err := read(t, path, table.Options{Limits: table.Limits{PageBytes: 100}}, table.State); err == nil || !strings.Contains(err.Error(), "the limit is 100") {
		t.Errorf("Parquet page: %v", err)
	}
}
