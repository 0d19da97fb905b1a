package ingest

import (
	"errors"
	"fmt"
	"slices"
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
	// Whole has every row read in full, those of fast flight too.
	Whole bool
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
	f, err := table.Open(path, tableOptions(profiles, opt))
	if err != nil {
		return nil, nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if meta, ok := f.Metadata()[flightdata.ClipKey]; ok {
		return openClip(path, f, meta, profiles)
	}
	prof, known, err := which(path, f, profiles, opt)
	if err != nil {
		return nil, nil, err
	}
	if options, differs := profileOptions(prof, opt); differs {
		// The file is read again with what this profile says of its cells. Opened
		// first and closed after, so that there is always one file for the end to
		// close.
		again, err := table.Open(path, options)
		if err != nil {
			return nil, nil, err
		}
		first := f
		f = again
		if err := first.Close(); err != nil {
			return nil, nil, err
		}
		if err := stillFits(path, f, prof); err != nil {
			return nil, nil, err
		}
	}
	b := builder{path: path, prof: prof, file: f, known: known, notes: slices.Clip(known.notes), dates: -1, whole: opt.Whole}
	rec, err = b.build()
	if err == nil && b.odd && b.data.Skipped != nil {
		// Whatever is said of an odd recording must rest on all of it.
		b = builder{path: path, prof: prof, file: f, known: known, notes: slices.Clip(known.notes), dates: -1, whole: true}
		rec, err = b.build()
	}
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

	wants    []table.Want
	sources  []source
	dates    int            // the want of the date column, -1 when there is none
	named    map[string]int // the wants of the parts of the identity
	data     *table.Data
	readings []int64        // the file's own clock at each data row; only rows in keep count
	keep     []bool         // nil when every row has a usable time
	times    []span.Instant // of all rows; nil until allTimes is asked
	origin   int64          // the file's own clock at instant 0
	end      span.Instant   // of the last row
	dated    bool           // the day of the times is known from the date column

	whole  bool                   // nothing may be passed over
	gate   []flightdata.Parameter // what is read in every row all the same
	unread span.Set               // what was passed over
	odd    bool                   // something in the recording is worth a second look

	swapped, repeated bool  // rows are out of order; rows share a time
	frameLength       int64 // how long a row lasts; 0 until it is asked for
	crowded           int   // samples left out as second ones of an instant
}

func (b *builder) build() (*flightdata.Recording, error) {
	if b.prof.Long != nil {
		return b.buildLong()
	}
	timeColumn, err := b.columns()
	if err != nil {
		return nil, err
	}
	data, err := b.file.ReadSifted(b.wants, b.sift())
	if err != nil {
		return nil, err
	}
	b.take(data)
	for i := range b.sources {
		if src := &b.sources[i]; src.rule.Bits.Set {
			for _, k := range src.at {
				data.Columns[k] = bitsOf(&data.Columns[k], src.rule.Bits)
			}
		}
	}
	if err := b.clock(timeColumn); err != nil {
		return nil, err
	}
	b.passedOver()
	return b.finish()
}

// take keeps what was decoded, with its notes.
func (b *builder) take(data *table.Data) {
	b.data = data
	for _, n := range data.Notes {
		b.notes = append(b.notes, flightdata.Note{Place: place(n.Column, n.Row), Text: n.Text})
	}
}

// finish makes the recording and hashes the file.
func (b *builder) finish() (rec *flightdata.Recording, err error) {
	rec = b.recording()
	b.data.Free()
	if rec.Source.SHA256, rec.Source.Bytes, err = b.file.Digest(); err != nil {
		return nil, err
	}
	return rec, nil
}

// columns lists the columns to decode: the time, then every recorded name of
// every rule that the file has. It returns the name of the time column.
func (b *builder) columns() (string, error) {
	at := map[string]int{}
	for i, c := range b.file.Columns() {
		if _, twice := at[c.Name]; !twice {
			at[c.Name] = i
		}
	}
	want := func(column string, as table.As) int {
		b.wants = append(b.wants, table.Want{Column: at[column], As: as})
		return len(b.wants) - 1
	}
	name := ""
	for _, c := range b.prof.Time.Columns {
		if _, ok := at[c]; ok {
			name = c
			want(c, clockAs(b.prof.Time.Form))
			break
		}
	}
	if c := b.prof.Time.DateColumn; c != "" {
		if _, ok := at[c]; ok {
			b.dates = want(c, table.Date)
		} else {
			b.note("", "the date column %s is not in the file: the day is not known", c)
		}
	}
	for i := range b.prof.Parameters {
		rule := &b.prof.Parameters[i]
		for k, c := range rule.Columns {
			if _, ok := at[c]; !ok {
				if rule.InRow {
					b.note("", "%s, which holds samples of %s, is not in the file", c, rule.Parameter)
				}
				continue
			}
			u, err := b.unitOf(rule, c, b.file.Columns()[at[c]].Unit)
			if err != nil {
				return "", err
			}
			as := cellAs(rule.Kind)
			if rule.Bits.Set {
				as = table.Whole
			}
			w := want(c, as)
			if n := len(b.sources); rule.InRow && n > 0 && b.sources[n-1].rule == rule {
				b.sources[n-1].at = append(b.sources[n-1].at, w)
				b.sources[n-1].slot = append(b.sources[n-1].slot, k)
				continue
			}
			b.sources = append(b.sources, source{rule: rule, column: c, at: []int{w}, slot: []int{k}, unit: u})
		}
	}
	b.identityColumns(at, want)
	return name, nil
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
		Span:   span.Span{To: b.end},
		Series: map[flightdata.Parameter]*flightdata.Series{},
		Life:   map[flightdata.Parameter]flightdata.Life{},
	}
	rec.Unread = b.unread
	rec.Windows = span.Of(span.Span{From: rec.Span.From, To: rec.Span.To + 1})
	b.nameFlight(&rec.Identity)
	if rec.Start = b.startOf(); !rec.Start.IsZero() && (b.prof.Time.Form.Dated() || b.dated) {
		rec.Identity.Date = rec.Start.Format(time.DateOnly)
	}
	b.listed(rec)
	rec.Series = b.allSeries()
	b.reach(rec)
	odd := quality.Stuck(rec, b.prof.Engines, b.prof.Thrust.Measure)
	odd = append(odd, sanity.Check(rec, b.prof)...)
	b.odd = b.odd || len(odd) > 0
	rec.Notes = append(b.notes, odd...)
	for _, p := range rec.Parameters() {
		rec.Life[p] = flightdata.Observe(rec.Series[p])
	}
	b.odd = b.odd || b.unread != nil && b.lacking(rec)
	return rec
}

// reach stretches the recording to its last sample, which may lie behind the
// start of the last row.
func (b *builder) reach(rec *flightdata.Recording) {
	for _, s := range rec.Series {
		if n := s.Len(); n > 0 && s.Times[n-1] > rec.Span.To {
			rec.Span.To = s.Times[n-1]
		}
	}
	rec.Windows = span.Of(span.Span{From: rec.Span.From, To: rec.Span.To + 1})
}
