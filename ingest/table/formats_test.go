package table_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"

	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// A cellRow is one row of the table that every container gets. Nil is a cell
// without a sample.
type cellRow struct {
	Time   float64  `parquet:"time"`
	Micros int64    `parquet:"micros,timestamp(microsecond)"`
	Speed  *float64 `parquet:"speed,optional"`
	Narrow *float32 `parquet:"narrow,optional"`
	Flap   *int32   `parquet:"flap,optional"`
	Weight *int64   `parquet:"weight,optional"`
	Ground *bool    `parquet:"ground,optional"`
	Lever  *string  `parquet:"lever,optional"`
	Detent string   `parquet:"detent,dict"`
	Trim   int64    `parquet:"trim,decimal(2:12)"`
}

var rowNames = []string{"time", "micros", "speed", "narrow", "flap", "weight", "ground", "lever", "detent", "trim"}

// rowWants reads every column in one of the ways that make sense.
var rowWants = []table.As{
	table.Seconds, table.Timestamp, table.Number, table.Number, table.State,
	table.Number, table.State, table.State, table.State, table.Number,
}

func some[T any](r *rand.Rand, v T) *T {
	if r.IntN(3) > 0 {
		return nil
	}
	return &v
}

// sampleRows is the same table every time.
func sampleRows(n int) []cellRow {
	r := rand.New(rand.NewPCG(7, 7))
	rows := make([]cellRow, n)
	for i := range rows {
		rows[i] = cellRow{
			Time:   float64(i) * 0.125,
			Micros: 1_718_870_400_000_000 + int64(i)*125_000,
			Speed:  some(r, math.Round(r.Float64()*3000)/10),
			Narrow: some(r, float32(r.IntN(4000))/8),
			Flap:   some(r, int32(r.IntN(4)*10)),
			Weight: some(r, int64(150_000+r.IntN(90_000))),
			Ground: some(r, r.IntN(2) == 0),
			Lever:  some(r, []string{"UP", "DN", "-"}[r.IntN(3)]),
			Detent: []string{"IN", "OUT"}[r.IntN(2)],
			Trim:   int64(r.IntN(2000) - 1000),
		}
	}
	return rows
}

func text[T any](p *T) string {
	if p == nil {
		return ""
	}
	if b, ok := any(*p).(bool); ok {
		return map[bool]string{true: "1", false: "0"}[b]
	}
	return fmt.Sprint(*p)
}

// asCSV writes the rows as text.
func asCSV(rows []cellRow) []byte {
	var b bytes.Buffer
	b.WriteString("time,micros,speed,narrow,flap,weight,ground,lever,detent,trim\n")
	for _, r := range rows {
		µ := r.Micros % 1_000_000
		day := r.Micros / 1_000_000
		fmt.Fprintf(&b, "%s,2024-06-20T%02d:%02d:%02d.%06dZ,%s,%s,%s,%s,%s,%s,%s,%s\n",
			strconv.FormatFloat(r.Time, 'f', -1, 64), day/3600%24, day/60%60, day%60, µ,
			text(r.Speed), text(r.Narrow), text(r.Flap), text(r.Weight), text(r.Ground), text(r.Lever),
			r.Detent, strconv.FormatFloat(float64(r.Trim)/100, 'f', -1, 64))
	}
	return b.Bytes()
}

func asGzip(t testing.TB, b []byte) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	z.Write(b)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func asZstd(t testing.TB, b []byte) []byte {
	var out bytes.Buffer
	z, err := zstd.NewWriter(&out)
	if err != nil {
		t.Fatal(err)
	}
	z.Write(b)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func asParquet(t testing.TB, rows []cellRow, opt ...parquet.WriterOption) []byte {
	var out bytes.Buffer
	if err := parquet.Write(&out, rows, opt...); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// containers are the same rows in every container.
func containers(t testing.TB, rows []cellRow) map[string][]byte {
	text := asCSV(rows)
	stream, file := asArrow(t, rows, false), asArrow(t, rows, true)
	return map[string][]byte{
		"Arrow IPC stream":         stream,
		"Arrow IPC stream, zstd":   asArrow(t, rows, false, ipc.WithZstd()),
		"Arrow IPC stream, lz4":    asArrow(t, rows, false, ipc.WithLZ4()),
		"Arrow IPC stream gzip":    asGzip(t, stream),
		"Arrow IPC stream zstd":    asZstd(t, stream),
		"Arrow IPC file":           file,
		"Arrow IPC file, zstd":     asArrow(t, rows, true, ipc.WithZstd()),
		"Arrow IPC file gzip":      asGzip(t, file),
		"CSV":                      text,
		"CSV gzip":                 asGzip(t, text),
		"CSV zstd":                 asZstd(t, text),
		"Parquet plain":            asParquet(t, rows),
		"Parquet snappy":           asParquet(t, rows, parquet.Compression(&parquet.Snappy)),
		"Parquet zstd":             asParquet(t, rows, parquet.Compression(&parquet.Zstd)),
		"Parquet gzip":             asParquet(t, rows, parquet.Compression(&parquet.Gzip)),
		"Parquet small pages":      asParquet(t, rows, parquet.PageBufferSize(512), parquet.Compression(&parquet.Snappy)),
		"Parquet tiny pages":       asParquet(t, rows, parquet.PageBufferSize(64), parquet.Compression(&parquet.Zstd)),
		"Parquet tiny old pages":   asParquet(t, rows, parquet.PageBufferSize(64), parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy)),
		"Parquet row groups":       asParquet(t, rows, parquet.MaxRowsPerRowGroup(100), parquet.Compression(&parquet.Snappy)),
		"Parquet old pages":        asParquet(t, rows, parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy)),
		"Parquet old pages, zstd":  asParquet(t, rows, parquet.DataPageVersion(1), parquet.Compression(&parquet.Zstd)),
		"Parquet with statistics":  asParquet(t, rows, parquet.DataPageStatistics(true)),
		"Parquet with a key-value": asParquet(t, rows, parquet.KeyValueMetadata("k", "v")),
	}
}

// readRows reads the columns by name, since Parquet may order them.
func readRows(t testing.TB, path string) (*table.Data, *table.File, error) {
	t.Helper()
	return siftRows(t, path, nil)
}

// siftRows is readRows under a gate; the sift counts the wants as rowNames does.
func siftRows(t testing.TB, path string, sift *table.Sift) (*table.Data, *table.File, error) {
	t.Helper()
	f, err := table.Open(path, table.Options{NoSample: []string{"-"}})
	if err != nil {
		return nil, nil, err
	}
	t.Cleanup(func() { f.Close() })
	var wants []table.Want
	for i, name := range rowNames {
		for k, c := range f.Columns() {
			if c.Name == name {
				wants = append(wants, table.Want{Column: k, As: rowWants[i]})
			}
		}
	}
	if len(wants) != len(rowNames) {
		return nil, f, fmt.Errorf("%d of %d columns found", len(wants), len(rowNames))
	}
	d, err := f.ReadSifted(wants, sift)
	return d, f, err
}

func put(t testing.TB, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "recording")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// The same table gives the same data, whatever container it comes in.
func TestContainersAgree(t *testing.T) {
	rows := sampleRows(1000)
	all := containers(t, rows)
	want, _, err := readRows(t, put(t, all["CSV"]))
	if err != nil {
		t.Fatal(err)
	}
	if n := want.Columns[2].Len(); n < 200 || n > 500 {
		t.Fatalf("speed has %d samples", n)
	}
	for name, b := range all {
		t.Run(name, func(t *testing.T) {
			path := put(t, b)
			got, f, err := readRows(t, path)
			if err != nil {
				t.Fatal(err)
			}
			if len(f.Format()) > len(name) || name[:len(f.Format())] != f.Format() {
				t.Errorf("format is %q", f.Format())
			}
			if diff := cmp.Diff(want, got, sameNaN); diff != "" {
				t.Errorf("data (-CSV +%s):\n%s", name, diff)
			}
			hex, n, err := f.Digest()
			hex2, n2, err2 := table.Digest(path)
			if hex != hex2 || n != n2 || n != int64(len(b)) || err != nil || err2 != nil {
				t.Errorf("digest %s of %d bytes (%v), by itself %s of %d (%v)", hex, n, err, hex2, n2, err2)
			}
		})
	}
}

// What the CSV reading of the rows must be, said once without a reader.
func TestContainersValues(t *testing.T) {
	rows := sampleRows(50)
	d, _, err := readRows(t, put(t, asCSV(rows)))
	if err != nil {
		t.Fatal(err)
	}
	k := 0
	for i, r := range rows {
		if d.Columns[0].Clock[i] != int64(r.Time*1e9) || d.Columns[1].Clock[i] != r.Micros*1000 {
			t.Errorf("row %d: clock %d, %d", i, d.Columns[0].Clock[i], d.Columns[1].Clock[i])
		}
		if r.Speed == nil {
			continue
		}
		if c := d.Columns[2]; c.Row(k) != i || c.Numbers[k] != *r.Speed {
			t.Errorf("row %d: speed %v of row %d, want %v", i, c.Numbers[k], c.Row(k), *r.Speed)
		}
		k++
	}
}

// allocated is how much memory was asked for since the start.
func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

// Damage anywhere gives an error, a note or a wrong value, never a panic.
func TestDamage(t *testing.T) {
	for name, whole := range containers(t, sampleRows(300)) {
		t.Run(name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(3, 4))
			path := put(t, whole)
			for i := range 200 {
				b := bytes.Clone(whole)
				switch at := r.IntN(len(b)); i % 5 {
				case 0:
					b = b[:at]
				case 1:
					b[at] ^= 1 << r.IntN(8)
				case 2:
					// The end of a binary file is where its description lies.
					b[len(b)-1-r.IntN(min(len(b), 1500))] ^= byte(1 + r.IntN(255))
				case 3:
					// The start of an Arrow file is its schema. This asked the library
					// for more memory than there is.
					b[r.IntN(min(len(b), 1200))] ^= byte(1 + r.IntN(255))
				default:
					clear(b[at:min(at+64, len(b))])
				}
				if err := os.WriteFile(path, b, 0o600); err != nil {
					t.Fatal(err)
				}
				before := allocated()
				if d, _, err := readRows(t, path); err == nil && d.Rows > 400 {
					t.Errorf("case %d: %d rows out of 300", i, d.Rows)
				}
				if n := allocated() - before; n > 64<<20 {
					t.Errorf("case %d: %d MiB of memory", i, n>>20)
				}
			}
		})
	}
}

// FuzzOpen: no bytes make the package panic or ask for much memory.
func FuzzOpen(f *testing.F) {
	for _, b := range containers(f, sampleRows(20)) {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		before := allocated()
		defer func() {
			if n := allocated() - before; n > 256<<20 {
				t.Errorf("%d MiB of memory", n>>20)
			}
		}()
		file, err := table.Open(put(t, b), table.Options{Limits: table.Limits{
			LineBytes: 1 << 20, Rows: 1 << 16, Samples: 1 << 18, Decompressed: 16 << 20, PageBytes: 4 << 20,
		}})
		if err != nil {
			return
		}
		defer file.Close()
		for as := table.Number; as <= table.Whole; as++ {
			var wants []table.Want
			for i := range min(len(file.Columns()), 20) {
				wants = append(wants, table.Want{Column: i, As: as})
			}
			if d, err := file.Read(wants); err == nil && len(d.Columns) != len(wants) {
				t.Errorf("%d columns for %d wants", len(d.Columns), len(wants))
			}
		}
	})
}
