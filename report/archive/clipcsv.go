package archive

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// WriteClipCSV writes the samples of a clip as a table for a spreadsheet: one
// row for every instant at which some parameter has a sample, empty cells
// between samples. Columns: seconds from the start of the recording, UTC when
// the recording knows it, then the parameters in name order with their unit
// in brackets, each followed, where it has masked samples, by the reason of
// the mask. Numbers are exact. Identity and proof of life do not fit into a
// table, so this file cannot be replayed; the Parquet clip can.
//
// Text that a spreadsheet would run as a formula gets an apostrophe in front.
func WriteClipCSV(w io.Writer, r *flightdata.Recording, windows span.Set) error {
	g, err := gridOf(r, windows)
	if err != nil {
		return fmt.Errorf("clip of %s: %w", fileBase(r.Source.Path), err)
	}
	buffer := bufio.NewWriter(w)
	out := csv.NewWriter(buffer)
	if err := out.Write(g.header(r)); err != nil {
		return err
	}
	next := make([]int, len(g.series)) // the sample of each series that is due
	for _, t := range g.rows {
		if err := out.Write(g.row(r, t, next)); err != nil {
			return err
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buffer.Flush()
}

func (g *grid) header(r *flightdata.Recording) []string {
	cells := []string{"time [s]"}
	if _, dated := r.UTC(0); dated {
		cells = append(cells, "utc")
	}
	for _, c := range g.meta.Columns {
		name := string(c.Parameter)
		if c.Unit.Symbol != "" {
			name += " [" + c.Unit.Symbol + "]"
		}
		cells = append(cells, harmless(name))
		if c.Masked {
			cells = append(cells, harmless(string(c.Parameter)+flightdata.ClipMaskSuffix))
		}
	}
	return cells
}

// row makes the cells of one row and moves on the series that have a sample
// in it.
func (g *grid) row(r *flightdata.Recording, t span.Instant, next []int) []string {
	cells := []string{decimal(seconds(int64(t)))}
	if utc, dated := r.UTC(t); dated {
		cells = append(cells, utc.UTC().Format(time.RFC3339Nano))
	}
	for i, s := range g.series {
		c, j, value, mask := g.meta.Columns[i], next[i], "", ""
		if j < s.Len() && s.Times[j] == t {
			next[i]++
			value = decimal(s.Values[j])
			if c.Kind == flightdata.Discrete {
				value = harmless(c.Word(s.Values[j]))
			}
			if c.Masked && s.Masks[j] != flightdata.Good {
				mask = s.Masks[j].String()
			}
		}
		cells = append(cells, value)
		if c.Masked {
			cells = append(cells, mask)
		}
	}
	return cells
}

// decimal writes a number without an exponent where a person would.
func decimal(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// harmless keeps a spreadsheet from taking text for a formula. Tabs and line
// ends in front count too, because spreadsheets skip them.
func harmless(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r\n", rune(text[0])) {
		return "'" + text
	}
	return text
}
