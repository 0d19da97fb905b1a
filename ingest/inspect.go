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
	// Time is how it is written, as a profile would say it; the zero value
	// without one. Assumed says that the length of a frame is a guess.
	Time     profile.TimeRule
	Assumed  bool
	Duration time.Duration
	// Long names the columns of a file in which each row is one sample; nil for
	// a wide one. Columns are then the recorded names in its cells.
	Long    *profile.LongRule
	Columns []ColumnReport
	Notes   []string
	// NoSample are cell texts that were taken for "no sample" without a profile
	// that says so: the same in several columns of numbers.
	NoSample []string
	// Step is the time between two steps of the courses that the guesses were
	// made from; 0 without a time column.
	Step time.Duration
	// Profile is the name of the profile that fits, "" when none was given or
	// none does; Lacks what each check of it would lack.
	Profile string
	Lacks   []Lack

	odd    map[string]int // columns in which a text looks like no sample
	origin int64          // of a long file: the earliest time on its own clock
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
	Phase      time.Duration // of the first sample, after a whole number of periods from the start
	Gap        time.Duration // the longest time between samples
	InCell     int           // samples in a cell that is a list; 0 for other cells
	Filled     bool          // every row has a cell, and they change each Period only
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
// profile reads are named. Cells that stand for no sample are those of that
// profile, or else what looks so (see NoSample). The errors are those of Open.
func Inspect(path string, profiles []*profile.Profile, opt Options) (*Inspection, error) {
	options := tableOptions(profiles, opt)
	ins, prof, err := inspect(path, profiles, opt, options)
	if err != nil {
		return nil, err
	}
	none := []string(nil)
	if prof != nil {
		var differs bool
		if options, differs = profileOptions(prof, opt); !differs {
			return ins, nil
		}
	} else {
		if none = ins.looksEmpty(); len(none) == 0 {
			return ins, nil
		}
		options.NoSample = none
	}
	ins, _, err = inspect(path, profiles, opt, options)
	if err == nil {
		ins.NoSample = none
	}
	return ins, err
}

// inspect reads the file as the options say.
func inspect(path string, profiles []*profile.Profile, opt Options, as table.Options) (ins *Inspection, prof *profile.Profile, err error) {
	f, err := table.Open(path, as)
	if err != nil {
		return nil, nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	ins = &Inspection{Path: path, Format: f.Format()}
	prof, names := mapped(path, f.Columns(), profiles, opt)
	if ins.Long = longShape(f); ins.Long != nil {
		err = ins.readLong(f, prof, names)
	} else {
		err = ins.readWide(f, names)
	}
	if err != nil {
		return nil, nil, err
	}
	ins.guess()
	ins.lacks(prof)
	ins.SHA256, ins.Bytes, err = f.Digest()
	return ins, prof, err
}

// readWide reads a file with a column per parameter.
func (ins *Inspection) readWide(f *table.File, names map[string]flightdata.Parameter) error {
	times := ins.clock(f, names)
	for from := 0; from < len(f.Columns()); from += chunk {
		if err := ins.read(f, from, min(from+chunk, len(f.Columns())), times, names); err != nil {
			return err
		}
	}
	return nil
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

func (ins *Inspection) read(f *table.File, from, to int, times []span.Instant, names map[string]flightdata.Parameter) error {
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
		col := f.Columns()[i]
		ins.add(col.Name, col.Unit, names[col.Name], timed(&data.Columns[2*(i-from)], times), timed(&data.Columns[2*(i-from)+1], times))
	}
	ins.note(data)
	return nil
}

// add reports one column: its cells as numbers and as states.
func (ins *Inspection) add(name, unit string, p flightdata.Parameter, numbers, states samples) {
	r := report(numbers, states)
	if n := repeats(numbers, states); n > 1 && len(states.at) > 1 {
		r.Filled, r.Period, r.Phase = true, time.Duration(n)*r.Period, 0
	}
	ins.empties(numbers)
	r.course, r.states = ins.courses(numbers, states, len(r.Words) > 0 && !r.MoreWords)
	r.Name, r.Unit, r.Parameter = name, unit, p
	ins.Columns = append(ins.Columns, r)
}

// note keeps what was odd about the file, each once.
func (ins *Inspection) note(data *table.Data) {
	for _, n := range data.Notes {
		if text := (flightdata.Note{Place: place(n.Column, n.Row), Text: n.Text}).String(); !slices.Contains(ins.Notes, text) {
			ins.Notes = append(ins.Notes, text)
		}
	}
}

// samples is one column with the time of each sample on the clock of the file.
type samples struct {
	*table.ColumnData
	at []span.Instant // nil without a clock
}

// timed gives each sample the time of its row. The samples of a cell that is a
// list lie evenly until the next row.
func timed(c *table.ColumnData, rows []span.Instant) samples {
	s := samples{ColumnData: c}
	if len(rows) == 0 {
		return s
	}
	period := int64(0)
	if c.Slots != nil {
		period = int64(flightdata.NominalPeriod(rows))
	}
	s.at = make([]span.Instant, c.Len())
	for i := range s.at {
		s.at[i] = rows[c.Row(i)]
		if c.Slots != nil && c.Slots[i].Of > 0 {
			s.at[i] += span.Instant(period * int64(c.Slots[i].Index) / int64(c.Slots[i].Of))
		}
	}
	return s
}

func report(numbers, states samples) ColumnReport {
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
	for _, slot := range states.Slots {
		r.InCell = max(r.InCell, int(slot.Of))
	}
	r.Period = flightdata.NominalPeriod(states.at)
	if r.Period > 0 {
		r.Phase = time.Duration(states.at[0]) % r.Period
	}
	for i := 1; i < len(states.at); i++ {
		r.Gap = max(r.Gap, states.at[i].Sub(states.at[i-1]))
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
