package table

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/parquet-go/parquet-go"
)

// early is a gate that opens for the first second of every 16.
type early struct{}

func (early) Open(r *GateRow) bool { return r.Clock/1e9%16 == 0 }
func (e early) Copy() Gate         { return e }

type passedRow struct {
	Time   float64 `parquet:"time"`
	Ground string  `parquet:"ground"`
	Speed  float64 `parquet:"speed"`
	Trim   float64 `parquet:"trim"`
}

// TestPagesArePassedOver: of a column that is read in part, pages without a
// wanted row are not decompressed; without an offset index that agrees with the
// pages all are, with the same samples.
func TestPagesArePassedOver(t *testing.T) {
	var rows []passedRow
	for i := range 4096 {
		rows = append(rows, passedRow{float64(i) / 8, "air", 300, float64(i)})
	}
	read := func(options ...parquet.WriterOption) ([]float64, int) {
		var b bytes.Buffer
		if err := parquet.Write(&b, rows, options...); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "rows.parquet")
		if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		f, err := Open(path, Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		var wants []Want
		for _, name := range []string{"time", "ground", "speed", "trim"} {
			k := slices.IndexFunc(f.Columns(), func(c Column) bool { return c.Name == name })
			w := Want{Column: k, As: Number}
			switch name {
			case "time":
				w.As = Seconds
			case "ground":
				w.As = State
			}
			wants = append(wants, w)
		}
		d, err := f.ReadSifted(wants, &Sift{Clock: 0, State: 1, Numbers: []int{2}, Gate: early{}})
		if err != nil {
			t.Fatal(err)
		}
		return d.Columns[3].Numbers, f.body.(*parquetFile).passed
	}
	want, none := read() // one page: nothing to pass over
	if none != 0 || len(want) < 4096/16 || len(want) > 4096/8 {
		t.Fatalf("of one page %d pages were passed over, and %d samples read", none, len(want))
	}
	for _, options := range [][]parquet.WriterOption{
		{parquet.PageBufferSize(256)},
		{parquet.PageBufferSize(256), parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy)},
		{parquet.PageBufferSize(256), parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(1000)},
	} {
		got, passed := read(options...)
		if passed < 30 || !slices.Equal(got, want) {
			t.Errorf("%d pages were passed over; %d samples, want %d", passed, len(got), len(want))
		}
	}
}
