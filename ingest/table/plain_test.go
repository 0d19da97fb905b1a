package table_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"rollonset/ingest/table"
)

// plainRead is the same reading with encoding/csv and strconv, which the fast
// scanner must agree with bit for bit. It returns nil for a text that only
// one of the two may refuse.
func plainRead(text []byte) (header []string, rows [][]string, cut bool, err error) {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	r := csv.NewReader(bytes.NewReader(text))
	for {
		rec, err := r.Read()
		switch {
		case err == io.EOF:
			return header, rows, false, nil
		case err != nil:
			// A last record without a line end is dropped instead.
			cut := (errors.Is(err, csv.ErrFieldCount) || errors.Is(err, csv.ErrQuote)) &&
				text[len(text)-1] != '\n' && r.InputOffset() == int64(len(text))
			if cut && header != nil {
				// Whether that is a cut or a misplaced quote is ours to say.
				return header, rows, true, nil
			}
			return nil, nil, false, err
		case header == nil:
			header = rec
		default:
			rows = append(rows, rec)
		}
	}
}

// plainNumber is a cell as strconv sees it: a value, NaN for bad text, or no
// sample.
func plainNumber(cell string, quoted bool) (v float64, sample bool) {
	if !quoted {
		cell = strings.Trim(cell, " \t")
	}
	if cell == "" || strings.EqualFold(cell, "nan") {
		return 0, false
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil || strings.ContainsAny(cell, "_xXpPiI") {
		return math.NaN(), true
	}
	return v, true
}

// compare holds what the package reads from the text against the plain
// reading of it.
func compare(t *testing.T, text []byte) {
	if bytes.IndexByte(text, 0) >= 0 || bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return // UTF-16 is another text for encoding/csv
	}
	path := write(t, "r.csv", string(text))
	d, err := read(t, path, table.Options{}, table.Number)
	header, rows, cut, plainErr := plainRead(text)
	if err != nil {
		var e *table.Error
		if !errors.As(err, &e) {
			t.Fatalf("%q: %v is no *table.Error", text, err)
		}
		refused := plainErr != nil || cut || len(header) == 0 || foreignOrOdd(text, e) || bytes.ContainsAny(text, ";\t([{<")
		if !refused {
			t.Fatalf("%q: %v, but encoding/csv reads it", text, err)
		}
		return
	}
	if otherDialect(d, text) {
		return
	}
	if plainErr != nil {
		t.Fatalf("%q: read, but encoding/csv says %v", text, plainErr)
	}
	if len(header) == 1 {
		// encoding/csv loses the blank rows of a file with one column.
		return
	}
	if len(d.Columns) != len(header) || d.Rows != int64(len(rows)) {
		t.Fatalf("%q: %d columns and %d rows, want %d and %d", text, len(d.Columns), d.Rows, len(header), len(rows))
	}
	quotes := bytes.IndexByte(text, '"') >= 0
	for i := range header {
		compareColumn(t, text, &d.Columns[i], rows, i, quotes)
	}
}

// otherDialect says whether the text was read as more than encoding/csv knows:
// with lines before the header, a row of units, another delimiter or encoding.
func otherDialect(d *table.Data, text []byte) bool {
	for _, n := range d.Notes {
		if strings.Contains(n.Text, "before the header") || strings.Contains(n.Text, "Latin-1") {
			return true
		}
	}
	first, _, _ := bytes.Cut(text, []byte{'\n'})
	return bytes.ContainsAny(text, ";\t([{<") || len(bytes.TrimSpace(first)) == 0
}

// foreignOrOdd are the refusals that encoding/csv does not know.
func foreignOrOdd(text []byte, e *table.Error) bool {
	if bytes.HasPrefix(text, []byte{0xff, 0xff, 0xff, 0xff}) {
		return true // an Arrow stream, and a damaged one
	}
	for _, s := range []string{"CR", "no recording", "compressed", "UTF-16", "gzip", "zstd", "no comma", "magic", "cut off", "Arrow", "Parquet"} {
		if strings.Contains(e.Cause, s) {
			return true
		}
	}
	return false
}

func compareColumn(t *testing.T, text []byte, c *table.ColumnData, rows [][]string, i int, quotes bool) {
	t.Helper()
	k := 0
	for r, row := range rows {
		v, sample := plainNumber(row[i], false)
		if quotes && row[i] != strings.Trim(row[i], " \t") {
			// Whether the cell was quoted is not known here, and decides.
			if k < c.Len() && c.Row(k) == r {
				k++
			}
			continue
		}
		if !sample {
			if k < c.Len() && c.Row(k) == r {
				t.Fatalf("%q: row %d column %d has a sample %v, want none", text, r, i, c.Numbers[k])
			}
			continue
		}
		if k >= c.Len() || c.Row(k) != r {
			t.Fatalf("%q: row %d column %d has no sample, want %v", text, r, i, v)
		}
		if got := c.Numbers[k]; math.Float64bits(got) != math.Float64bits(v) && !(math.IsNaN(got) && math.IsNaN(v)) {
			t.Fatalf("%q: row %d column %d (%q) is %v, want %v", text, r, i, row[i], got, v)
		}
		k++
	}
	if k != c.Len() {
		t.Fatalf("%q: column %d has %d samples, want %d", text, i, c.Len(), k)
	}
}

// FuzzCSVAgainstStandard: any text gives what encoding/csv and strconv give.
func FuzzCSVAgainstStandard(f *testing.F) {
	for _, s := range []string{
		"a,b\n1,2\n", "a,b\r\n-1.5,\r\n,.5\r\n", "a,b\n\"1\",2e5\n", "a,b\n1,2\n3", "a,b\n1\n2,3\n",
		"a,b,c\n1,2\n1,2,3,4\n", "a,b\n\n1,2\n", "a,b\n12345678,123456789\n-1234567,0.0000001\n",
		"a,b\n1,\"2\n3\"\n4,5\n", "a,b\n1_000,0x1p-2\nInf,nan\n", "a\n1\n\n2\n", "a,b\n9007199254740993,1e400\n",
		"a,b\n+1,1.\n.,-\n", "a,b\n1\r,2\n", "a,b\n\x801,2\n",
		"a,b\n12,3\r\n12,3\rx\n", "a,b\n12,1234567\n12,1234567\n12,12345678\n1,1234567\n", "a,b\n1,\"2", "\xef\xbb\xbfa,b\n1,2\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(compare)
}

// The same over random tables whose cells are made of what is dangerous.
func TestCSVAgainstStandard(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const letters = "0123456789..--+eE ,\r\"x_\x80/:"
	for range 3000 {
		var b bytes.Buffer
		columns := 1 + r.IntN(5)
		for i := range columns {
			b.WriteString(strings.Repeat(",", min(i, 1)) + "c" + strconv.Itoa(i))
		}
		b.WriteString("\n")
		before := make([]string, columns) // a filled recording says it again
		for range r.IntN(8) {
			for i := range columns {
				b.WriteString(strings.Repeat(",", min(i, 1)))
				switch r.IntN(4) {
				case 0:
					before[i] = randomDecimal(r)
				case 1:
					before[i] += []string{"", "", "", "", "\r", "0", ".", " "}[r.IntN(8)]
				default:
					cell := make([]byte, r.IntN(10)*r.IntN(2))
					for k := range cell {
						cell[k] = letters[r.IntN(len(letters)-5*r.IntN(2)*r.IntN(2)-5)]
					}
					before[i] = string(cell)
				}
				b.WriteString(before[i])
			}
			b.WriteString([]string{"\n", "\r\n"}[r.IntN(2)])
		}
		compare(t, b.Bytes())
	}
}

// randomDecimal has up to 24 digits, a dot and an exponent, or not.
func randomDecimal(r *rand.Rand) string {
	digits := make([]byte, 1+r.IntN(1+r.IntN(24)))
	for i := range digits {
		digits[i] = byte('0' + r.IntN(10))
	}
	s := string(digits)
	if r.IntN(3) > 0 {
		at := r.IntN(len(s) + 1)
		s = s[:at] + "." + s[at:]
	}
	if r.IntN(3) == 0 {
		s = "-" + s
	}
	if r.IntN(8) == 0 {
		s += "e" + strconv.Itoa(r.IntN(700)-350)
	}
	return s
}
