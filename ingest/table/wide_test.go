package table_test

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"runtime/debug"
	"strconv"
	"testing"

	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// A recorder names some 2,000 parameters, of which a profile reads 20.
const (
	wideColumns = 2000
	wideWanted  = 20
	wideRows    = 400
)

func wideCSV(columns int) []byte {
	var b bytes.Buffer
	for c := range columns {
		fmt.Fprintf(&b, "P%04d,", c)
	}
	b.WriteString("TIME\n")
	for row := range wideRows {
		for c := range columns {
			b.WriteString(strconv.Itoa(row*c%1000) + ",")
		}
		b.WriteString(strconv.Itoa(row) + "\n")
	}
	return b.Bytes()
}

func wideParquet(t testing.TB, columns int) []byte {
	fields := make([]reflect.StructField, columns)
	for c := range fields {
		fields[c] = reflect.StructField{Name: fmt.Sprintf("C%04d", c), Type: reflect.TypeFor[float64](), Tag: reflect.StructTag(fmt.Sprintf(`parquet:"P%04d"`, c))}
	}
	typ := reflect.StructOf(fields)
	var out bytes.Buffer
	w := parquet.NewWriter(&out, parquet.SchemaOf(reflect.New(typ).Interface()))
	for row := range wideRows {
		r := reflect.New(typ)
		for c := range columns {
			r.Elem().Field(c).SetFloat(float64(row * c % 1000))
		}
		if err := w.Write(r.Interface()); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// readCost is what reading the wanted columns allocates, and keeps.
func readCost(t *testing.T, file []byte, columns int) (allocated, kept uint64) {
	t.Helper()
	path := put(t, file)
	read := func() *table.Data {
		f, err := table.Open(path, table.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		var wants []table.Want
		for i := range wideWanted {
			wants = append(wants, table.Want{Column: i * columns / wideWanted})
		}
		d, err := f.Read(wants)
		if err != nil || d.Rows != wideRows {
			t.Fatal(err, d)
		}
		return d
	}
	// What is made once does not count: the buffers that a reading leaves to the
	// next, unless a collection takes them, it runs on another processor, or the
	// race detector drops them now and then.
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	var base, before, after, end runtime.MemStats
	emptied := func(m *runtime.MemStats) {
		runtime.GC()
		runtime.GC() // the first leaves what pools hold
		runtime.ReadMemStats(m)
	}
	read()
	emptied(&base)
	var d *table.Data
	allocated = math.MaxUint64
	for range 8 {
		runtime.ReadMemStats(&before)
		d = read()
		runtime.ReadMemStats(&after)
		allocated = min(allocated, after.TotalAlloc-before.TotalAlloc)
	}
	emptied(&end)
	runtime.KeepAlive(d)
	return allocated, end.HeapAlloc - min(base.HeapAlloc, end.HeapAlloc)
}

// TestOnlyWhatIsWanted: the cells of 1,980 columns that nobody wants cost no
// memory. What grows with the columns is the header or footer alone, of some
// hundred bytes for a column of CSV and some thousand for one of Parquet.
func TestOnlyWhatIsWanted(t *testing.T) {
	const samples = wideWanted * wideRows * 8
	for name, c := range map[string]struct {
		file      func(columns int) []byte
		perColumn uint64
	}{
		"CSV": {wideCSV, 500}, "Parquet": {func(n int) []byte { return wideParquet(t, n) }, 4000},
	} {
		wide, narrow := c.file(wideColumns), c.file(wideWanted)
		all, kept := readCost(t, wide, wideColumns)
		few, _ := readCost(t, narrow, wideWanted)
		t.Logf("%s of %d bytes: %d bytes allocated, %d kept; of %d columns only: %d allocated; samples are %d", name, len(wide), all, kept, wideWanted, few, samples)
		if limit := few + (wideColumns-wideWanted)*c.perColumn; all > limit {
			t.Errorf("%s: reading allocates %d bytes, want at most %d", name, all, limit)
		}
		if kept > 8*samples {
			t.Errorf("%s: %d bytes are kept for samples of %d", name, kept, samples)
		}
	}
}
