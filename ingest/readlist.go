package ingest

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"rollonset/ingest/unit"
)

// figureColumns are the numbers that a flight list may hold, and the unit in
// which each is used. The column name is the quantity, an underscore and the
// unit it is written in: v1_kt, weight_t, runway_length_ft.
var figureColumns = []struct{ name, unit string }{
	{"planned_flap", "deg"},
	{"v1", "kt"},
	{"vr", "kt"},
	{"weight", "kg"},
	{"cg", "%"},
	{"trim", ""},
	{"runway_length", "m"},
}

// textColumns are the columns that are taken as text.
var textColumns = []string{"file", "tail", "type", "flight", "aerodrome", "runway", "date", "start"}

// ReadFlightList reads a CSV flight list: comma, a header line, one flight a
// line. All mistakes are reported at once, each with its line.
func ReadFlightList(path string) (*FlightList, error) {
	f, err := os.Open(path)
	if err != nil {
		why := cause(err)
		if errors.Is(err, fs.ErrNotExist) {
			why = "there is no such file"
		}
		return nil, &Error{File: path, Cause: "the flight list cannot be read: " + why, Remedy: "check --flights", Err: err}
	}
	defer f.Close()
	text := bufio.NewReader(f)
	if mark, _ := text.Peek(3); string(mark) == "\ufeff" {
		_, _ = text.Discard(len(mark)) // peeked, so it is there
	}
	r := csv.NewReader(text)
	r.TrimLeadingSpace = true
	header, err := r.Read()
	switch {
	case errors.Is(err, io.EOF):
		return nil, &Error{File: path, Cause: "the flight list is empty", Remedy: "begin it with column names such as tail,date,start,flight,v1_kt", Err: err}
	case err != nil:
		return nil, listLineError(path, header, header, err)
	}
	top, _ := r.FieldPos(0) // blank lines may stand before it
	cols, problems := listColumns(path, top, header)
	l, folds := &FlightList{Path: path}, foldedCells{path: path}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			problems = append(problems, listLineError(path, header, row, err))
			if errors.Is(err, csv.ErrFieldCount) {
				continue
			}
			break // past a lost quotation mark nothing is where it seems
		}
		line, _ := r.FieldPos(0)
		e, errs := listEntry(line, cols, row)
		problems = folds.add(problems, errs)
		l.Entries = append(l.Entries, e)
	}
	if problems = folds.rest(problems); len(problems) > 0 {
		return nil, errors.Join(problems...)
	}
	return l, nil
}

// listLineError says what keeps one line from being read.
func listLineError(path string, header, row []string, err error) error {
	out := &Error{File: path, Cause: cause(err), Err: err}
	var at *csv.ParseError
	if !errors.As(err, &at) {
		return out // the file system's
	}
	out.Place = fmt.Sprintf("line %d", at.Line)
	switch {
	case errors.Is(err, csv.ErrFieldCount):
		out.Cause = fmt.Sprintf("%s, the header has %d", counted(len(row), "cell"), len(header))
		out.Remedy = "give every line as many cells as the header"
	default:
		out.Place += fmt.Sprintf(", character %d", at.Column)
		out.Cause = "a quotation mark is missing or stands where none may"
		out.Remedy = "put the whole cell between quotation marks and double those inside it"
	}
	return out
}

// cause is the innermost message of an error of the file system.
func cause(err error) string {
	for e := errors.Unwrap(err); e != nil; e = errors.Unwrap(e) {
		err = e
	}
	return err.Error()
}

// listColumn says what one column of the list is; an empty one is dropped.
type listColumn struct {
	text, figure string
	unit         unit.Unit
}

func listColumns(path string, line int, header []string) ([]listColumn, []error) {
	cols := make([]listColumn, len(header))
	var problems []error
	if len(header) == 1 && strings.ContainsAny(header[0], ";\t") {
		return cols, []error{&Error{File: path, Place: fmt.Sprintf("line %d", line), Cause: "the cells are not separated by commas", Remedy: "save the list with commas between the cells and points in the numbers"}}
	}
	seen := map[string]bool{}
	for i, h := range header {
		name := strings.ToLower(strings.TrimSpace(h))
		if slices.Contains(textColumns, name) {
			cols[i].text = name
			problems = append(problems, listTwice(path, line, h, name, seen)...)
			continue
		}
		for _, f := range figureColumns {
			symbol, ok := strings.CutPrefix(name, f.name)
			if !ok || symbol != "" && symbol[0] != '_' {
				continue
			}
			symbol = strings.TrimPrefix(symbol, "_")
			u, ok := figureUnit(symbol, f.unit)
			if !ok {
				cause := fmt.Sprintf("%q is no unit of %s", symbol, f.name)
				if symbol == "" {
					cause = fmt.Sprintf("the unit of %s is missing", f.name)
				}
				problems = append(problems, &Error{File: path, Place: fmt.Sprintf("line %d, column %s", line, h), Cause: cause, Remedy: fmt.Sprintf("write it as %s_%s", f.name, orUnits(f.unit))})
				continue
			}
			cols[i] = listColumn{figure: f.name, unit: u}
			problems = append(problems, listTwice(path, line, h, f.name, seen)...)
		}
	}
	if !slices.ContainsFunc(cols, func(c listColumn) bool { return c.text == "tail" || c.text == "file" }) {
		problems = append(problems, &Error{File: path, Place: fmt.Sprintf("line %d", line), Cause: "the flight list has neither a column tail nor a column file", Remedy: "add one, so that its lines can be matched with recordings"})
	}
	return cols, problems
}

// figureUnit finds the unit that a column names. A figure without a unit of its
// own is the trim: it may be in trim units or degrees, or leave that to the
// profile.
func figureUnit(symbol, want string) (unit.Unit, bool) {
	u, err := unit.Parse(symbol)
	if err != nil {
		return u, false
	}
	if want == "" {
		return u, u.Dim() == unit.Pure || u.Dim() == unit.Trim || u.Dim() == unit.Angle
	}
	return u, u.Dim() == unit.Must(want).Dim()
}

// listTwice is the mistake of a quantity that two columns give: which of them
// counts cannot be told.
func listTwice(path string, line int, header, name string, seen map[string]bool) []error {
	if !seen[name] {
		seen[name] = true
		return nil
	}
	return []error{&Error{File: path, Place: fmt.Sprintf("line %d, column %s", line, header), Cause: fmt.Sprintf("a second column for %s", name), Remedy: "leave one of them out"}}
}

func orUnits(symbol string) string {
	if symbol == "" {
		return "units"
	}
	return strings.ReplaceAll(symbol, "%", "pct")
}

// wrongCell is one cell that is not what its column wants.
type wrongCell struct {
	line               int
	column, cell, want string
}

// foldedCells turns wrong cells into errors. A column in which every cell is
// written the same wrong way is one mistake: past the first few they are counted.
type foldedCells struct {
	path string
	// order lists the columns that have wrong cells, in the order of the first;
	// seen and last are by the column, how many there are and the latest line.
	order      []string
	seen, last map[string]int
}

// fewCells is how many wrong cells of a column are told one by one.
const fewCells = 3

func (f *foldedCells) add(problems []error, cells []wrongCell) []error {
	if f.seen == nil {
		f.seen, f.last = map[string]int{}, map[string]int{}
	}
	for _, c := range cells {
		if f.seen[c.column] == 0 {
			f.order = append(f.order, c.column)
		}
		f.seen[c.column]++
		f.last[c.column] = c.line
		if f.seen[c.column] <= fewCells {
			problems = append(problems, &Error{File: f.path, Place: fmt.Sprintf("line %d, column %s", c.line, c.column), Cause: fmt.Sprintf("%q is not %s", c.cell, c.want), Remedy: "mend the cell or leave it empty"})
		}
	}
	return problems
}

// rest adds how many more there are in each column.
func (f *foldedCells) rest(problems []error) []error {
	for _, column := range f.order {
		if n := f.seen[column] - fewCells; n > 0 {
			problems = append(problems, &Error{File: f.path, Place: "column " + column, Cause: fmt.Sprintf("%s more like these, up to line %d", counted(n, "cell"), f.last[column]), Remedy: "change how the whole column is written"})
		}
	}
	return problems
}

func listEntry(line int, cols []listColumn, row []string) (FlightEntry, []wrongCell) {
	e := FlightEntry{Line: line, figures: map[string]figure{}}
	var problems []wrongCell
	fail := func(column, cell, want string) { problems = append(problems, wrongCell{line, column, cell, want}) }
	for i, cell := range row {
		cell = strings.TrimSpace(cell)
		c := cols[i]
		switch {
		case cell == "" || c.text == "" && c.figure == "":
		case c.figure != "":
			v, ok := plainNumber(cell)
			if !ok {
				fail(c.figure, cell, "a number")
				continue
			}
			e.figures[c.figure] = figure{v, c.unit}
		default:
			if want := e.set(c.text, cell); want != "" {
				fail(c.text, cell, want)
			}
		}
	}
	return e, problems
}

// set fills one text field; it returns what the cell should have been.
func (e *FlightEntry) set(name, cell string) string {
	switch name {
	case "file":
		e.File = cell
	case "tail":
		e.Tail = cell
	case "type":
		e.Type = cell
	case "flight":
		e.Flight = cell
	case "aerodrome":
		e.Aerodrome = cell
	case "runway":
		e.Runway = cell
	case "date":
		d, err := time.Parse(time.DateOnly, cell)
		if err != nil {
			return "a date such as 2031-03-07"
		}
		e.Date = d.Format(time.DateOnly)
	case "start":
		t, err := time.Parse(time.RFC3339, cell)
		if err != nil {
			return "a time such as 2031-03-07T04:12:00Z"
		}
		e.Start = t.UTC()
	}
	return ""
}
