package table_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"rollonset/ingest/table"
)

// isUnit stands for the caller's knowledge of units.
func isUnit(s string) bool { return slices.Contains([]string{"kt", "deg", "°", "%", "s"}, s) }

// header writes what was found out about the header: names with their units
// and the metadata.
func header(f *table.File) string {
	var b strings.Builder
	for _, c := range f.Columns() {
		b.WriteString("<" + c.Name + ">" + c.Unit)
	}
	for _, k := range slices.Sorted(maps.Keys(f.Metadata())) {
		fmt.Fprintf(&b, " %s=%q", k, f.Metadata()[k])
	}
	return b.String()
}

func asUTF16(text string, order binary.AppendByteOrder) string {
	out := order.AppendUint16(nil, 0xfeff)
	for _, c := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, c)
	}
	return string(out)
}

// Every dialect gives the same table.
func TestDialects(t *testing.T) {
	const ab = "<a><b>"
	tests := map[string]struct {
		text   string
		opt    table.Options
		as     table.As
		header string
		want   string
	}{
		"semicolon":                  {text: "a;b\n1;2\n3;4.5\n", header: ab, want: "1|3\n2|4.5\n"},
		"semicolon, CR LF":           {text: "a;b\r\n1;\r\n;4.5\r\n", header: ab, want: "1|\n|4.5\n"},
		"semicolon, decimal comma":   {text: "a;b\n1,5;-2\n;,25\n-0,125;123456789,5\n", header: ab, want: "1.5||-0.125\n-2|0.25|1.234567895e+08\n"},
		"decimal comma as seconds":   {text: "a;b\n1,5;-2\n0,1234567891;0\n", as: table.Seconds, header: ab, want: "1500000000|123456789\n-2000000000|0\n"},
		"decimal comma as states":    {text: "a;b\n1,0;UP,DN\n1;1,50\n", as: table.State, header: ab, want: "1|1\nUP,DN|1.5\n"},
		"points between thousands":   {text: "a;b\n1,5;1.234,5\n2,5;1.5\n", opt: table.Options{Decimal: ','}, header: ab, want: "1.5|2.5\nNaN|NaN\n"},
		"comma where points are":     {text: "a;b\n1.5;1,5\n", header: ab, want: "1.5\nNaN\n"},
		"decimal comma with commas":  {text: "a,b\n\"1,5\",2\n", opt: table.Options{Decimal: ','}, header: ab, want: "1.5\n2\n"},
		"decimal comma in quotes":    {text: "a;b\n\"1,5\";\"2\"\n", header: ab, want: "1.5\n2\n"},
		"tab":                        {text: "a\tb\n1\t2\n\t4.5\n", header: ab, want: "1|\n2|4.5\n"},
		"tab, decimal comma":         {text: "a\tb\n1,5\t2\n", header: ab, want: "1.5\n2\n"},
		"tab, commas in words":       {text: "a\tb\nUP,x\tDN;y\n", as: table.State, header: ab, want: "UP,x\nDN;y\n"},
		"semicolon inside commas":    {text: "a,b;c\n1,2;3\n", as: table.State, header: "<a><b;c>", want: "1\n2;3\n"},
		"named delimiter":            {text: "a;x,b;y\n1;2,3;4\n", opt: table.Options{Delimiter: ';'}, as: table.State, header: "<a><x,b><y>", want: "1\n2.3\n4\n"},
		"byte order mark, semicolon": {text: "\xef\xbb\xbfa;b\n1;2\n", header: ab, want: "1\n2\n"},
		"UTF-16 little endian":       {text: asUTF16("a;b\r\n1;°\r\n", binary.LittleEndian), as: table.State, header: ab, want: "1\n°\n"},
		"UTF-16 big endian":          {text: asUTF16("a,b\n1,\U0001F6EB\n", binary.BigEndian), as: table.State, header: ab, want: "1\n\U0001F6EB\n"},
		"UTF-16 lone surrogates":     {text: "\xff\xfea\x00,\x00\x3d\xd8\n\x00" + "1\x00,\x00\x00\xdc\n\x00", as: table.State, header: "<a><\uFFFD>", want: "1\n\uFFFD\n"},
		"Latin-1": {
			text: "Z\xe4hler;b\n(\xb0);(kt)\nz\xfcr\xfcck;2\n", as: table.State, header: "<Zähler>°<b>kt",
			want: "zürück\n2\nnote 0 : the text is not UTF-8; it was taken as Latin-1 (ISO 8859-1)\n",
		},
		"UTF-8 with a damaged byte": {text: "Zähler,b\n\xff,2\n", as: table.State, header: "<Zähler><b>", want: "\uFFFD\n2\n"},
		"comment lines": {
			text: "# tail: ZZ-Q01\n# made = by hand\na,b\n1,2\n", header: ab + ` made="by hand" tail="ZZ-Q01"`,
			want: "1\n2\nnote 1 : 2 lines before the header were taken as metadata\n",
		},
		"key and value in cells": {
			text: "Tail;ZZ-Q01;\nDate:;2031-05-14;\n\nexported by nobody;;\na;b;c\n1;2,5;3\n", header: `<a><b><c> Date="2031-05-14" Tail="ZZ-Q01" line 4="exported by nobody"`,
			opt:  table.Options{Names: []string{"b"}},
			want: "1\n2.5\n3\nnote 1 : 4 lines before the header were taken as metadata\n",
		},
		"commas in free lines": {
			text: "made on Monday, at noon, in the rain\na;b\n1,5;2\n3;4\n", header: ab + ` line 1="made on Monday, at noon, in the rain"`,
			want: "1.5|3\n2|4\nnote 1 : 1 line before the header was taken as metadata\n",
		},
		"quotes in free lines": {
			text: "made by \"nobody\n\na,b\n1,2\n", opt: table.Options{Names: []string{"a"}}, header: ab + ` line 1="made by \"nobody"`,
			want: "1\n2\nnote 1 : 2 lines before the header were taken as metadata\n",
		},
		"header found by name": {
			text: "x,y,z\n1,2,3\nTIME,b\n1,2\n", opt: table.Options{Names: []string{"UTC", "TIME"}}, header: `<TIME><b> line 1="x y z" line 2="1 2 3"`,
			want: "1\n2\nnote 1 : 2 lines before the header were taken as metadata\n",
		},
		"units in brackets":   {text: "a,b,c\n[s],(kt),\n1,2,3\n", header: "<a>s<b>kt<c>", want: "1\n2\n3\n"},
		"units, CR LF":        {text: "a;b\r\ns;kt\r\n1;2,5\r\n", opt: table.Options{IsUnit: isUnit}, header: "<a>s<b>kt", want: "1\n2.5\n"},
		"units that are data": {text: "a,b\ns,kt\n1,2\n", as: table.State, header: ab, want: "s|1\nkt|2\n"},
		"numbers in brackets": {text: "a,b\n(1),(2)\n", as: table.State, header: ab, want: "(1)\n(2)\n"},
		"blank row, no units": {text: "a,b\n,\n1,2\n", header: ab, want: "|1\n|2\n"},
		"units and lines": {
			text: "#x: y\na,b\n(s),(%)\nbad,2\n", header: `<a>s<b>% x="y"`,
			want: "NaN\n2\nnote 1 : 1 line before the header was taken as metadata\n",
		},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			f, err := table.Open(write(t, "r.csv", tc.text), tc.opt)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			if diff := cmp.Diff(tc.header, header(f)); diff != "" {
				t.Errorf("header of %q (-want +got):\n%s", tc.text, diff)
			}
			var wants []table.Want
			for i := range f.Columns() {
				wants = append(wants, table.Want{Column: i, As: tc.as})
			}
			for range 2 { // a second pass finds the same
				d, err := f.Read(wants)
				if err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(tc.want, show(d)); diff != "" {
					t.Errorf("read %q (-want +got):\n%s", tc.text, diff)
				}
			}
		})
	}
}

// A row that is too long stays an error; it is not taken for the header.
func TestLongRowIsNoHeader(t *testing.T) {
	for _, text := range []string{"a,b\nUP,DN\nUP,DN,UP\n", "a,b\nUP,DN\nUP,DN,UP\nUP,DN\n", "a;b\n1;2\n1;2;3\n"} {
		if _, err := read(t, write(t, "r.csv", text), table.Options{}, table.State); err == nil || !strings.Contains(err.Error(), "line 3: the row has 3 columns, the header has 2") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// Lines in messages count what stands before the header.
func TestLinesBelowPreamble(t *testing.T) {
	f, err := table.Open(write(t, "r.csv", "# x\n\na,b\n(s),(kt)\n1,2\nx,3\n"), table.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	d, err := f.Read([]table.Want{{Column: 0}})
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Columns[0].BadFirst[0].Row; got != 6 || d.Line(0) != 5 {
		t.Errorf("bad cell in line %d, first row in line %d; want 6 and 5", got, d.Line(0))
	}
}

// The fast way gives with every delimiter and mark what it gives with commas
// and points, bit for bit.
func TestDelimitersAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var rows [][]string
	for range 5000 {
		row := make([]string, 5)
		for i := range row {
			switch r.IntN(4) {
			case 0:
			case 1:
				row[i] = randomDecimal(r)
			default:
				row[i] = strconv.FormatFloat(float64(r.IntN(2_000_000)-1_000_000)/math.Pow10(r.IntN(5)), 'f', -1, 64)
			}
		}
		rows = append(rows, row)
	}
	text := func(delimiter, mark, end string) []byte {
		var b bytes.Buffer
		b.WriteString(strings.Join([]string{"a", "b", "c", "d", "e"}, delimiter) + end)
		for _, row := range rows {
			b.WriteString(strings.ReplaceAll(strings.Join(row, "\x00"), ".", mark))
			b.WriteString(end)
		}
		return bytes.ReplaceAll(b.Bytes(), []byte{0}, []byte(delimiter))
	}
	for _, as := range []table.As{table.Number, table.Seconds, table.State} {
		want, err := read(t, put(t, text(",", ".", "\n")), table.Options{}, as)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []string{";.\n", ";,\n", "\t.\n", "\t,\n", ";,\r\n", ",.\r\n"} {
			got, err := read(t, put(t, text(d[:1], d[1:2], d[2:])), table.Options{}, as)
			if err != nil {
				t.Fatal(err)
			}
			for i := range got.Columns {
				for j := range got.Columns[i].BadFirst {
					got.Columns[i].BadFirst[j].Text = strings.ReplaceAll(got.Columns[i].BadFirst[j].Text, d[1:2], ".")
				}
			}
			if diff := cmp.Diff(want, got, sameNaN); diff != "" {
				t.Fatalf("%q as %v differs:\n%.2000s", d, as, diff)
			}
		}
	}
}

func BenchmarkCSVSemicolon(b *testing.B) {
	text := bytes.ReplaceAll(bytes.ReplaceAll(benchCSV(), []byte(","), []byte(";")), []byte("."), []byte(","))
	bench(b, text, len(text))
}
