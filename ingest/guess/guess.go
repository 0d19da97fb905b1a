package guess

import (
	"fmt"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// Column is what is known of one column.
type Column struct {
	Name, Unit string // Unit as the file states it, "" when it does not
	Samples    int
	Period     time.Duration // 0 when not known
	Lo, Hi     float64       // NaN for a column of words
	Words      []string      // the different cells, when there are few; else nil
	// Filled says that every row has a cell and the samples come each Period.
	Filled bool
	// Course is the column at even steps of the recording, the same steps for
	// all columns: the number, NaN where there is none. nil without a clock.
	Course []float32
	// States is the same for a column with Words: the index into them, -1 where
	// there is none.
	States []int8
}

// Certainty is how sure a guess is.
type Certainty string

// How sure a guess is: Sure when name, unit and content agree; Likely when the
// name says it and the unit had to be guessed; Perhaps when it rests on a weak
// word or on behaviour alone.
const (
	Sure    Certainty = "sure"
	Likely  Certainty = "likely"
	Perhaps Certainty = "perhaps"
)

// Time is the parameter of a column that holds the time.
const Time flightdata.Parameter = "time"

// Guess is what one column seems to be. The zero value is no guess.
type Guess struct {
	Parameter flightdata.Parameter // Time, a canonical one, or "" for none
	Unit      unit.Unit            // as recorded; the plain number for a discrete
	States    []profile.StateRule  // of a discrete
	Certainty Certainty
	Reason    string // a few sentence parts, joined by semicolons
}

// String is the guess in a line, "" for none.
func (g Guess) String() string {
	if g.Parameter == "" {
		return ""
	}
	s := string(g.Parameter)
	if g.Unit.Symbol != "" {
		s += " in " + g.Unit.Symbol
	}
	return s + " (" + string(g.Certainty) + ")"
}

// table is the columns with the guesses made so far.
type table struct {
	columns []Column
	names   []name
	guesses []Guess
	step    time.Duration // between two steps of a course
}

// All guesses every column; the result is in their order. step is the time
// between two steps of a course. timeColumn is the column that rises with the
// rows, "" when there is none.
func All(columns []Column, step time.Duration, timeColumn string) []Guess {
	t := &table{columns: columns, guesses: make([]Guess, len(columns)), step: step}
	for i, c := range columns {
		t.names = append(t.names, cut(c.Name))
		if timeColumn != "" && c.Name == timeColumn && t.find(Time) < 0 {
			t.guesses[i] = Guess{Parameter: Time, Certainty: Sure, Reason: "rises from row to row"}
			if !NamesTime(c.Name) && !NamesFrames(c.Name) && !NamesMilliseconds(c.Name) {
				t.guesses[i].Certainty = Perhaps
				t.guesses[i].add("its name says nothing of time")
			}
		}
	}
	for i := range columns {
		if t.guesses[i].Parameter == "" && columns[i].Samples > 0 {
			t.byName(i)
		}
	}
	t.units()
	t.byBehaviour()
	t.states()
	return t.guesses
}

// find is the first column guessed to be p, -1 for none.
func (t *table) find(p flightdata.Parameter) int {
	for i, g := range t.guesses {
		if g.Parameter == p {
			return i
		}
	}
	return -1
}

// byName guesses one column by its name, if what it holds fits.
func (t *table) byName(i int) {
	m := lookUp(t.names[i])
	if m.base == "" {
		return
	}
	def, ok := define(m.base)
	if !ok {
		return
	}
	if why := unfit(def, &t.columns[i]); why != "" {
		return
	}
	g := Guess{Certainty: Likely, Reason: fmt.Sprintf("the name says %s", strings.Join(m.words, " "))}
	if m.weak {
		g.Certainty, g.Reason = Perhaps, g.Reason+", which may mean other things"
	}
	g.Parameter = t.names[i].parameter(def)
	if g.Parameter == "" {
		return // which engine it is of cannot be told
	}
	t.guesses[i] = g
}

// define is the definition of a parameter named without engine and side.
func define(base flightdata.Parameter) (flightdata.Definition, bool) {
	for _, d := range flightdata.Definitions() {
		if d.Name == base {
			return d, true
		}
	}
	return flightdata.Definition{}, false
}

// add appends a sentence part to the reason of a guess.
func (g *Guess) add(format string, args ...any) {
	g.Reason += "; " + fmt.Sprintf(format, args...)
}
