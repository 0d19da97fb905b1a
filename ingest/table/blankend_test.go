package table_test

import (
	"strings"
	"testing"

	"rollonset/ingest/table"
)

// A blank line at the end of a file leads the scanner past the text. What stands
// there, of the same file or of the one that was read before, is nothing to it.
func TestBlankLineAtTheEnd(t *testing.T) {
	const columns = 24
	row := "12" + strings.Repeat(",3", columns-1) + "\n"
	wants := []table.Want{{Column: 0, As: table.Seconds}}
	for i := 2; i < columns; i++ {
		wants = append(wants, table.Want{Column: i, As: table.Number})
	}
	read := func(t *testing.T, rows int, end string) *table.Data {
		t.Helper()
		f, err := table.Open(put(t, []byte("t"+strings.Repeat(",a", columns-1)+"\n"+strings.Repeat(row, rows)+end)), table.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		d, err := f.Read(wants)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for name, tc := range map[string]struct {
		rows int
		end  string
	}{
		"one block":      {100, "\n"},
		"several blanks": {100, "\n\n\n"},
		"CR LF":          {100, "\r\n"},
		"several blocks": {40_000, "\n"},
	} {
		t.Run(name, func(t *testing.T) {
			for range 4 {
				read(t, 20_000, "") // leaves delimiters behind
				if d := read(t, tc.rows, tc.end); d.Rows != int64(tc.rows) || len(d.Columns[2].Numbers) != tc.rows {
					t.Errorf("%d rows with %d numbers, want %d", d.Rows, len(d.Columns[2].Numbers), tc.rows)
				}
			}
		})
	}
}
