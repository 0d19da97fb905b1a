package table_test

import (
	"bytes"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/table"
)

// A longRow is one sample of one parameter.
type longRow struct {
	Value string  `parquet:"VALUE"`
	Name  string  `parquet:"NAME,dict"`
	Unit  *string `parquet:"UNIT,optional"`
	Time  int64   `parquet:"TIME,timestamp(microsecond)"`
}

var kt = "kt"

// longRows: two names that are wanted, one that is not, a blank and a bad
// value.
var longRows = []longRow{
	{"1.5", "GS", &kt, 0},
	{"UP", "LEVER", nil, 0},
	{"9", "SPARE", nil, 0},
	{"2", "GS", &kt, 1_000_000},
	{"", "GS", &kt, 2_000_000},
	{"x", "GS", nil, 3_000_000},
	{"DN", "LEVER", nil, 3_500_000},
	{"4", "GS", &kt, 4_000_000},
}

const longWant = "GS 0@0:1.5kt 3@1:2kt 5@3:NaN 7@4:4kt\nLEVER 1@0:UP 6@3.5:DN\n"

func longText(rows []longRow, header, line string) []byte {
	var b bytes.Buffer
	b.WriteString(header)
	for _, r := range rows {
		at := fmt.Sprintf("1970-01-01T00:00:%02d.%06dZ", r.Time/1_000_000, r.Time%1_000_000)
		b.WriteString(strings.NewReplacer("T", at, "N", r.Name, "V", r.Value, "U", text(r.Unit)).Replace(line))
	}
	return b.Bytes()
}

func longArrow(t testing.TB, rows []longRow, batch int) []byte {
	schema := arrow.NewSchema([]arrow.Field{
		{Name: "NAME", Type: &arrow.DictionaryType{IndexType: arrow.PrimitiveTypes.Int16, ValueType: arrow.BinaryTypes.String}},
		{Name: "VALUE", Type: arrow.BinaryTypes.String},
		{Name: "UNIT", Type: arrow.BinaryTypes.String, Nullable: true},
		{Name: "TIME", Type: &arrow.TimestampType{Unit: arrow.Microsecond, TimeZone: "UTC"}},
	}, nil)
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	// All batches share one dictionary, as the stream demands.
	names := []string{}
	for _, r := range rows {
		if !slices.Contains(names, r.Name) {
			names = append(names, r.Name)
		}
	}
	values := array.NewStringBuilder(memory.NewGoAllocator())
	values.AppendValues(names, nil)
	if err := b.Field(0).(*array.BinaryDictionaryBuilder).InsertStringDictValues(values.NewStringArray()); err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if err := b.Field(0).(*array.BinaryDictionaryBuilder).AppendString(r.Name); err != nil {
			t.Fatal(err)
		}
		b.Field(1).(*array.StringBuilder).Append(r.Value)
		orNull(b.Field(2), r.Unit, b.Field(2).(*array.StringBuilder).Append)
		b.Field(3).(*array.TimestampBuilder).Append(arrow.Timestamp(r.Time))
	}
	rec := b.NewRecord()
	var batches []arrow.Record
	for from := 0; from < len(rows); from += batch {
		batches = append(batches, rec.NewSlice(int64(from), int64(min(from+batch, len(rows)))))
	}
	return writeArrow(t, schema, batches, false)
}

func longParquet(t testing.TB, rows []longRow, opt ...parquet.WriterOption) []byte {
	var out bytes.Buffer
	if err := parquet.Write(&out, rows, opt...); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// readLong reads GS as numbers and LEVER as states.
func readLong(t testing.TB, path string, as table.As) (*table.Data, error) {
	t.Helper()
	f, err := table.Open(path, table.Options{Names: []string{"TIME"}})
	if err != nil {
		return nil, err
	}
	defer f.Close()
	at := func(name string) int {
		return slices.IndexFunc(f.Columns(), func(c table.Column) bool { return c.Name == name })
	}
	return f.ReadLong(table.LongWant{
		Time: at("TIME"), TimeAs: as, Name: at("NAME"), Value: at("VALUE"), Unit: at("UNIT"),
		Names: []table.LongName{{Name: "GS"}, {Name: "LEVER", As: table.State}, {Name: "MISSING"}},
	})
}

func showLong(d *table.Data) string {
	var b strings.Builder
	for k, name := range []string{"GS", "LEVER"} {
		v, at, u := &d.Columns[3*k], &d.Columns[3*k+1], &d.Columns[3*k+2]
		b.WriteString(name)
		units := map[int]string{}
		for i := range u.Len() {
			units[u.Row(i)] = u.Words[u.States[i]]
		}
		for i := range v.Len() {
			var s string
			if v.Numbers != nil {
				s = trimFloat(v.Numbers[i])
			} else {
				s = v.Words[v.States[i]]
			}
			fmt.Fprintf(&b, " %d@%s:%s%s", v.Row(i), trimFloat(float64(at.Clock[i])/1e9), s, units[v.Row(i)])
		}
		b.WriteString("\n")
	}
	return b.String()
}

// A long file gives the same in every container.
func TestLong(t *testing.T) {
	for name, file := range map[string][]byte{
		"CSV":                longText(longRows, "TIME,NAME,VALUE,UNIT\n", "T,N,V,U\n"),
		"CSV, value first":   longText(longRows, "VALUE;UNIT;NAME;TIME\r\n", "V;U;N;T\r\n"),
		"CSV, quoted":        longText(longRows, "\"NAME\",\"VALUE\",\"UNIT\",\"TIME\",\"X\"\n", "\"N\",\"V\",\"U\",\"T\",\"\"\n"),
		"CSV zstd":           asZstd(t, longText(longRows, "TIME,NAME,VALUE,UNIT\n", "T,N,V,U\n")),
		"Parquet":            longParquet(t, longRows),
		"Parquet, pages":     longParquet(t, longRows, parquet.PageBufferSize(16)),
		"Parquet, groups":    longParquet(t, longRows, parquet.MaxRowsPerRowGroup(3)),
		"Arrow":              longArrow(t, longRows, 100),
		"Arrow, two batches": longArrow(t, longRows, 5),
	} {
		t.Run(name, func(t *testing.T) {
			d, err := readLong(t, put(t, file), table.Timestamp)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(longWant, showLong(d)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if d.Rows != 8 || d.Columns[0].Bad != 1 || d.Columns[6].Len() != 0 || len(d.Notes) != 0 {
				t.Errorf("%d rows, %d bad, %d samples of what is missing, notes %v", d.Rows, d.Columns[0].Bad, d.Columns[6].Len(), d.Notes)
			}
		})
	}
}

// What is wrong with a long file is told as with any.
func TestLongRefused(t *testing.T) {
	for name, tc := range map[string]struct{ text, want string }{
		"row too short": {"TIME,NAME,VALUE,UNIT\n0,GS,1,\n1,GS,2\n", ": line 3: the row has 3 columns, the header has 4; "},
		"NUL":           {"TIME,NAME,VALUE,UNIT\n0,G\x00S,1,\n", ": line 2: NUL bytes"},
	} {
		path := write(t, "r.csv", tc.text)
		if _, err := readLong(t, path, table.Seconds); err == nil || !strings.HasPrefix(err.Error(), path+tc.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	path := put(t, longParquet(t, longRows))
	if _, err := readLong(t, path, table.ClockTime); err != nil {
		t.Errorf("times of day of timestamps: %v", err)
	}
	d, err := readLong(t, write(t, "r.csv", "TIME,NAME,VALUE,UNIT\n0,GS,1,kt\n1,GS,2"), table.Seconds)
	if err != nil || len(d.Notes) != 1 || d.Columns[0].Len() != 1 {
		t.Errorf("a cut line: %v, %v", d, err)
	}
}

// Memory grows with the names that are wanted, not with the file.
func TestLongMemory(t *testing.T) {
	rows := make([]longRow, 300_000)
	for i := range rows {
		rows[i] = longRow{Value: "1.25", Name: fmt.Sprintf("P%d", i%300), Time: int64(i) * 10}
		if i%300 == 0 {
			rows[i].Name = "GS"
		}
	}
	for name, file := range map[string][]byte{
		"CSV": longText(rows, "TIME,NAME,VALUE,UNIT\n", "T,N,V,U\n"), "Parquet": longParquet(t, rows, parquet.MaxRowsPerRowGroup(30_000)), "Arrow": longArrow(t, rows, 30_000),
	} {
		path := put(t, file)
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		d, err := readLong(t, path, table.Timestamp)
		if err != nil {
			t.Fatal(err)
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
		kept := int64(after.HeapAlloc) - int64(before.HeapAlloc)
		if d.Columns[0].Len() != 1000 || kept > 2<<20 {
			t.Errorf("%s: %d samples, %d bytes kept", name, d.Columns[0].Len(), kept)
		}
		t.Logf("%s of %d bytes: %d bytes kept, %d allocated", name, len(file), kept, after.TotalAlloc-before.TotalAlloc)
		runtime.KeepAlive(d)
	}
}
