package ingest

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// FlightList is the operator's list of flights: what was flown, and what was
// planned for the takeoff. Only the columns named here are read; any other,
// among them one that could name a crew, is dropped at this point.
type FlightList struct {
	Path    string
	Entries []FlightEntry
}

// FlightEntry is one line of the list.
type FlightEntry struct {
	Line int
	// File is the recording's file name, when the list names it.
	File, Tail, Type, Flight, Aerodrome, Runway string
	Date                                        string    // 2006-01-02, "" when not listed
	Start                                       time.Time // zero when not listed
	figures                                     map[string]figure
}

// figure is a listed number with the unit that its column names.
type figure struct {
	value float64
	unit  unit.Unit
}

// figureColumns are the numbers that a flight list may hold, and the unit in
// which each is used. The column name is the quantity, an underscore and the
// unit it is written in: v1_kt, weight_t, runway_length_ft.
var figureColumns = []struct{ name, unit string }{
	{"planned_flap", "deg"}, {"v1", "kt"}, {"vr", "kt"}, {"weight", "kg"},
	{"cg", "%"}, {"trim", ""}, {"runway_length", "m"},
}

// textColumns are the columns that are taken as text.
var textColumns = []string{"file", "tail", "type", "flight", "aerodrome", "runway", "date", "start"}

// ReadFlightList reads a CSV flight list: comma, a header line, one flight a
// line. All mistakes are reported at once, each with its line.
func ReadFlightList(path string) (*FlightList, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &Error{File: path, Cause: "the flight list cannot be read: " + cause(err), Remedy: "check --flights", Err: err}
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.TrimLeadingSpace = true
	header, err := r.Read()
	if err != nil {
		return nil, &Error{File: path, Cause: "the flight list has no header line: " + cause(err), Remedy: "begin it with column names such as tail,date,start,flight,v1_kt", Err: err}
	}
	cols, problems := listColumns(path, header)
	l := &FlightList{Path: path}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			problems = append(problems, &Error{File: path, Cause: err.Error(), Remedy: "give every line as many fields as the header", Err: err})
			if errors.Is(err, csv.ErrFieldCount) {
				continue
			}
			break
		}
		e, errs := listEntry(path, line, cols, row)
		problems = append(problems, errs...)
		l.Entries = append(l.Entries, e)
	}
	if len(problems) > 0 {
		return nil, errors.Join(problems...)
	}
	return l, nil
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

func listColumns(path string, header []string) ([]listColumn, []error) {
	cols := make([]listColumn, len(header))
	var problems []error
	for i, h := range header {
		name := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))
		if slices.Contains(textColumns, name) {
			cols[i].text = name
			continue
		}
		for _, f := range figureColumns {
			symbol, ok := strings.CutPrefix(name, f.name)
			if !ok || symbol != "" && symbol[0] != '_' {
				continue
			}
			symbol = strings.TrimPrefix(symbol, "_")
			u, err := unit.Parse(symbol)
			if err == nil && f.unit != "" {
				_, err = unit.Convert(u, unit.Must(f.unit))
			}
			if err != nil || symbol == "" && f.unit != "" {
				problems = append(problems, &Error{File: path, Place: "line 1, column " + h, Cause: fmt.Sprintf("names no unit of %s", f.name), Remedy: fmt.Sprintf("write it as %s_%s", f.name, orUnits(f.unit))})
				continue
			}
			cols[i] = listColumn{figure: f.name, unit: u}
		}
	}
	if !slices.ContainsFunc(cols, func(c listColumn) bool { return c.text == "tail" || c.text == "file" }) {
		problems = append(problems, &Error{File: path, Place: "line 1", Cause: "the flight list has neither a column tail nor a column file", Remedy: "add one, so that its lines can be matched with recordings"})
	}
	return cols, problems
}

func orUnits(symbol string) string {
	if symbol == "" {
		return "units"
	}
	return strings.ReplaceAll(symbol, "%", "pct")
}

func listEntry(path string, line int, cols []listColumn, row []string) (FlightEntry, []error) {
	e := FlightEntry{Line: line, figures: map[string]figure{}}
	var problems []error
	fail := func(column, cell, want string) {
		problems = append(problems, &Error{File: path, Place: fmt.Sprintf("line %d, column %s", line, column), Cause: fmt.Sprintf("%q is not %s", cell, want), Remedy: "mend the cell or leave it empty"})
	}
	for i, cell := range row {
		cell = strings.TrimSpace(cell)
		c := cols[i]
		switch {
		case cell == "" || c.text == "" && c.figure == "":
		case c.figure != "":
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
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

// byFile is the entry that names the file, nil when none does.
func (l *FlightList) byFile(name string) *FlightEntry {
	if l == nil {
		return nil
	}
	for i := range l.Entries {
		if l.Entries[i].File == name {
			return &l.Entries[i]
		}
	}
	return nil
}

// near is how far the start of a recording may lie from the listed start.
const near = 2 * time.Hour

// Match finds the entry that is this recording's: by file name when the list
// names it, else by tail with every further thing that both know. Without one
// that is certain it is nil, with the reason.
func (l *FlightList) Match(file string, id flightdata.Identity, start time.Time) (*FlightEntry, string) {
	if e := l.byFile(file); e != nil {
		return e, ""
	}
	var found []*FlightEntry
	for i := range l.Entries {
		e := &l.Entries[i]
		differ := func(a, b string) bool { return a != "" && b != "" && !strings.EqualFold(a, b) }
		switch {
		case e.File != "" || id.Tail == "" || !strings.EqualFold(e.Tail, id.Tail):
		case differ(e.Flight, id.Flight) || differ(e.Date, id.Date):
		case !e.Start.IsZero() && !start.IsZero() && e.Start.Sub(start).Abs() > near:
		default:
			found = append(found, e)
		}
	}
	switch len(found) {
	case 0:
		return nil, "the flight list has no entry for it"
	case 1:
		return found[0], ""
	}
	return nil, fmt.Sprintf("the flight list has %d entries that could be it (lines %d and %d): none is used", len(found), found[0].Line, found[1].Line)
}

// listed joins the flight list to a recording, or notes why it cannot.
func (b *builder) listed(rec *flightdata.Recording) {
	if b.known.list == nil {
		return
	}
	e, why := b.known.list.Match(filepath.Base(b.path), rec.Identity, rec.Start)
	if e == nil {
		b.note("", "%s", why)
		return
	}
	fill := func(to *string, from string) {
		if *to == "" {
			*to = from
		}
	}
	id := &rec.Identity
	fill(&id.Tail, e.Tail)
	fill(&id.Type, e.Type)
	fill(&id.Flight, e.Flight)
	fill(&id.Aerodrome, e.Aerodrome)
	fill(&id.Runway, e.Runway)
	fill(&id.Date, e.Date)
	if id.From == "" {
		id.From = "flight list"
	} else if id.From != "flight list" {
		id.From += ", flight list"
	}
	if rec.Start.IsZero() {
		rec.Start = e.Start
	}
	rec.Plan = b.planOf(e)
}

// planOf gives the listed figures in the units that the program works in.
func (b *builder) planOf(e *FlightEntry) *flightdata.Plan {
	p := &flightdata.Plan{List: b.known.list.Path, Line: e.Line, Entry: e.Hash()}
	set := func(to **float64, name string, want unit.Unit) {
		f, ok := e.figures[name]
		if !ok {
			return
		}
		if f.unit == (unit.Unit{}) {
			f.unit = want // a column without a unit is in the profile's
		}
		c, err := unit.Convert(f.unit, want)
		if err != nil {
			b.note("", "flight list line %d, %s: %v: not used", e.Line, name, err)
			return
		}
		v := c.Apply(f.value)
		*to = &v
	}
	set(&p.PlannedFlap, "planned_flap", b.canonical(flightdata.FlapLever, "deg"))
	set(&p.V1, "v1", unit.Must("kt"))
	set(&p.VR, "vr", unit.Must("kt"))
	set(&p.Weight, "weight", unit.Must("kg"))
	set(&p.CG, "cg", unit.Must("%"))
	set(&p.Trim, "trim", b.canonical(flightdata.StabilizerTrim, "units"))
	set(&p.RunwayLengthM, "runway_length", unit.Must("m"))
	return p
}

// canonical is the unit in which the profile works with a parameter.
func (b *builder) canonical(p flightdata.Parameter, other string) unit.Unit {
	if r := b.prof.Find(p); r != nil {
		return r.Canonical
	}
	return unit.Must(other)
}

// Hash is the SHA-256, hex, of what the entry says, whatever its line.
func (e FlightEntry) Hash() string {
	h := sha256.New()
	fmt.Fprintf(h, "%q", []string{e.File, e.Tail, e.Type, e.Flight, e.Aerodrome, e.Runway, e.Date, e.Start.Format(time.RFC3339Nano)})
	for _, c := range figureColumns {
		if f, ok := e.figures[c.name]; ok {
			fmt.Fprintf(h, "%s %v %s\n", c.name, f.value, f.unit)
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// String names the flight of an entry for accounts.
func (e FlightEntry) String() string {
	parts := []string{}
	for _, s := range []string{e.Tail, e.Flight, e.Date, e.Aerodrome} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return fmt.Sprintf("%s (line %d)", strings.Join(parts, " "), e.Line)
}
