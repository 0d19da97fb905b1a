package table

import "bytes"

// A splitter takes one record apart after the rules of RFC 4180, section 2.
// It is the careful way: every byte is looked at.
type splitter struct {
	delimiter byte
	cells     [][]byte // of the latest record; they live until the next one
	quoted    []bool
	scratch   []byte // text of cells with doubled quotes
}

// What can be wrong with a record.
var (
	errBareQuote  = &fault{cause: "a quote inside a cell that does not start with one", remedy: "quote the whole cell and double the quotes in it"}
	errAfterQuote = &fault{cause: "text after the closing quote of a cell", remedy: "double the quotes inside a quoted cell"}
	errOpenQuote  = &fault{cause: "a quoted cell starts here and never ends", remedy: "close the quote; the file may be damaged"}
)

// split takes the record at the start of b apart. size is how long it is, line
// end included; 0 means that its end is not in b. With final, the end of b ends
// the record too.
func (s *splitter) split(b []byte, final bool) (size int, err error) {
	s.cells, s.quoted, s.scratch = s.cells[:0], s.quoted[:0], s.scratch[:0]
	line, size := b, len(b)
	if end := bytes.IndexByte(b, '\n'); end >= 0 {
		line, size = b[:end], end+1
	} else if !final {
		// A cell may run over many lines, but an open quote needs an opening.
		return 0, nil
	}
	if bytes.IndexByte(line, '"') >= 0 {
		return s.splitQuoted(b, final)
	}
	line = bytes.TrimSuffix(line, []byte{'\r'})
	for {
		end := bytes.IndexByte(line, s.delimiter)
		if end < 0 {
			s.add(line, false)
			return size, nil
		}
		s.add(line[:end], false)
		line = line[end+1:]
	}
}

func (s *splitter) add(cell []byte, quoted bool) {
	s.cells = append(s.cells, cell)
	s.quoted = append(s.quoted, quoted)
}

// splitQuoted is split for a record with quotes in it.
func (s *splitter) splitQuoted(b []byte, final bool) (size int, err error) {
	for i := 0; ; {
		var next int
		if i < len(b) && b[i] == '"' {
			next, err = s.quotedCell(b, i)
		} else {
			next, err = s.bareCell(b, i)
		}
		if err != nil {
			return 0, err
		}
		switch {
		case next < 0 && final:
			return 0, errOpenQuote
		case next < 0, next == len(b) && !final:
			return 0, nil
		case next == len(b):
			return next, nil
		case b[next] == '\n':
			return next + 1, nil
		}
		i = next + 1
	}
}

// bareCell adds the cell without quotes at i; next is where it ends.
func (s *splitter) bareCell(b []byte, i int) (next int, err error) {
	next = i
	for next < len(b) && b[next] != s.delimiter && b[next] != '\n' {
		if b[next] == '"' {
			return 0, errBareQuote
		}
		next++
	}
	cell := b[i:next]
	if next == len(b) || b[next] == '\n' {
		cell = bytes.TrimSuffix(cell, []byte{'\r'})
	}
	s.add(cell, false)
	return next, nil
}

// quotedCell adds the cell whose opening quote is at i; next is where what
// follows its closing quote lies, -1 when it is not closed.
func (s *splitter) quotedCell(b []byte, i int) (next int, err error) {
	from := len(s.scratch)
	start, doubled := i+1, false
	for {
		q := bytes.IndexByte(b[start:], '"')
		if q < 0 {
			return -1, nil
		}
		q += start
		if q+1 < len(b) && b[q+1] == '"' {
			s.scratch = append(s.scratch, b[start:q+1]...)
			start, doubled = q+2, true
			continue
		}
		cell := b[start:q]
		if doubled {
			s.scratch = append(s.scratch, cell...)
			cell = s.scratch[from:len(s.scratch):len(s.scratch)]
		}
		s.add(cell, true)
		next = q + 1
		break
	}
	// A CR belongs to the line end when LF or the end of the file follows.
	if next < len(b) && b[next] == '\r' && (next+1 == len(b) || b[next+1] == '\n') {
		next++
	}
	if next < len(b) && b[next] != s.delimiter && b[next] != '\n' {
		return 0, errAfterQuote
	}
	return next, nil
}
