package ingest

import (
	"errors"
	"fmt"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/quality"
	"rollonset/ingest/sanity"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// Options configures Open. The zero value reads with the default limits and
// without a flight list.
type Options struct {
	Limits table.Limits
	// Flights is the flight list, nil when there is none.
	Flights *FlightList
}

// Error is why a recording could not be read. File and Place say where, Cause
// what, Remedy what to do about it.
type Error struct {
	File, Place, Cause, Remedy string
	Err                        error
}

// Error is one sentence, with the remedy behind a semicolon.
func (e *Error) Error() string {
	s := e.File
	if e.Place != "" {
		s += ": " + e.Place
	}
	s += ": " + e.Cause
	if e.Remedy != "" {
		s += "; " + e.Remedy
	}
	return s
}

// Unwrap gives the error behind it, nil when there is none.
func (e *Error) Unwrap() error { return e.Err }

// Open reads the recording at path with the profile that fits it. For a clip
// the profile is the one whose hash the clip names, else the one with its
// name. Errors are *Error or the table package's, both with file, place,
// cause and remedy.
func Open(path string, profiles []*profile.Profile, opt Options) (rec *flightdata.Recording, prof *profile.Profile, err error) {
	f, err := table.Open(path, table.Options{Limits: opt.Limits})
	if err != nil {
		return nil, nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if meta, ok := f.Metadata()[flightdata.ClipKey]; ok {
		return openClip(path, f, meta, profiles)
	}
	known := identify(path, profiles, opt.Flights)
	prof, notes, err := Choose(path, f.Columns(), profiles, known.Tail)
	if err != nil {
		return nil, nil, err
	}
	if len(prof.NoSample) > 0 {
		// The file is read again with the cell texts that this profile calls
		// empty. Opened first and closed after, so that there is always one file
		// for the end to close.
		again, err := table.Open(path, table.Options{Limits: opt.Limits, NoSample: prof.NoSample})
		if err != nil {
			return nil, nil, err
		}
		first := f
		f = again
		if err := first.Close(); err != nil {
			return nil, nil, err
		}
	}
	b := builder{path: path, prof: prof, file: f, known: known, notes: append(known.notes, notes...)}
	rec, err = b.build()
	if err != nil {
		return nil, nil, err
	}
	return rec, prof, nil
}

// builder makes a recording of one file.
type builder struct {
	path  string
	prof  *profile.Profile
	file  *table.File
	known known
	notes []flightdata.Note

	wants   []table.Want
	sources []source // one per want after the time column
	data    *table.Data
	times   []span.Instant // of each data row; only rows in keep count
	keep    []bool         // nil when every row has a usable time
	origin  int64
}

// source says what a wanted column is for.
type source struct {
	rule   *profile.ParameterRule
	column string
}

func (b *builder) build() (*flightdata.Recording, error) {
	timeColumn := b.columns()
	data, err := b.file.Read(b.wants)
	if err != nil {
		return nil, err
	}
	b.data = data
	for _, n := range data.Notes {
		b.notes = append(b.notes, flightdata.Note{Place: place(n.Column, n.Row), Text: n.Text})
	}
	if err := b.clock(timeColumn); err != nil {
		return nil, err
	}
	rec := b.recording()
	if rec.Source.SHA256, rec.Source.Bytes, err = b.file.Digest(); err != nil {
		return nil, err
	}
	return rec, nil
}

// columns lists the columns to decode: the time, then every recorded name of
// every rule that the file has. It returns the name of the time column.
func (b *builder) columns() string {
	at := map[string]int{}
	for i, c := range b.file.Columns() {
		if _, twice := at[c.Name]; !twice {
			at[c.Name] = i
		}
	}
	name := ""
	for _, c := range b.prof.Time.Columns {
		if i, ok := at[c]; ok {
			name = c
			b.wants = append(b.wants, table.Want{Column: i, As: clockAs(b.prof.Time.Form)})
			break
		}
	}
	for i := range b.prof.Parameters {
		rule := &b.prof.Parameters[i]
		for _, c := range rule.Columns {
			if k, ok := at[c]; ok {
				b.wants = append(b.wants, table.Want{Column: k, As: cellAs(rule.Kind)})
				b.sources = append(b.sources, source{rule: rule, column: c})
			}
		}
	}
	return name
}

func clockAs(form profile.TimeForm) table.As {
	if form == profile.TimeRFC3339 {
		return table.Timestamp
	}
	return table.Seconds
}

func cellAs(k flightdata.Kind) table.As {
	if k == flightdata.Discrete {
		return table.State
	}
	return table.Number
}

func place(column string, row int64) string {
	switch {
	case column != "" && row > 0:
		return fmt.Sprintf("column %s, row %d", column, row)
	case column != "":
		return "column " + column
	case row > 0:
		return fmt.Sprintf("row %d", row)
	}
	return ""
}

// recording puts the parts together.
func (b *builder) recording() *flightdata.Recording {
	rec := &flightdata.Recording{
		Source: flightdata.Source{
			Path: b.path, Format: b.file.Format(), Rows: b.data.Rows,
			Columns: len(b.file.Columns()), Used: len(b.wants),
		},
		Identity: b.known.Identity,
		Clock:    string(b.prof.Time.Form), ClockOrigin: b.origin,
		Span:   b.span(),
		Series: map[flightdata.Parameter]*flightdata.Series{},
		Life:   map[flightdata.Parameter]flightdata.Life{},
	}
	rec.Windows = span.Of(span.Span{From: rec.Span.From, To: rec.Span.To + 1})
	if b.prof.Time.Form == profile.TimeRFC3339 {
		rec.Start = time.Unix(0, b.origin).UTC()
		rec.Identity.Date = rec.Start.Format(time.DateOnly)
	} else {
		rec.Start = b.known.start
	}
	b.listed(rec)
	rec.Series = b.allSeries()
	rec.Notes = append(b.notes, quality.Stuck(rec, b.prof.Engines, b.prof.Thrust.Measure)...)
	rec.Notes = append(rec.Notes, sanity.Check(rec, b.prof)...)
	for _, p := range rec.Parameters() {
		rec.Life[p] = flightdata.Observe(rec.Series[p])
	}
	return rec
}
