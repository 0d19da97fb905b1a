package ingest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
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

// byFile lists the entries that name the file.
func (l *FlightList) byFile(name string) []*FlightEntry {
	var out []*FlightEntry
	for i := 0; l != nil && i < len(l.Entries); i++ {
		if e := &l.Entries[i]; e.File == name {
			out = append(out, e)
		}
	}
	return out
}

// Named is the one entry that names the file, nil without one, with several,
// and on a nil list. It is what the list says before anything is read.
func (l *FlightList) Named(file string) *FlightEntry {
	if found := l.byFile(file); len(found) == 1 {
		return found[0]
	}
	return nil
}

// near is how far the start of a recording may lie from the listed start.
const near = 2 * time.Hour

// Match finds the entry that is this recording's: by file name when the list
// names it, else by tail with every further thing that both know. Without one
// that is certain it is nil, with the reason.
func (l *FlightList) Match(file string, id flightdata.Identity, start time.Time) (*FlightEntry, string) {
	found := l.byFile(file)
	if len(found) == 0 {
		found = l.byFlight(id, start)
	}
	switch len(found) {
	case 0:
		return nil, "the flight list has no entry for it"
	case 1:
		return found[0], ""
	}
	var lines []string
	for _, e := range found[:min(len(found), 5)] {
		lines = append(lines, strconv.Itoa(e.Line))
	}
	if len(found) > len(lines) {
		lines = append(lines, "…")
	}
	return nil, fmt.Sprintf("the flight list has %d entries that could be it (lines %s): none is used", len(found), strings.Join(lines, ", "))
}

// byFlight lists the entries that name no file and differ in nothing that both
// know.
func (l *FlightList) byFlight(id flightdata.Identity, start time.Time) []*FlightEntry {
	differ := func(a, b string) bool { return a != "" && b != "" && !strings.EqualFold(a, b) }
	var out []*FlightEntry
	for i := range l.Entries {
		e := &l.Entries[i]
		switch {
		case e.File != "" || id.Tail == "" || !strings.EqualFold(e.Tail, id.Tail):
		case differ(e.Flight, id.Flight) || differ(e.Date, id.Date):
		case !e.Start.IsZero() && !start.IsZero() && e.Start.Sub(start).Abs() > near:
		default:
			out = append(out, e)
		}
	}
	return out
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
		if (name == "v1" || name == "vr") && !flightdata.TakeoffSpeed(v) {
			b.note("", "flight list line %d, %s: %g kt is no takeoff speed (40 to 250 kt): not used; correct the list", e.Line, name, v)
			return
		}
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
