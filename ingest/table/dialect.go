package table

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// A Dialect is how a CSV file is written. Everything that tells one exporter's
// text from another's belongs in here and in recognise, which finds it out;
// the scanner is driven by it and its users never see it.
type Dialect struct {
	// Delimiter separates cells. Only the comma is read so far.
	Delimiter byte
	// Start is where the header line starts: behind a byte order mark.
	Start int
}

// recognise finds the dialect out of the first bytes of the text, or says why
// it is none that can be read.
func recognise(head []byte) (Dialect, error) {
	d := Dialect{Delimiter: ','}
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}), wide(head):
		return d, &fault{cause: "the text is UTF-16", remedy: saveAsUTF8}
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		d.Start = 3
	}
	text := head[d.Start:]
	cr := bytes.IndexByte(text, '\r')
	if cr >= 0 && bytes.IndexByte(text, '\n') < 0 && cr+1 < len(text) {
		return d, &fault{
			place: "line 1", cause: "the lines end in CR only (no LF)",
			remedy: "convert the line ends to LF or CR LF",
		}
	}
	return d, nil
}

// wide says that text looks like UTF-16 without a mark: of its first bytes
// every second one is NUL.
func wide(head []byte) bool {
	head = head[:min(len(head), 64)&^1]
	if len(head) < 4 {
		return false
	}
	even, odd := 0, 0
	for i := 0; i < len(head); i += 2 {
		if head[i] == 0 {
			even++
		}
		if head[i+1] == 0 {
			odd++
		}
	}
	half := len(head) / 2
	return even == 0 && odd >= half*3/4 || odd == 0 && even >= half*3/4
}

// nameColumns makes columns of the header's cells, and notes what is odd about
// them.
func nameColumns(cells []string, limits *Limits) ([]Column, []Note, error) {
	if len(cells) > limits.Columns {
		return nil, nil, &fault{
			place: "line 1", cause: fmt.Sprintf("the header has %d columns, the limit is %d", len(cells), limits.Columns),
			remedy: raiseLimit,
		}
	}
	if len(cells) == 1 {
		for _, other := range []string{";", "\t", "|"} {
			if strings.Contains(cells[0], other) {
				return nil, nil, &fault{
					place: "line 1", cause: fmt.Sprintf("the header has no comma, but %q: the cells are not separated by commas", other),
					remedy: "export the file with commas between the cells and points in the numbers",
				}
			}
		}
	}
	columns := make([]Column, len(cells))
	first := make(map[string]int, len(cells))
	var notes []Note
	for i, cell := range cells {
		name := strings.Trim(cell, " \t")
		if !utf8.ValidString(name) {
			name = strings.ToValidUTF8(name, "\uFFFD")
			notes = append(notes, Note{Row: 1, Column: name, Text: fmt.Sprintf("the name of column %d is not UTF-8 text", i+1)})
		}
		if j, ok := first[name]; ok {
			notes = append(notes, Note{Row: 1, Column: name, Text: fmt.Sprintf("columns %d and %d have the same name", j+1, i+1)})
		} else {
			first[name] = i
		}
		columns[i] = Column{Name: name, Type: "text"}
	}
	return columns, notes, nil
}
