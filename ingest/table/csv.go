package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// csvFile reads CSV text, plain or compressed.
type csvFile struct {
	f          *File
	around     compression
	dialect    Dialect
	notes      []Note   // about the text and its header
	headerLine int64    // where the header stands
	units      []string // of the row below the header; nil when there is none

	// The pass that is under way. Open starts the first one to read the header,
	// and Read goes on from there; a second Read starts a new one.
	raw   *tally
	w     *window
	close func()
	split splitter
	fresh bool
	marks []mark // of the columns before the block that is being read
	// Whose rows are where: the line of a row is row + shift.
	rows, shift int64
	blank       int64 // blank lines that were skipped
	firstBlank  int64
}

func openCSV(f *File, around compression) (*csvFile, error) {
	c := &csvFile{f: f, around: around, close: func() {}}
	cells, err := c.start()
	if err != nil {
		return nil, err
	}
	var odd []Note
	f.columns, odd, err = nameColumns(cells, c.headerLine, &f.limits)
	if err != nil {
		return nil, wrap(f.path, "", err, "")
	}
	c.notes = append(c.notes, odd...)
	for i, u := range c.units {
		f.columns[i].Unit = u
	}
	if c.w.eof && c.w.pos == c.w.end && c.w.buf[c.w.end-1] != '\n' {
		c.notes = append(c.notes, Note{Row: c.shift - 1, Text: "the header line has no line end: the file seems cut off"})
	}
	return c, nil
}

// start begins a pass at the start of the file and reads the header.
func (c *csvFile) start() (header []string, err error) {
	c.stop()
	p, err := c.f.pass(c.around)
	if err != nil {
		return nil, err
	}
	c.raw, c.close = p.raw, p.done
	c.raw.beside = true // the window keeps what it read last, as pieces do
	if err := c.window(p.r); err != nil {
		return nil, p.fail(err)
	}
	head := c.w.rest()
	if c.dialect, err = recognise(head[:min(len(head), dialectBytes)], &c.f.opt); err != nil {
		return nil, wrap(c.f.path, "", err, "")
	}
	c.split.delimiter = c.dialect.Delimiter
	c.rows, c.shift, c.blank, c.fresh, c.notes = 0, 1, 0, true, nil
	c.preamble()
	header, err = c.header()
	if err != nil {
		return nil, err
	}
	return header, c.unitsRow(len(header))
}

// stop ends the pass that is under way.
func (c *csvFile) stop() {
	if c.raw != nil {
		c.raw.wait()
	}
	if c.w != nil {
		c.w.free()
	}
	c.close()
	c.close, c.w = func() {}, nil
}

// record splits the next record, reading on as far as it needs. A size of 0
// is the end of the file.
func (c *csvFile) record() (size int, err error) {
	for {
		if len(c.w.rest()) > 0 {
			size, err = c.split.split(c.w.rest(), c.w.eof)
			if size > 0 || err != nil {
				return size, c.fail(err)
			}
		}
		if c.w.eof {
			return 0, nil
		}
		if err := c.w.fill(); err != nil {
			return 0, c.fail(err)
		}
	}
}

// place is the line on which the next record starts.
func (c *csvFile) place() string { return fmt.Sprintf("line %d", c.rows+c.shift) }

// fail makes an Error of what went wrong near the current line.
func (c *csvFile) fail(err error) error {
	if err == nil {
		return nil
	}
	return wrap(c.f.path, c.place(), err, transferAgain)
}

// nul is the error for text that holds a NUL byte; it starts at the current
// line.
func (c *csvFile) nul(text []byte) error {
	line := c.rows + c.shift + int64(bytes.Count(text[:bytes.IndexByte(text, 0)], newline))
	return &Error{
		File: c.f.path, Place: fmt.Sprintf("line %d", line), Cause: "NUL bytes: the file is damaged or is no text",
		Remedy: transferAgain + ", as UTF-8 text",
	}
}

// read decodes the wanted columns in one pass.
func (c *csvFile) read(cols []*column, d *Data) error {
	if !c.fresh {
		if _, err := c.start(); err != nil {
			return err
		}
	}
	c.fresh = false
	defer c.stop()
	d.lines = append(d.lines, lineShift{0, c.shift})
	d.Notes = append(d.Notes, c.notes...)
	if c.f.route != nil {
		cols = c.f.route.outs
	}
	for _, col := range cols {
		col.comma, col.latin1 = c.dialect.Decimal == ',', c.dialect.Latin1
	}
	var fast *siftScan // none for a long file, whose rows have few cells
	if c.f.route == nil {
		fast = newSiftScan(c.dialect, cols, len(c.f.columns), c.f.sift)
	}
	for reserved := false; ; {
		n := c.w.lines()
		if n == 0 {
			if c.w.eof {
				break
			}
			if err := c.w.fill(); err != nil {
				return c.fail(err)
			}
			continue
		}
		if err := c.block(fast, cols, n, d); err != nil {
			return err
		}
		if err := c.f.bounded(cols, c.rows); err != nil {
			return err
		}
		if !reserved && c.raw.bytes >= c.f.size/8 {
			// The rest of the file will look like its first part. What is in the
			// buffers counts as read, but not yet as samples.
			reserved = true
			always, others := c.f.sift.split(cols)
			more := float64(c.f.size-c.raw.bytes) / float64(c.raw.bytes)
			reserve(always, more)
			reserve(others, more*siftedShare)
		}
	}
	if err := c.lastLine(fast.wanted(), d); err != nil {
		return err
	}
	if c.blank > 0 {
		d.Notes = append(d.Notes, Note{Row: c.firstBlank, Text: fmt.Sprintf("%d blank lines were skipped, this one first", c.blank)})
	}
	d.Rows = c.rows
	c.f.digest, c.f.digestBytes, c.f.digested = c.sum()
	return nil
}

// siftedShare is about how much of a recording is read where rows may be passed
// over, to make room for. Little is lost by a wrong one.
const siftedShare = 0.3

// reserve makes room for times as many samples as there are, and a few. It is
// bounded by the size of the file, which is real.
func reserve(cols []*column, times float64) {
	for _, col := range cols {
		col.reserve(int(float64(col.out.Len())*max(times, 0)*1.1) + 16)
	}
}

// sum is the digest of the whole file, if all of it was read.
func (c *csvFile) sum() (string, int64, bool) {
	// A decompressor may leave what follows the last frame.
	c.raw.beside = false // one buffer is filled again and again
	if _, err := io.Copy(struct{ io.Writer }{io.Discard}, c.raw); err != nil {
		return "", 0, false
	}
	hex, n := c.raw.digest()
	return hex, n, true
}

// block reads the whole lines that the window holds, n bytes; fast if they
// are plain.
func (c *csvFile) block(fast *siftScan, cols []*column, n int, d *Data) error {
	text := c.w.rest()[:n]
	if bytes.IndexByte(text, 0) >= 0 {
		return c.nul(text)
	}
	if fast != nil && bytes.IndexByte(text, '"') < 0 {
		c.mark(cols)
		sifted := c.f.sift.mark()
		if rows, ok := fast.block(c.w.buf[c.w.pos:c.w.end+slack], n, c.rows); ok {
			c.rows += rows
			c.w.pos += n
			return nil
		}
		for i, col := range cols {
			col.back(c.marks[i])
		}
		c.f.sift.back(sifted)
	}
	return c.careful(fast.wanted(), n, d)
}

// careful reads records until n bytes of the window are consumed. The last
// record may reach further, if a quoted cell in it holds line ends.
func (c *csvFile) careful(steps []step, n int, d *Data) error {
	for n > 0 {
		size, err := c.split.split(c.w.rest(), c.w.eof)
		switch {
		case err != nil:
			return c.fail(err)
		case size == 0:
			if err := c.w.fill(); err != nil {
				return c.fail(err)
			}
			continue
		}
		text := c.w.rest()[:size]
		if text[size-1] != '\n' {
			return c.lastLine(steps, d)
		}
		if err := c.row(steps, text, d); err != nil {
			return err
		}
		c.w.pos += size
		n -= size
	}
	return nil
}

// row takes over the record that was split last; text is its bytes.
func (c *csvFile) row(steps []step, text []byte, d *Data) error {
	cells := c.split.cells
	fields := len(c.f.columns)
	if len(cells) == 1 && len(cells[0]) == 0 && !c.split.quoted[0] && fields > 1 {
		// A blank line is no row, except in a file of one column.
		if c.blank == 0 {
			c.firstBlank = c.rows + c.shift
		}
		c.blank++
		c.move(1, d)
		return nil
	}
	if len(cells) != fields {
		return &Error{
			File: c.f.path, Place: c.place(),
			Cause:  fmt.Sprintf("the row has %d columns, the header has %d", len(cells), fields),
			Remedy: "the file is damaged or was exported wrongly; " + transferAgain,
		}
	}
	if c.f.route != nil {
		c.f.route.cells(c.rows, &c.split, &c.dialect)
	}
	c.take(steps)
	c.rows++
	if len(text) > 0 && bytes.IndexByte(text, '"') >= 0 {
		c.move(int64(bytes.Count(text, newline))-1, d)
	}
	return nil
}

// take hands the cells of a row to the steps' columns: all of them, or only
// the gate's if the row may be passed over.
func (c *csvFile) take(steps []step) {
	sift := c.f.sift
	cell := func(st *step) { st.col.text(c.rows, c.split.cells[st.field], c.split.quoted[st.field]) }
	all := sift == nil || sift.open
	for i := range steps {
		if all || steps[i].col.always {
			cell(&steps[i])
		}
	}
	if sift == nil || !sift.row(c.rows) || all {
		return
	}
	for i := range steps {
		if !steps[i].col.always {
			cell(&steps[i])
		}
	}
}

// move notes that the rows from here on lie further down by so many lines.
func (c *csvFile) move(lines int64, d *Data) {
	if lines <= 0 {
		return
	}
	c.shift += lines
	if last := &d.lines[len(d.lines)-1]; last.row == c.rows {
		last.shift = c.shift
		return
	}
	d.lines = append(d.lines, lineShift{c.rows, c.shift})
}

// lastLine reads what follows the last line end: a line that a transfer may
// have cut off. If its cells are too few it is dropped, and noted.
func (c *csvFile) lastLine(steps []step, d *Data) error {
	text := bytes.TrimSuffix(c.w.rest(), []byte{'\r'})
	c.w.pos = c.w.end
	if len(text) == 0 {
		return nil
	}
	if bytes.IndexByte(text, 0) >= 0 {
		return c.nul(text)
	}
	line := c.rows + c.shift
	dropped := func(why string) error {
		d.Notes = append(d.Notes, Note{Row: line, Text: "the last line has no line end and " + why + ": the file seems cut off, the row was dropped"})
		return nil
	}
	_, err := c.split.split(text, true)
	switch {
	case errors.Is(err, errOpenQuote):
		return dropped("ends inside a quoted cell")
	case err != nil:
		return c.fail(err)
	case len(c.split.cells) != len(c.f.columns):
		return dropped(fmt.Sprintf("has %d columns, the header %d", len(c.split.cells), len(c.f.columns)))
	}
	d.Notes = append(d.Notes, Note{Row: line, Text: "the last line has no line end: the file may be cut off, and its last value too"})
	return c.row(steps, text, d)
}

// mark remembers how far the columns have come.
func (c *csvFile) mark(cols []*column) {
	c.marks = c.marks[:0]
	for _, col := range cols {
		c.marks = append(c.marks, col.mark())
	}
}
