package table_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rollonset/ingest/table"
)

// tide is a gate whose answer hangs on everything it was told so far, so that a
// row asked about twice, or left out, shows.
type tide struct{ told uint64 }

func (g *tide) Open(r *table.GateRow) bool {
	g.told = g.told*31 + uint64(r.Clock/125_000_000)
	for _, c := range r.Word {
		g.told = g.told*31 + uint64(c)
	}
	if n := r.Numbers[0]; n.There {
		g.told = g.told*31 + uint64(n.Value*10)
	}
	// Some stretches of a few dozen rows, of either kind.
	return (uint64(r.Clock/125_000_000)/40+g.told%2)%3 == 0
}

func (g *tide) Copy() table.Gate {
	out := *g
	return &out
}

// tideSift looks at time, ground and speed, and has trim read in every row too.
func tideSift() *table.Sift {
	return &table.Sift{Clock: 0, State: 6, Numbers: []int{2}, Always: []int{9}, Gate: &tide{}}
}

// alwaysRead are the wants of tideSift that are decoded in every row.
var alwaysRead = []int{0, 2, 6, 9}

// cells writes the samples of a column in the rows that were not passed over.
func cellsOutside(c *table.ColumnData, skipped []table.RowSpan) string {
	var b strings.Builder
	for i := range c.Len() {
		row := int64(c.Row(i))
		if slices.ContainsFunc(skipped, func(s table.RowSpan) bool { return row >= s.From && row < s.To }) {
			continue
		}
		switch {
		case c.Numbers != nil:
			fmt.Fprintf(&b, "%d:%v ", row, c.Numbers[i])
		case c.Clock != nil:
			fmt.Fprintf(&b, "%d:%d ", row, c.Clock[i])
		case c.States[i] >= 0:
			fmt.Fprintf(&b, "%d:%s ", row, c.Words[c.States[i]])
		default:
			fmt.Fprintf(&b, "%d:bad ", row)
		}
	}
	return b.String()
}

// What is read under a gate is what a full reading has in those rows, and the
// columns of the gate are whole. Which rows are passed over does not hang on
// the container.
func TestSiftedIsPartOfWhole(t *testing.T) {
	rows := sampleRows(1000)
	all := containers(t, rows)
	quoted := bytes.Split(all["CSV"], []byte("\n"))
	for i := range quoted {
		if i%400 == 350 { // not plain: its block is read the careful way
			quoted[i] = append([]byte{'"'}, bytes.Replace(quoted[i], []byte(","), []byte("\","), 1)...)
		}
	}
	all["CSV, some quoted"] = bytes.Join(quoted, []byte("\n"))
	var first []table.RowSpan
	for name, b := range all {
		path := put(t, b)
		whole, _, err := readRows(t, path)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		part, _, err := siftRows(t, path, tideSift())
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if first == nil {
			first = part.Skipped
		}
		n := int64(0)
		for _, s := range part.Skipped {
			n += s.To - s.From
		}
		if !slices.Equal(part.Skipped, first) || n < 300 || n > 800 || len(first) < 5 || part.Rows != whole.Rows {
			t.Fatalf("%s: %d of %d rows passed over in %d stretches, otherwise %d stretches", name, n, part.Rows, len(part.Skipped), len(first))
		}
		for i := range part.Columns {
			skipped := part.Skipped
			if slices.Contains(alwaysRead, i) {
				skipped = nil
			}
			got, want := cellsOutside(&part.Columns[i], nil), cellsOutside(&whole.Columns[i], skipped)
			if got != want {
				t.Errorf("%s: column %s differs:\n got %.300s\nwant %.300s", name, rowNames[i], got, want)
			}
		}
	}
}

// shut is a gate that opens for nothing after the first row.
type shut struct{}

func (shut) Open(*table.GateRow) bool { return false }
func (s shut) Copy() table.Gate       { return s }

// The rows that are passed over are still held against the header, and the
// columns of the gate are still read.
func TestSiftedRowsAreChecked(t *testing.T) {
	text := asCSV(sampleRows(400))
	lines := bytes.Split(text, []byte("\n"))
	r := rand.New(rand.NewPCG(3, 5))
	for range 40 {
		i := 200 + r.IntN(150)
		for _, c := range []struct {
			line, want string
		}{
			{string(lines[i]) + ",", fmt.Sprintf("line %d: the row has 11 columns, the header has 10", i+1)},
			{strings.Replace(string(lines[i]), ",", "", 1), fmt.Sprintf("line %d: the row has 9 columns, the header has 10", i+1)},
			{string(lines[i][:2]), fmt.Sprintf("line %d: the row has 1 columns, the header has 10", i+1)},
			{string(lines[i][:3]) + "\x00" + string(lines[i][3:]), fmt.Sprintf("line %d: NUL bytes", i+1)},
		} {
			bad := slices.Clone(lines)
			bad[i] = []byte(c.line)
			sift := tideSift()
			sift.Gate = shut{}
			_, _, err := siftRows(t, put(t, bytes.Join(bad, []byte("\n"))), sift)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%q: error %v, want %q", c.line, err, c.want)
			}
		}
		bad := slices.Clone(lines)
		_, rest, _ := strings.Cut(string(lines[i]), ",")
		bad[i] = []byte("x," + rest)
		sift := tideSift()
		sift.Gate = shut{}
		d, _, err := siftRows(t, put(t, bytes.Join(bad, []byte("\n"))), sift)
		if err != nil || d.Columns[0].Bad != 1 || d.Columns[3].Bad != 0 {
			t.Errorf("a time that is no number: error %v", err)
		}
	}
}

// A sift that looks at columns in a way that cannot be is refused.
func TestSiftRefused(t *testing.T) {
	path := put(t, asCSV(sampleRows(3)))
	for _, s := range []table.Sift{
		{Clock: 2, State: 6, Gate: shut{}},
		{Clock: 0, State: 2, Gate: shut{}},
		{Clock: 0, State: 6, Numbers: []int{4}, Gate: shut{}},
		{Clock: 0, State: 99, Gate: shut{}},
	} {
		if _, _, err := siftRows(t, path, &s); err == nil || !strings.Contains(err.Error(), "the gate") {
			t.Errorf("%+v: error %v", s, err)
		}
	}
}
