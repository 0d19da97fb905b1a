package table_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// TestDamagedShapes: bytes that are changed, cut off or cut out of lists, long
// files and other dialects give an error of the package or a table that holds
// together, and never a crash.
func TestDamagedShapes(t *testing.T) {
	v := 1.5
	var lists bytes.Buffer
	rows := make([]listRow, 60)
	for i := range rows {
		rows[i] = listRow{float64(i), []*float64{&v, nil, &v}, []float64{1, 2}, []int32{int32(i)}, []string{"UP", "DN"}}
	}
	if err := parquet.Write(&lists, rows, parquet.PageBufferSize(100), parquet.DataPageVersion(1)); err != nil {
		t.Fatal(err)
	}
	text := longText(longRows, "# key: value\nTIME;NAME;VALUE;UNIT\ns;;(kt);\n", "T;N;V;U\n")
	seeds := map[string][]byte{
		"lists": lists.Bytes(), "long Parquet": longParquet(t, longRows), "long Arrow": longArrow(t, longRows, 3),
		"text": text, "UTF-16": []byte(asUTF16(string(text), binary.LittleEndian)), "gzip": asGzip(t, text),
	}
	r := rand.New(rand.NewPCG(3, 4))
	for name, seed := range seeds {
		for range 100 {
			b := bytes.Clone(seed)
			switch at := r.IntN(len(b)); r.IntN(4) {
			case 0:
				b = b[:at]
			case 1:
				b = append(b[:at], b[min(len(b), at+1+r.IntN(20)):]...)
			default:
				for range 1 + r.IntN(3) {
					b[r.IntN(len(b))] ^= byte(1 << r.IntN(8))
				}
			}
			damaged(t, name, b)
		}
	}
}

// damaged reads a file in every way.
func damaged(t *testing.T, name string, b []byte) {
	t.Helper()
	told := func(err error) {
		var e *table.Error
		if err != nil && !errors.As(err, &e) {
			t.Fatalf("%s: %v is no *table.Error\n%q", name, err, b)
		}
	}
	f, err := table.Open(put(t, b), table.Options{Names: []string{"TIME"}, IsUnit: isUnit, Limits: table.Limits{Decompressed: 16 << 20, PageBytes: 4 << 20}})
	if told(err); err != nil {
		return
	}
	defer f.Close()
	for as := table.Number; as <= table.Whole; as++ {
		var wants []table.Want
		for i := range f.Columns() {
			wants = append(wants, table.Want{Column: i, As: as})
		}
		d, err := f.Read(wants)
		told(err)
		if err != nil {
			continue
		}
		for i := range d.Columns {
			c := &d.Columns[i]
			if c.Rows != nil && len(c.Rows) != c.Len() || c.Slots != nil && len(c.Slots) != c.Len() || c.Rows == nil && int64(c.Len()) != d.Rows {
				t.Fatalf("%s: %d samples, %d rows of %d, %d slots", name, c.Len(), len(c.Rows), d.Rows, len(c.Slots))
			}
			for k, s := range c.Slots {
				if s.Index >= s.Of || k > 0 && c.Rows[k] < c.Rows[k-1] {
					t.Fatalf("%s: slot %v of row %d", name, s, c.Rows[k])
				}
			}
		}
	}
	if n := len(f.Columns()); n > 3 {
		_, err := f.ReadLong(table.LongWant{Time: 0, TimeAs: table.Timestamp, Name: 1, Value: 2, Unit: 3, Names: []table.LongName{{Name: "GS"}, {Name: "LEVER", As: table.State}}})
		told(err)
	}
}
