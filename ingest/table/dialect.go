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
	// Delimiter separates cells: a comma, a semicolon or a tab.
	Delimiter byte
	// Decimal is the mark between the whole and the decimals of a number: a
	// point or a comma.
	Decimal byte
	// Latin1 says that the bytes are ISO 8859-1, because they are no UTF-8.
	Latin1 bool
	// Start is where the text starts: behind a byte order mark.
	Start int
	// Before are the records in front of the header, blank ones included, and
	// Header is where the header starts.
	Before, Header int
}

// delimiters are those that are looked for, in the order in which a tie is
// decided.
var delimiters = []byte{',', ';', '\t'}

// dialectBytes is how much of the text the dialect is found out of.
const dialectBytes = 256 << 10

// recognise finds the dialect out of the first bytes of the text, or says why
// it is none that can be read. What the options name is taken as said.
func recognise(head []byte, opt *Options) (Dialect, error) {
	d := Dialect{Delimiter: ',', Decimal: '.'}
	switch {
	case wide(head):
		return d, &fault{place: "byte 1", cause: "the text is UTF-16 without the mark that says so", remedy: saveAsUTF8}
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
	// The last line may end within a character.
	d.Latin1 = latin1(text[:bytes.LastIndexByte(text, '\n')+1])
	d.findHeader(text, opt)
	d.Header += d.Start
	if d.Decimal = opt.Decimal; d.Decimal == 0 {
		d.Decimal = d.decimalMark(head[d.Header:])
	}
	return d, nil
}

// latin1 says whether the text must be ISO 8859-1: it is no UTF-8 and has no
// character of several bytes that would be. A damaged byte in a UTF-8 file
// must not turn its other characters into something else.
func latin1(text []byte) bool {
	if utf8.Valid(text) {
		return false
	}
	for i := 0; i < len(text); {
		if text[i] < utf8.RuneSelf {
			i++
			continue
		}
		if r, n := utf8.DecodeRune(text[i:]); r != utf8.RuneError && n > 1 {
			return false
		}
		i++
	}
	return true
}

// fromLatin1 writes ISO 8859-1 as UTF-8: its bytes are the first 256 code
// points.
func fromLatin1(b []byte) []byte {
	out := make([]byte, 0, len(b)+len(b)/4)
	for _, c := range b {
		out = utf8.AppendRune(out, rune(c))
	}
	return out
}

// decimalMark looks at the rows below the header. Where cells are separated by
// commas a number can have a comma in quotes only, and an exporter that writes
// so has to be named. Otherwise commas are the mark if no number has a point.
func (d *Dialect) decimalMark(rows []byte) byte {
	if d.Delimiter == ',' {
		return '.'
	}
	comma := false
	for _, line := range bytes.Split(rows, newline) {
		for _, cell := range bytes.Split(bytes.TrimSuffix(line, []byte{'\r'}), []byte{d.Delimiter}) {
			cell = bytes.Trim(cell, "\" ")
			if hasMark(cell, '.') {
				return '.'
			}
			comma = comma || hasMark(cell, ',')
		}
	}
	if comma {
		return ','
	}
	return '.'
}

// hasMark says whether the cell is a number with decimals behind that mark.
func hasMark(cell []byte, mark byte) bool {
	if len(cell) > 0 && (cell[0] == '-' || cell[0] == '+') {
		cell = cell[1:]
	}
	i := bytes.IndexByte(cell, mark)
	return i >= 0 && i+1 < len(cell) && allDigits(cell[:i]) && allDigits(cell[i+1:])
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
// them; line is where the header stands.
func nameColumns(cells []string, line int64, limits *Limits) ([]Column, []Note, error) {
	if len(cells) > limits.Columns {
		return nil, nil, &fault{
			place: fmt.Sprintf("line %d", line), cause: fmt.Sprintf("the header has %d columns, the limit is %d", len(cells), limits.Columns),
			remedy: raiseLimit,
		}
	}
	if len(cells) == 1 && strings.Contains(cells[0], "|") {
		return nil, nil, &fault{
			place: fmt.Sprintf("line %d", line), cause: `the header has no comma, semicolon or tab, but "|": the cells are separated by what cannot be read`,
			remedy: "export the file with commas between the cells and points in the numbers",
		}
	}
	columns := make([]Column, len(cells))
	first := make(map[string]int, len(cells))
	var notes []Note
	for i, cell := range cells {
		name := strings.Trim(cell, " \t")
		if !utf8.ValidString(name) {
			name = strings.ToValidUTF8(name, "\uFFFD")
			notes = append(notes, Note{Row: line, Column: name, Text: fmt.Sprintf("the name of column %d is not UTF-8 text", i+1)})
		}
		if j, ok := first[name]; ok {
			notes = append(notes, Note{Row: line, Column: name, Text: fmt.Sprintf("columns %d and %d have the same name", j+1, i+1)})
		} else {
			first[name] = i
		}
		columns[i] = Column{Name: name, Type: "text"}
	}
	return columns, notes, nil
}
