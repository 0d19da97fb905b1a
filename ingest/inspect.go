package ingest

import (
	"errors"
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/guess"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// Inspection is what a file holds, column by column.
type Inspection struct {
	Path, Format, SHA256 string
	Bytes, Rows          int64
	// TimeColumn is the column that the rates were measured against, "" when
	// none rises with the rows; Duration the time it covers.
	TimeColumn string
	TimeForm   profile.TimeForm // how it writes the time; "" without one
	Duration   time.Duration
	Columns    []ColumnReport
	Notes      []string
	// Step is the time between two steps of the courses that the guesses were
	// made from; 0 without a time column.
	Step time.Duration
	// Profile is the name of the profile that fits, "" when none was given or
	// none does; Lacks what each check of it would lack.
	Profile string
	Lacks   []Lack
}

// Lack is what one check of a profile would lack in this file.
type Lack struct {
	Check   string
	Missing []flightdata.Parameter
}

// ColumnReport is what one column holds.
type ColumnReport struct {
	Name, Unit string
	Samples    int
	Period     time.Duration // 0 when not known
	Gap        time.Duration // the longest time between samples
	Lo, Hi     float64       // NaN for a column of words
	Words      []string      // the first different words, when there are few
	MoreWords  bool
	// Parameter is the canonical parameter that a profile reads from it.
	Parameter flightdata.Parameter
	// Guess is what the column seems to be, whatever a profile says.
	Guess guess.Guess

	course []float32 // see guess.Column
	states []int8
}

// fewWords is how many different values make a column look like a discrete.
const fewWords = 8

// chunk is how many columns are decoded at a time, so that a file with
// thousands of them is inspected in bounded memory.
const chunk = 64

// Inspect reads every column of a file, a few at a time, and reports what it
// holds. profiles may be empty; with them, the columns that the best fitting
// profile reads are named. The errors are those of Open.
func Inspect(path string, profiles []*profile.Profile, opt Options) (ins *Inspection, err error) {
	f, err := table.Open(path, tableOptions(profiles, opt))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	ins = &Inspection{Path: path, Format: f.Format()}
	prof, names := mapped(path, f.Columns(), profiles, opt)
	times := ins.clock(f, names)
	for from := 0; from < len(f.Columns()); from += chunk {
		if err := ins.read(f, from, min(from+chunk, len(f.Columns())), times, names); err != nil {
			return nil, err
		}
	}
	ins.guess()
	ins.lacks(prof)
	ins.SHA256, ins.Bytes, err = f.Digest()
	return ins, err
}

// mapped gives the profile that fits, nil for none, and the parameter of each
// recorded name by it.
func mapped(path string, columns []table.Column, profiles []*profile.Profile, opt Options) (*profile.Profile, map[string]flightdata.Parameter) {
	out := map[string]flightdata.Parameter{}
	if len(profiles) == 0 {
		return nil, out
	}
	prof, _, err := Choose(path, columns, profiles, identify(path, profiles, opt.Flights).Tail)
	if err != nil {
		return nil, out
	}
	for _, c := range prof.Time.Columns {
		out[c] = "time"
	}
	for _, r := range prof.Parameters {
		for _, c := range r.Columns {
			out[c] = r.Parameter
		}
	}
	return prof, out
}

// timeForms are the ways in which a column may hold the time, in the order in
// which they are tried.
var timeForms = []profile.TimeForm{profile.TimeSeconds, profile.TimeRFC3339, profile.TimeISO8601, profile.TimeClock}

// clock finds the time column: the profile's, else one that is named like a
// time, else one of the leading ones, provided that it rises from row to row.
func (ins *Inspection) clock(f *table.File, names map[string]flightdata.Parameter) []int64 {
	var mapped, named, leading []int
	for i, c := range f.Columns() {
		switch {
		case names[c.Name] == "time":
			mapped = append(mapped, i)
		case guess.NamesTime(c.Name):
			named = append(named, i)
		case i < 5:
			leading = append(leading, i)
		}
	}
	for _, i := range slices.Concat(mapped, named, leading) {
		forms := timeForms
		if guess.NamesMilliseconds(f.Columns()[i].Name) {
			forms = append([]profile.TimeForm{profile.TimeMilliseconds}, forms...)
		}
		for _, form := range forms {
			data, err := f.Read([]table.Want{{Column: i, As: clockAs(form)}})
			if err != nil {
				// A binary column of another type is no clock. A file that is
				// damaged says so again when all its columns are read.
				continue
			}
			ins.Rows = data.Rows
			c := &data.Columns[0]
			if int64(c.Len()) == data.Rows && c.Len() > 1 && rising(c.Clock) {
				ins.TimeColumn, ins.TimeForm = f.Columns()[i].Name, form
				ins.Duration = time.Duration(c.Clock[c.Len()-1] - c.Clock[0])
				return c.Clock
			}
		}
	}
	return nil
}

// rising says whether the clock goes up, repeats allowed.
func rising(clock []int64) bool {
	return clock[len(clock)-1] > clock[0] && slices.IsSorted(clock)
}

func (ins *Inspection) read(f *table.File, from, to int, times []int64, names map[string]flightdata.Parameter) error {
	var wants []table.Want
	for i := from; i < to; i++ {
		wants = append(wants, table.Want{Column: i, As: table.Number}, table.Want{Column: i, As: table.State})
	}
	data, err := f.Read(wants)
	if err != nil {
		return err
	}
	ins.Rows = data.Rows
	for i := from; i < to; i++ {
		numbers, states := &data.Columns[2*(i-from)], &data.Columns[2*(i-from)+1]
		col := f.Columns()[i]
		r := report(numbers, states, times)
		r.course, r.states = ins.courses(numbers, states, times, len(r.Words) > 0 && !r.MoreWords)
		r.Name, r.Unit, r.Parameter = col.Name, col.Unit, names[col.Name]
		ins.Columns = append(ins.Columns, r)
	}
	for _, n := range data.Notes {
		if text := (flightdata.Note{Place: place(n.Column, n.Row), Text: n.Text}).String(); !slices.Contains(ins.Notes, text) {
			ins.Notes = append(ins.Notes, text)
		}
	}
	return nil
}

func report(numbers, states *table.ColumnData, times []int64) ColumnReport {
	r := ColumnReport{Samples: states.Len(), Lo: math.NaN(), Hi: math.NaN()}
	for _, v := range numbers.Numbers {
		if v == v {
			r.Lo, r.Hi = least(r.Lo, v), most(r.Hi, v)
		}
	}
	if len(states.Words) <= fewWords || numbers.Bad > 0 {
		r.Words = states.Words[:min(len(states.Words), fewWords)]
		r.MoreWords = len(states.Words) > fewWords
	}
	if times == nil {
		return r
	}
	at := make([]span.Instant, 0, states.Len())
	for i := range states.Len() {
		at = append(at, span.Instant(times[states.Row(i)]))
	}
	r.Period = flightdata.NominalPeriod(at)
	for i := 1; i < len(at); i++ {
		r.Gap = max(r.Gap, at[i].Sub(at[i-1]))
	}
	return r
}

// least and most take NaN as nothing yet.
func least(a, v float64) float64 {
	if a != a || v < a {
		return v
	}
	return a
}

func most(a, v float64) float64 {
	if a != a || v > a {
		return v
	}
	return a
}
