package evidence

import (
	"bytes"
	"fmt"
	"os"
	"testing"

	"github.com/parquet-go/parquet-go"
)

// decoded is every cell, column name and piece of metadata of a Parquet file
// as text.
func decoded(t *testing.T, file string) []byte {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	p, err := parquet.OpenFile(f, info.Size())
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	fmt.Fprintln(&out, p.Schema(), p.Metadata().KeyValueMetadata, p.Metadata().CreatedBy)
	rows := make([]parquet.Row, 64)
	for _, g := range p.RowGroups() {
		r := g.Rows()
		for {
			n, err := r.ReadRows(rows)
			for _, row := range rows[:n] {
				for _, v := range row {
					fmt.Fprintln(&out, v)
				}
			}
			if err != nil {
				break
			}
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if p.NumRows() > 0 && out.Len() < 100 {
		t.Fatalf("%s: nothing was decoded", file)
	}
	return out.Bytes()
}
