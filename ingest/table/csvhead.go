package table

import (
	"bytes"
	"fmt"
	"io"
)

// window fills the first window; text in UTF-16 comes out of it as UTF-8.
func (c *csvFile) window(text io.Reader) error {
	c.w = newWindow(text, c.f.limits.LineBytes)
	if err := c.w.fill(); err != nil {
		return err
	}
	order := utf16Order(c.w.rest())
	if order == nil {
		return nil
	}
	c.raw.beside = c.around != plain // the decoder moves what it read
	again := io.MultiReader(bytes.NewReader(bytes.Clone(c.w.rest()[2:])), text)
	c.raw.wait() // for what is in the window
	c.w.free()
	c.w = newWindow(&utf16Reader{src: again, order: order}, c.f.limits.LineBytes)
	return c.w.fill()
}

// preamble takes the lines before the header as metadata.
func (c *csvFile) preamble() {
	d := &c.dialect
	before := c.w.rest()[d.Start:d.Header]
	if d.Latin1 {
		c.notes = append(c.notes, Note{Text: "the text is not UTF-8; it was taken as Latin-1 (ISO 8859-1)"})
	}
	if len(bytes.TrimSpace(before)) > 0 {
		c.f.meta = d.metadata(before)
		c.notes = append(c.notes, Note{Row: 1, Text: linesBefore(d.Before)})
	}
	c.shift += int64(bytes.Count(before, newline))
	c.w.pos += d.Header
}

// unitsRow takes the row below the header if it names units.
func (c *csvFile) unitsRow(columns int) error {
	c.units = nil
	size, err := c.record()
	if err != nil || size == 0 || len(c.split.cells) != columns {
		// What is wrong with a row is told when it is read.
		return nil
	}
	cells := c.texts()
	units, ok := isUnits(cells, c.f.opt.IsUnit)
	if !ok {
		return nil
	}
	c.units = units
	c.shift += max(int64(bytes.Count(c.w.rest()[:size], newline)), 1)
	c.w.pos += size
	return nil
}

// texts are the cells of the latest record as UTF-8.
func (c *csvFile) texts() []string {
	out := make([]string, len(c.split.cells))
	for i, cell := range c.split.cells {
		if c.dialect.Latin1 {
			cell = fromLatin1(cell)
		}
		out[i] = string(cell)
	}
	return out
}

// header reads the first record. Blank lines before it are skipped.
func (c *csvFile) header() ([]string, error) {
	for {
		size, err := c.record()
		if err != nil {
			return nil, err
		}
		if size == 0 {
			return nil, c.fail(&fault{cause: "the file holds no header line", remedy: "the first line must name the columns"})
		}
		text := c.w.rest()[:size]
		if bytes.IndexByte(text, 0) >= 0 {
			return nil, c.nul(text)
		}
		lines := int64(bytes.Count(text, newline))
		c.w.pos += size
		c.shift += max(lines, 1)
		if len(c.split.cells) == 1 && len(c.split.cells[0]) == 0 && !c.split.quoted[0] {
			continue
		}
		for i, cell := range c.split.cells {
			if !c.split.quoted[i] && bytes.IndexByte(cell, '\r') >= 0 {
				c.shift--
				return nil, c.fail(&fault{place: c.place(), cause: "a CR without LF in the header: lines seem to end in CR only", remedy: "convert the line ends to LF or CR LF"})
			}
		}
		c.headerLine = c.shift - max(lines, 1)
		return c.texts(), nil
	}
}

func linesBefore(n int) string {
	if n == 1 {
		return "1 line before the header was taken as metadata"
	}
	return fmt.Sprintf("%d lines before the header were taken as metadata", n)
}
