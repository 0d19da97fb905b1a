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

// passedWants are time, ground, speed and trim of passedRow in the file.
func passedWants(f *File) []Want {
	ways := map[string]As{"time": Seconds, "ground": State, "speed": Number, "trim": Number}
	var wants []Want
	for _, name := range []string{"time", "ground", "speed", "trim"} {
		k := slices.IndexFunc(f.Columns(), func(c Column) bool { return c.Name == name })
		wants = append(wants, Want{Column: k, As: ways[name]})
	}
	return wants
}

// readTrim reads trim in part, and tells where its pages start.
func readTrim(t *testing.T, content []byte) ([]float64, []pageHead, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "rows.parquet")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	d, err := f.ReadSifted(passedWants(f), &Sift{Clock: 0, State: 1, Numbers: []int{2}, Gate: early{}})
	if err != nil {
		return nil, nil, err
	}
	return d.Columns[3].Numbers, slices.Clone(f.body.(*parquetFile).heads), nil
}

// TestPagesArePassedOver: of a column that is read in part, pages without a
// wanted row are not decoded, so that damage in them is nobody's matter; damage
// in a page that is read still is. The samples are those of a file with one page.
func TestPagesArePassedOver(t *testing.T) {
	var rows []passedRow
	for i := range 4096 {
		rows = append(rows, passedRow{float64(i) / 8, "air", 300, float64(i)})
	}
	write := func(options ...parquet.WriterOption) []byte {
		var b bytes.Buffer
		if err := parquet.Write(&b, rows, options...); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	want, _, err := readTrim(t, write())
	if err != nil || len(want) < 4096/16 {
		t.Fatalf("of one page %d samples were read: %v", len(want), err)
	}
	for name, options := range map[string][]parquet.WriterOption{
		"plain":  {parquet.PageBufferSize(256)},
		"old":    {parquet.PageBufferSize(256), parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy)},
		"groups": {parquet.PageBufferSize(256), parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(1024)},
	} {
		content := write(options...)
		got, heads, err := readTrim(t, content)
		if err != nil || !slices.Equal(got, want) || len(heads) < 16 {
			t.Fatalf("%s: %d samples of %d pages, want %d samples: %v", name, len(got), len(heads), len(want), err)
		}
		quiet, loud := 0, 0
		for i := range heads[:len(heads)-1] {
			bad := slices.Clone(content)
			bad[heads[i+1].offset-3] ^= 0x55 // at the end of the page
			got, _, err := readTrim(t, bad)
			switch {
			case err != nil:
				loud++
			case !slices.Equal(got, want):
				t.Errorf("%s: page %d is damaged, and other samples were read", name, i)
			default:
				quiet++
			}
		}
		if quiet < 6 || loud < 6 {
			t.Errorf("%s: of %d pages the damage of %d does not matter and that of %d does", name, len(heads)-1, quiet, loud)
		}
	}
}
