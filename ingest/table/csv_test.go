package table_test

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/ingest/table"
)

// write puts a file into a folder of the test.
func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// read opens the file and reads every column as one thing.
func read(t testing.TB, path string, opt table.Options, as table.As) (*table.Data, error) {
	t.Helper()
	f, err := table.Open(path, opt)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var wants []table.Want
	for i := range f.Columns() {
		wants = append(wants, table.Want{Column: i, As: as})
	}
	return f.Read(wants)
}

// show writes the data as a person would: a line per column, blanks where a
// row has no sample.
func show(d *table.Data) string {
	var b strings.Builder
	for i := range d.Columns {
		c := &d.Columns[i]
		cells := make([]string, d.Rows)
		for j := range c.Len() {
			var s string
			switch {
			case c.Numbers != nil:
				s = trimFloat(c.Numbers[j])
			case c.States != nil:
				if s = "!"; c.States[j] >= 0 {
					s = c.Words[c.States[j]]
				}
			default:
				s = trimInt(c.Clock[j])
			}
			cells[c.Row(j)] = s
		}
		b.WriteString(strings.Join(cells, "|") + "\n")
	}
	for _, n := range d.Notes {
		b.WriteString("note " + trimInt(n.Row) + " " + n.Column + ": " + n.Text + "\n")
	}
	return b.String()
}

var sameNaN = cmp.Options{cmpopts.EquateNaNs(), cmpopts.IgnoreUnexported(table.Data{})}

// RFC 4180 section 2, and what is really exported (check-values 11.1).
func TestCSVText(t *testing.T) {
	tests := map[string]struct {
		text string
		as   table.As
		opt  []string
		want string
	}{
		"CR LF":                   {text: "a,b\r\n1,2\r\n3,4\r\n", want: "1|3\n2|4\n"},
		"LF":                      {text: "a,b\n1,2\n3,4\n", want: "1|3\n2|4\n"},
		"mixed line ends":         {text: "a,b\r\n1,2\n3,4\r\n", want: "1|3\n2|4\n"},
		"byte order mark":         {text: "\xef\xbb\xbfa,b\n1,2\n", want: "1\n2\n"},
		"no row":                  {text: "a,b\n", want: "\n\n"},
		"quoted cells":            {text: "a,b\n\"1\",\"2\"\r\n3,\"4.5\"\n", want: "1|3\n2|4.5\n"},
		"quoted header":           {text: "\"a,x\",\"b\nc\"\n1,2\n", want: "1\n2\n"},
		"doubled quote":           {text: "a,b\n\"b\"\"x\",\"c,d\"\n", as: table.State, want: "b\"x\nc,d\n"},
		"CR LF kept inside":       {text: "a,b\n1,\"c\r\nd\"\n", as: table.State, want: "1\nc\r\nd\n"},
		"spaces around a number":  {text: "a,b\n 1 ,\t2\n", want: "1\n2\n"},
		"spaces around a word":    {text: "a,b\n UP ,DN\n", as: table.State, want: "UP\nDN\n"},
		"quoted spaces are kept":  {text: "a,b\n\" UP\",DN\n", as: table.State, want: " UP\nDN\n"},
		"blank cells":             {text: "a,b,c\n,,\n1,,\n,,3\n", want: "|1|\n||\n||3\n"},
		"blank last cell, CR LF":  {text: "a,b\r\n1,\r\n,\r\n", want: "1|\n|\n"},
		"NaN is no sample":        {text: "a,b\nNaN,nan\n1,NAN\n", want: "|1\n|\n"},
		"named texts":             {text: "a,b\n-,***\n1,n/a\n", opt: []string{"-", "***", "n/a"}, want: "|1\n|\n"},
		"named value":             {text: "a,b\n-9999,-9999.0\n1,2\n", opt: []string{"-9999"}, want: "|1\n|2\n"},
		"named value as state":    {text: "a,b\n-9999,-9999.0\n1,2\n", opt: []string{"-9999"}, as: table.State, want: "|1\n|2\n"},
		"named value as seconds":  {text: "a,b\n-1,-1.0\n1,2\n", opt: []string{"-1"}, as: table.Seconds, want: "|1000000000\n|2000000000\n"},
		"text in a number":        {text: "a,b\n23#25,1\n2,x\n", want: "NaN|2\n1|NaN\n"},
		"states written one way":  {text: "a,b\n1,1.0\n01,1.\n", as: table.State, want: "1|01\n1|1\n"},
		"one column, blank row":   {text: "a\n1\n\n2\n", want: "1||2\n"},
		"last comma makes a cell": {text: "a,b,\n1,2,\n", want: "1\n2\n\n"},
		"lone CR in a cell":       {text: "a,b\n1\r,2\n", want: "NaN\n2\n"},
		"hash is data":            {text: "a,b\n#1,2\n", as: table.State, want: "#1\n2\n"},
		"wide characters":         {text: "a,b\nä,€\n", as: table.State, want: "ä\n€\n"},
		"no UTF-8":                {text: "a,b\n\xff,1\n", as: table.State, want: "ÿ\n1\nnote 0 : the text is not UTF-8; it was taken as Latin-1 (ISO 8859-1)\n"},
		"blank lines": {
			text: "a,b\n1,2\n\n\r\n3,4\n\n", want: "1|3\n2|4\nnote 3 : 3 blank lines were skipped, this one first\n",
		},
		"blank lines before the header": {text: "\n\r\na,b\n1,2\n", want: "1\n2\n"},
		"no last line end": {
			text: "a,b\n1,2\n3,4", want: "1|3\n2|4\nnote 3 : the last line has no line end: the file may be cut off, and its last value too\n",
		},
		"no last line end after a quote": {
			text: "a,b\n1,2\n3,\"4\n5\"", as: table.State, want: "1|3\n2|4\n5\nnote 3 : the last line has no line end: the file may be cut off, and its last value too\n",
		},
		"cut last line": {
			text: "a,b\n1,2\n3", want: "1\n2\nnote 3 : the last line has no line end and has 1 columns, the header 2: the file seems cut off, the row was dropped\n",
		},
		"cut inside a quote": {
			text: "a,b\n1,2\n3,\"4", want: "1\n2\nnote 3 : the last line has no line end and ends inside a quoted cell: the file seems cut off, the row was dropped\n",
		},
		"header only, no line end": {text: "a,b", want: "\n\nnote 1 : the header line has no line end: the file seems cut off\n"},
		"same name twice":          {text: "a,a\n1,2\n", want: "1\n2\nnote 1 a: columns 1 and 2 have the same name\n"},
		"seconds exactly":          {text: "a,b\n0.1,1718870400.123456789\n-0.5,1e3\n", as: table.Seconds, want: "100000000|-500000000\n1718870400123456789|1000000000000\n"},
		"seconds, ten decimals":    {text: "a,b\n0.0000000005,0.00000000049\n", as: table.Seconds, want: "1\n0\n"},
		"leap second": {
			text: "a,b\n1990-12-31T23:59:60Z,1\n", as: table.Timestamp,
			want: "662688000000000000\n\nnote 2 a: a leap second (second 60) counts as the first second of the next day\n",
		},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			d, err := read(t, write(t, "r.csv", tc.text), table.Options{NoSample: tc.opt}, tc.as)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tc.want, show(d)); diff != "" {
				t.Errorf("read %q (-want +got):\n%s", tc.text, diff)
			}
		})
	}
}

// Every message names the place, the cause and the remedy.
func TestCSVErrors(t *testing.T) {
	tests := map[string]struct{ text, want string }{
		"empty":                {"", ": the file is empty; transfer or export the file again"},
		"blank":                {"\n\n", ": line 3: the file holds no header line; the first line must name the columns"},
		"row too short":        {"a,b\n1,2\n1\n3,4\n", ": line 3: the row has 1 columns, the header has 2; the file is damaged or was exported wrongly; transfer or export the file again"},
		"row too long":         {"a,b\n1,2\n1,2,3\n3,4\n", ": line 3: the row has 3 columns, the header has 2; "},
		"short then long":      {"a,b,c\n1,2\n1,2,3,4\n", ": line 2: the row has 2 columns, the header has 3; "},
		"CR only":              {"a,b\r1,2\r3,4\r", ": line 1: the lines end in CR only (no LF); convert the line ends to LF or CR LF"},
		"CR only but one LF":   {"a,b\r1,2\r3,4\n", ": line 1: a CR without LF in the header"},
		"UTF-16 cut":           {"\xff\xfea\x00,\x00b\x00\n\x00\x31", ": before byte 11: the data end too early: the file is cut off; transfer or export the file again"},
		"UTF-16 without mark":  {"a\x00,\x00b\x00\n\x00", ": byte 1: the text is UTF-16 without the mark that says so; save the file as UTF-8 text"},
		"NUL in a row":         {"a,b\n1,2\n3,\x004\n", ": line 3: NUL bytes: the file is damaged or is no text; "},
		"NUL in the header":    {"a,b\x00\n1,2\n", ": line 1: NUL bytes"},
		"NUL in the last line": {"a,b\n1,2\n3,\x00", ": line 3: NUL bytes"},
		"bars":                 {"a|b\n1|2\n", `: line 1: the header has no comma, semicolon or tab, but "|": the cells are separated by what cannot be read; export the file with commas`},
		"text after a quote":   {"a,b\n\"b\"c,d\n", ": line 2: text after the closing quote of a cell; double the quotes inside a quoted cell"},
		"quote inside":         {"a,b\n1,2\na,b\"c\n", ": line 3: a quote inside a cell that does not start with one; "},
		"space before a quote": {"a,b\na, \"b\"\n", ": line 2: a quote inside a cell"},
		"quote never closed":   {"a,b\n\"a,b\n1,2\n", ": line 2: a quoted cell starts here and never ends; "},
		"ZIP":                  {"PK\x03\x04 and so on", ": this is a ZIP archive or an office document, no recording; unpack it, or export it as CSV"},
		"picture":              {"\x89PNG\r\n\x1a\n\x00\x00", ": this is a PNG picture, no recording; "},
		"gzip cut":             {"\x1f\x8b\x08", ": before byte 3: the data end too early: the file is cut off; transfer or export the file again"},
		"bad gzip":             {"\x1f\x8b\x07\x00\x00\x00\x00\x00\x00\x00", ": before byte 10: gzip: "},
		"bad zstd":             {"\x28\xb5\x2f\xfd\xff\xff\xff\xff\xff", ": "},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			path := write(t, "r.csv", tc.text)
			_, err := read(t, path, table.Options{}, table.Number)
			var e *table.Error
			if !errors.As(err, &e) {
				t.Fatalf("error is %v, want a *table.Error", err)
			}
			if !strings.HasPrefix(err.Error(), path+tc.want) {
				t.Errorf("error is\n%s, want\n%s", err, path+tc.want)
			}
		})
	}
}

// Rows in messages are lines, whatever lies between them.
func TestLines(t *testing.T) {
	text := "a,b\n1,\"x\ny\"\n\n2,y\nbad,\"q\"\n"
	f, err := table.Open(write(t, "r.csv", text), table.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	d, err := f.Read([]table.Want{{Column: 0}})
	if err != nil {
		t.Fatal(err)
	}
	var got []int64
	for row := range d.Rows {
		got = append(got, d.Line(row))
	}
	if diff := cmp.Diff([]int64{2, 5, 6}, got); diff != "" {
		t.Errorf("lines (-want +got):\n%s", diff)
	}
	want := []table.BadCell{{Row: 6, Text: "bad"}}
	if diff := cmp.Diff(want, d.Columns[0].BadFirst); diff != "" || d.Columns[0].Bad != 1 {
		t.Errorf("%d bad cells (-want +got):\n%s", d.Columns[0].Bad, diff)
	}
}

// A file is read as often as it is asked for, and its digest is that of its
// bytes before and after.
func TestReadAgain(t *testing.T) {
	text := "a,b\n1,2\n,4\n"
	path := write(t, "r.csv", text)
	f, err := table.Open(path, table.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	wants := []table.Want{{Column: 1}, {Column: 0, As: table.Seconds}, {Column: 1, As: table.State}}
	first, err := f.Read(wants)
	if err != nil {
		t.Fatal(err)
	}
	again, err := f.Read(wants)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first, again, sameNaN); diff != "" {
		t.Errorf("second read differs:\n%s", diff)
	}
	want := []table.ColumnData{
		{Numbers: []float64{2, 4}},
		{Rows: []int32{0}, Clock: []int64{1e9}},
		{States: []int32{0, 1}, Words: []string{"2", "4"}},
	}
	if diff := cmp.Diff(want, first.Columns); diff != "" {
		t.Errorf("columns (-want +got):\n%s", diff)
	}
	hex, n, err := f.Digest()
	hex2, n2, err2 := table.Digest(path)
	if err != nil || err2 != nil || hex != hex2 || n != n2 || n != int64(len(text)) || len(hex) != 64 {
		t.Errorf("digest %s of %d bytes (%v), and by itself %s of %d (%v)", hex, n, err, hex2, n2, err2)
	}
}

// A limit that is reached is an error with its number, or makes cells bad.
func TestLimits(t *testing.T) {
	tests := map[string]struct {
		limits     table.Limits
		as         table.As
		text, want string
	}{
		"columns": {table.Limits{Columns: 2}, table.Number, "a,b,c\n", ": line 1: the header has 3 columns, the limit is 2; raise the limit"},
		"rows":    {table.Limits{Rows: 2}, table.Number, "a,b\n1,2\n1,2\n1,2\n", ": more than 2 rows; raise the limit"},
		"samples": {table.Limits{Samples: 3}, table.Number, "a,b\n1,2\n1,2\n", ": the wanted columns have more than 3 samples; raise the limit"},
		"line":    {table.Limits{LineBytes: 1}, table.Number, "a,b\n1,\"" + strings.Repeat("x", 600_000) + "\"\n", ": line 2: a line or quoted cell is longer than 524288 bytes"},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			path := write(t, "r.csv", tc.text)
			_, err := read(t, path, table.Options{Limits: tc.limits}, tc.as)
			if err == nil || !strings.HasPrefix(err.Error(), path+tc.want) {
				t.Errorf("error is %v, want %s", err, path+tc.want)
			}
		})
	}
	d, err := read(t, write(t, "w.csv", "a\nA\nB\nC\nA\nlong text\n"), table.Options{Limits: table.Limits{Words: 2, CellBytes: 5}}, table.State)
	if err != nil {
		t.Fatal(err)
	}
	if got := show(d); got != "A|B|!|A|!\n" || d.Columns[0].Bad != 2 {
		t.Errorf("words past the limit: %s, %d bad", got, d.Columns[0].Bad)
	}
}

// A quoted cell may lie across the edge of the buffer, and so may a row.
func TestAcrossBlocks(t *testing.T) {
	var b strings.Builder
	b.WriteString("a,b,c\n")
	for i := range 60_000 {
		switch {
		case i%9973 == 17:
			b.WriteString("1,\"x\n,\"\"y\",2\n")
		default:
			b.WriteString("1.25,,-3\r\n")
		}
	}
	d, err := read(t, write(t, "r.csv", b.String()), table.Options{}, table.Number)
	if err != nil {
		t.Fatal(err)
	}
	if d.Rows != 60_000 || len(d.Columns[0].Numbers) != 60_000 || d.Columns[1].Bad != 7 || d.Columns[0].Rows != nil {
		t.Errorf("%d rows, %d numbers, %d bad", d.Rows, len(d.Columns[0].Numbers), d.Columns[1].Bad)
	}
	sum := 0.0
	for _, v := range d.Columns[2].Numbers {
		sum += v
	}
	if want := -3.0*(60_000-7) + 2*7; math.Abs(sum-want) > 0 {
		t.Errorf("sum %v, want %v", sum, want)
	}
}
